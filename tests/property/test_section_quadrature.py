"""Section measures of random outlines against high-precision quadrature of the boundary integrals.

Reference: Green's theorem, A = 1/2 loop (x dy - y dx), M_x = loop x^2/2 dy and so on, each side integrated by
mpmath's Gauss-Legendre quadrature at 60 digits along the arc's own angle (centre, radius and sweep from the
definition of bulge, tan of a quarter of the arc angle). Nothing of the code's own arc formulas enters.

Errors are measured against the outline's bounding box, arcs included: an area against width x height, a second
moment against area x width^2, and so on. 1e-12 of that is some 5000 roundings of a double: the sums have a few dozen
terms, and arcs whose radius far exceeds the box (bulge 1e-12) must not cost a digit.
"""

from __future__ import annotations

import mpmath
import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from mpmath import mp, mpf

from recommender.geometry.section import measure

DIGITS = 60
TOLERANCE = 1e-12


def _side(x0: float, y0: float, x1: float, y1: float, bulge: float) -> tuple[list[mpf], list[tuple[mpf, mpf]]]:
    """Boundary integrals of one side and its extreme points.

    In order: x dy, x^2 dy, -y^2 dx, x^3 dy, -y^3 dx, x^2 y dy, length.
    """
    p0, p1 = mpmath.mpc(x0, y0), mpmath.mpc(x1, y1)
    if p0 == p1:
        return [mpf(0)] * 7, [(p0.real, p0.imag)]
    if bulge == 0:

        def point(t: mpf) -> tuple[mpf, mpf, mpf, mpf]:
            z = p0 + (p1 - p0) * t
            return z.real, z.imag, (p1 - p0).real, (p1 - p0).imag

        ends, extremes = [0, 1], [p0, p1]
    else:
        sweep = 4 * mpmath.atan(mpf(bulge))
        centre = (p0 + p1) / 2 + mpmath.mpc(0, 1) * (p1 - p0) / (2 * mpmath.tan(sweep / 2))
        spoke = p0 - centre

        def point(t: mpf) -> tuple[mpf, mpf, mpf, mpf]:
            arm = spoke * mpmath.expj(sweep * t)
            z, dz = centre + arm, mpmath.mpc(0, 1) * sweep * arm
            return z.real, z.imag, dz.real, dz.imag

        ends = [0, mpf(1) / 2, 1]
        extremes = [p0, p1]
        for quarter in range(4):
            turn = (mpmath.arg(mpmath.expj(quarter * mp.pi / 2) / spoke)) / sweep
            for lap in (0, 2 * mp.pi / sweep, -2 * mp.pi / sweep):
                if 0 < turn + lap < 1:
                    extremes.append(centre + spoke * mpmath.expj(sweep * (turn + lap)))

    def integral(form: object) -> mpf:
        return mpmath.quad(lambda t: form(*point(t)), ends, method="gauss-legendre", maxdegree=5)  # type: ignore[operator]

    # Two real integrals at a time, as real and imaginary part.
    pairs = [
        integral(lambda x, y, dx, dy: mpmath.mpc(x * dy, mpmath.sqrt(dx * dx + dy * dy))),
        integral(lambda x, y, dx, dy: mpmath.mpc(x * x * dy, -y * y * dx)),
        integral(lambda x, y, dx, dy: mpmath.mpc(x**3 * dy, -(y**3) * dx)),
    ]
    product = integral(lambda x, y, dx, dy: x * x * y * dy)
    (area, length), (mx, my), (mxx, myy) = ((z.real, z.imag) for z in pairs)
    return [area, mx, my, mxx, myy, product, length], [(z.real, z.imag) for z in extremes]


def reference(outline: np.ndarray) -> dict[str, mpf]:
    """Measures of an outline by quadrature, and the sides of its bounding box."""
    total, points = [mpf(0)] * 7, []
    for (x0, y0, bulge), (x1, y1, _) in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        integrals, extremes = _side(x0, y0, x1, y1, bulge)
        total = [a + b for a, b in zip(total, integrals, strict=True)]
        points += extremes
    area, mx, my = total[0], total[1] / 2, total[2] / 2
    cx, cy = mx / area, my / area
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return {
        "width": max(xs) - min(xs),
        "height": max(ys) - min(ys),
        "area_mm2": area,
        "centroid_x_mm": cx,
        "centroid_y_mm": cy,
        "i_weak_mm4": total[3] / 3 - area * cx * cx,
        "i_strong_mm4": total[4] / 3 - area * cy * cy,
        "i_product_mm4": total[5] / 2 - area * cx * cy,
        "perimeter_mm": total[6],
    }


def worst_error(outline: np.ndarray, expected: dict[str, mpf] | None = None) -> tuple[float, str]:
    """Greatest error over its scale, and the measure it belongs to."""
    with mp.workdps(DIGITS):
        expected = expected or reference(outline)
        w, h, area = expected["width"], expected["height"], expected["area_mm2"]
        box = w * h
        # A centroid divides by the area: its error grows as the outline shrinks within its box.
        scales = {
            "area_mm2": box,
            "centroid_x_mm": w * box / area,
            "centroid_y_mm": h * box / area,
            "i_weak_mm4": box * w * w,
            "i_strong_mm4": box * h * h,
            "i_product_mm4": box * w * h,
            "perimeter_mm": 2 * (w + h),
        }
        found = measure(outline)
        return max((float(abs(getattr(found, k) - expected[k]) / s), k) for k, s in scales.items())


bulges = st.one_of(
    st.just(0.0),
    st.builds(lambda sign, size: sign * size, st.sampled_from((-1.0, 1.0)), st.floats(1e-2, 1.0)),
    st.builds(lambda sign, exponent: sign * 10.0**exponent, st.sampled_from((-1.0, 1.0)), st.floats(-12.0, -2.0)),
)


@st.composite
def outlines(draw: st.DrawFn) -> np.ndarray:
    """An outline from apex over right face, spine and left face, arcs of any bulge on every side."""
    stock, height = draw(st.floats(0.5, 12.0)), draw(st.floats(5.0, 120.0))
    share = st.floats(0.02, 1.0)

    def face() -> list[tuple[float, float]]:
        climbs = sorted(draw(st.lists(share, min_size=1, max_size=3)))
        return [(draw(share) * stock / 2, climb * height) for climb in climbs]

    right, left = face(), face()
    points = [(0.0, 0.0), *right, (stock / 2, height), (-stock / 2, height), *[(-x, y) for x, y in left[::-1]]]
    return np.array([(x, y, draw(bulges)) for x, y in points])


@settings(derandomize=True, deadline=None, max_examples=60, database=None)
@given(outlines())
@example(np.array([[0, 0, 1e-12], [6, 120, -1e-12], [-6, 120, 1e-12]]))
@example(np.array([[0, 0, 1.0], [6, 120, 1.0], [-6, 120, 1.0]]))
@example(np.array([[0, 0, 0.4], [0.25, 5, -0.4], [-0.25, 5, 0.4]]))
def test_measures_agree_with_quadrature(outline: np.ndarray) -> None:
    with mp.workdps(DIGITS):
        expected = reference(outline)
        # Arcs may fold an outline over itself until little area is left; what remains must still be a section.
        assume(expected["area_mm2"] > expected["width"] * expected["height"] / 20)
    error, name = worst_error(outline, expected)
    assert error < TOLERANCE, f"{name} is off by {error:.2e} of its scale"


@pytest.mark.parametrize("sign", [-1.0, 1.0])
@pytest.mark.parametrize("exponent", range(-12, -1))
def test_shallow_arcs_lose_no_digits(exponent: int, sign: float) -> None:
    """A 3 x 40 mm section whose faces are arcs of ever larger radius: closed forms in the arc angle cancel here."""
    bulge = sign * 10.0**exponent
    outline = np.array([[0, 0, 0], [0.2, 0.7, bulge], [1.5, 40, 0], [-1.5, 40, bulge], [-0.2, 0.7, 0]])
    error, name = worst_error(outline)
    assert error < TOLERANCE, f"{name} is off by {error:.2e} of its scale"


@pytest.mark.parametrize("bulge", [0.3, 0.39, 0.3999999, 0.4, 0.4000001, 0.41, 0.6, 0.999999, 1.0])
def test_the_change_of_method_leaves_no_step(bulge: float) -> None:
    """Around bulge 0.4 the code changes from a series to the closed form; both must hold to full precision."""
    outline = np.array([[0, 0, 0], [2, 10, bulge], [6, 40, 0], [-6, 40, bulge], [-2, 10, 0]])
    error, name = worst_error(outline)
    assert error < TOLERANCE, f"{name} is off by {error:.2e} of its scale"


def test_the_reference_itself_is_right() -> None:
    """A half-disc on a rectangle, 4 x 10 mm and r = 2: area 40 + 2 pi, first moment by hand."""
    outline = np.array([[0, 0, 0], [2, 0, 0], [2, 10, 1.0], [-2, 10, 0], [-2, 0, 0]], dtype=float)
    with mp.workdps(DIGITS):
        expected = reference(outline)
        area = 40 + 2 * mp.pi
        # Centroid of a half-disc lies 4 r / 3 pi above its diameter.
        first = 40 * 5 + 2 * mp.pi * (10 + mpf(8) / (3 * mp.pi))
        assert mpmath.almosteq(expected["area_mm2"], area, 1e-35)
        assert mpmath.almosteq(expected["centroid_y_mm"], first / area, 1e-35)
        # 4^3 x 10 / 12 + pi r^4 / 8
        assert mpmath.almosteq(expected["i_weak_mm4"], mpf(640) / 12 + 2 * mp.pi, 1e-35)
        assert mpmath.almosteq(expected["perimeter_mm"], 24 + 2 * mp.pi, 1e-35)
        assert mpmath.almosteq(expected["height"], 12, 1e-35)
