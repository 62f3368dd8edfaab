"""Circular segments, and the lens and the hollow that are made of them.

Source: tables of circular segments for radius 1 (such as Machinery's Handbook, "Segments of a circle"; the
formulas seen in a stored copy of its 31st edition, page 83, the three rows exact to the digits printed). The lens
and the hollow of mechanics.md section 3 are worked here from the circle's equation by mpmath quadrature, beside
the printed figures.
"""

from __future__ import annotations

import math

import mpmath
import numpy as np
import pytest
from mpmath import mp, mpf

from recommender.geometry.arcs import arc_length, bulge_from_radius, segment_area, segment_moments
from recommender.geometry.outline import symmetric
from recommender.geometry.profile import faces_at, half_angles, min_thickness, thickness
from recommender.geometry.section import measure, torsion_constant

ROWS = [
    # arc angle in degrees, height, area for radius 1: tables of circular segments
    (60, 0.13397, 0.09059),
    (90, 0.29289, 0.28540),
    (120, 0.5, 0.61418),
]


def _bulge(degrees: float) -> np.ndarray:
    return np.array([math.tan(math.radians(degrees) / 4)])


def _chord(degrees: float) -> np.ndarray:
    return np.array([2 * math.sin(math.radians(degrees) / 2)])


@pytest.mark.parametrize(("degrees", "height", "area"), ROWS)
def test_table_rows(degrees: float, height: float, area: float) -> None:
    # Half a unit of the table's last digit.
    assert segment_area(_bulge(degrees), _chord(degrees))[0] == pytest.approx(area, abs=6e-6)
    # The rise of an arc is bulge x chord / 2: how the bulge is defined.
    assert (_bulge(degrees) * _chord(degrees) / 2)[0] == pytest.approx(height, abs=6e-6)


@pytest.mark.parametrize("degrees", [60.0, 90.0, 120.0, 180.0])
def test_arc_length_and_radius(degrees: float) -> None:
    """For radius 1 the arc is as long as its angle in radians; the shorter arc over its chord has radius 1."""
    assert arc_length(_bulge(degrees), _chord(degrees))[0] == pytest.approx(math.radians(degrees), rel=1e-14)
    assert bulge_from_radius(_chord(degrees), np.array([1.0]))[0] == pytest.approx(_bulge(degrees)[0], rel=1e-8)


@pytest.mark.parametrize("degrees", [0.01, 1.0, 30.0, 60.0, 86.0, 90.0, 120.0, 179.0, 180.0])
def test_segment_moments(degrees: float) -> None:
    """Radius 1, chord along x: A = int s dx, first = int s^2/2 dx, across = int s^3/3 dx, along = int x^2 s dx."""
    with mp.workdps(40):
        theta = mp.radians(mpf(degrees))
        half, low = mpmath.sin(theta / 2), mpmath.cos(theta / 2)

        def over(f: object) -> float:
            # x = sin t keeps the integrand smooth at the ends.
            return float(
                mpmath.quad(
                    lambda t: f(mpmath.sin(t), mpmath.cos(t) - low) * mpmath.cos(t),  # type: ignore[operator]
                    [-theta / 2, 0, theta / 2],
                )
            )

        expected = [
            over(lambda x, s: s),
            over(lambda x, s: s**2 / 2),
            over(lambda x, s: s**3 / 3),
            over(lambda x, s: x * x * s),
        ]
        chord = float(2 * half)
        bulge = float(mpmath.tan(theta / 4))
    found = [float(v[0]) for v in segment_moments(np.array([bulge]), np.array([chord]))]
    # 5e-13: the bulge itself carries a rounding, s^3 triples it, and the closed form cancels some digits near 90.
    assert found == pytest.approx(expected, rel=5e-13)


def lens(chord: float, t: float) -> np.ndarray:
    """Circular lens standing on its edge, each face in two arcs."""
    radius = (chord**2 / 4 + t**2 / 4) / t
    bulge = math.tan(math.asin(chord / 2 / radius) / 4)
    return np.array([[0, 0, bulge], [t / 2, chord / 2, bulge], [0, chord, bulge], [-t / 2, chord / 2, bulge]])


def test_printed_lens() -> None:
    """Chord 40, thickness 4: R = (20^2 + 2^2) / 4 = 101; A 106.880, I_weak 97.85, I_strong 8569.9."""
    m = measure(lens(40, 4))
    assert m.area_mm2 == pytest.approx(106.880, abs=6e-4)
    assert m.i_weak_mm4 == pytest.approx(97.85, abs=6e-3)
    assert m.i_strong_mm4 == pytest.approx(8569.9, abs=6e-2)


@pytest.mark.parametrize(("chord", "t"), [(40, 4), (40, 0.5), (25, 12), (120, 3)])
def test_lens_by_quadrature(chord: float, t: float) -> None:
    """x(y) = sqrt(R^2 - (y - c/2)^2) - (R - t/2): A = int 2x, I_weak = int 2x^3/3, I_strong = int 2x (y - c/2)^2."""
    with mp.workdps(30):
        radius = (mpf(chord) ** 2 / 4 + mpf(t) ** 2 / 4) / t

        def x(v: mpf) -> mpf:
            return mpmath.sqrt(radius**2 - v**2) - (radius - mpf(t) / 2)

        ends = [-mpf(chord) / 2, 0, mpf(chord) / 2]
        area = float(mpmath.quad(lambda v: 2 * x(v), ends))
        weak = float(mpmath.quad(lambda v: 2 * x(v) ** 3 / 3, ends))
        strong = float(mpmath.quad(lambda v: 2 * x(v) * v * v, ends))
        thin_torsion = float(mpmath.quad(lambda v: (2 * x(v)) ** 3 / 3, ends))
    m = measure(lens(chord, t))
    assert m.area_mm2 == pytest.approx(area, rel=1e-12)
    assert m.i_weak_mm4 == pytest.approx(weak, rel=1e-11)
    assert m.i_strong_mm4 == pytest.approx(strong, rel=1e-11)
    # int t^3 / 3 alone: a lens has no square end. Eight Gauss points a half are good to 1e-7 for the stoutest lens.
    assert torsion_constant(lens(chord, t)) == pytest.approx(thin_torsion, rel=1e-6)


def hollow(radius: float) -> np.ndarray:
    """Bare hollow 4 -> 0.5 x 30 mm: arcs of the given radius bent inwards from edge to spine."""
    chord = math.hypot(30, 1.75)
    bulge = -math.tan(math.asin(chord / 2 / radius) / 2)
    face = np.array([[[0.0, 0.0, 0.0], [0.25, 0.0, bulge], [2.0, 30.0, 0.0]]])
    return symmetric(face)[0]


def test_printed_hollow() -> None:
    """R 200: A 44.847, I_weak 23.42, I_strong 2509.8 (mechanics.md section 3, computed there with other libraries)."""
    m = measure(hollow(200))
    assert m.area_mm2 == pytest.approx(44.847, abs=6e-4)
    assert m.i_weak_mm4 == pytest.approx(23.42, abs=6e-3)
    assert m.i_strong_mm4 == pytest.approx(2509.8, abs=6e-2)


def test_hollow_starts_narrowing() -> None:
    """Edge half-angle = chord angle less half the arc angle: atan(1.75/30) - asin(30.051/400) = -0.97 degrees."""
    left, right = np.degrees(half_angles(hollow(200), 1e-9))
    expected = math.degrees(math.atan(1.75 / 30) - math.asin(math.hypot(30, 1.75) / 400))
    assert expected == pytest.approx(-0.97, abs=5e-3)
    assert (left, right) == pytest.approx((expected, expected), abs=1e-6)


@pytest.mark.parametrize(("radius", "waist"), [(200.0, 0.443), (100.0, None)])
def test_waist(radius: float, waist: float | None) -> None:
    """Twice (centre's x - R); the centre lies sqrt(R^2 - c^2/4) right of the chord's middle, along its normal."""
    chord = math.hypot(30, 1.75)
    reach = math.sqrt(radius**2 - chord**2 / 4)
    centre_x, centre_y = 1.125 + reach * 30 / chord, 15 - reach * 1.75 / chord
    expected = 2 * (centre_x - radius)
    # Just above the square edge: at y = 0 itself the section begins.
    value, where = min_thickness(hollow(radius), 1e-9, 30.0)
    assert value == pytest.approx(expected, abs=1e-10)
    # The waist is flat: 1e-6 of height is lost in 1e-13 of thickness.
    assert where == pytest.approx(centre_y, abs=1e-4)
    if waist is None:
        assert value < 0  # R 100: the faces cross
    else:
        assert value == pytest.approx(waist, abs=6e-4)


@pytest.mark.parametrize("y", [0.5, 3.0, 11.0, 29.0])
def test_hollow_profile(y: float) -> None:
    """x(y) = centre x - sqrt(R^2 - (y - centre y)^2)."""
    chord = math.hypot(30, 1.75)
    reach = math.sqrt(200**2 - chord**2 / 4)
    centre_x, centre_y = 1.125 + reach * 30 / chord, 15 - reach * 1.75 / chord
    x = centre_x - math.sqrt(200**2 - (y - centre_y) ** 2)
    # x is a difference of figures near 200: 1e-12.
    assert faces_at(hollow(200), y) == pytest.approx((-x, x), abs=1e-12)
    assert thickness(hollow(200), y) == pytest.approx(2 * x, abs=1e-12)
