"""Torsion constant and sideways section modulus against closed forms."""

import math

import mpmath
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from recommender.geometry.outline import face, one_sided, symmetric
from recommender.geometry.section import bending_modulus, torsion_constant

SIZES = [(0.5, 5.0), (2.0, 45.0), (4.0, 40.0), (6.0, 120.0)]


def square_end(thickness, taper):
    """End term V t^4 of Roark's trapezoid, table 10.1; the taper is positive at the thick end."""
    s = taper
    return (0.10504 - 0.1 * s + 0.0848 * s**2 - 0.06746 * s**3 + 0.0515 * s**4) * thickness**4


@pytest.mark.parametrize(("stock", "height"), SIZES)
def test_a_wedge(stock, height):
    # integral of (t y / h)^3 / 3 dy = h t^3 / 12; one square end, at the spine
    wedge = [[0, 0, 0], [stock / 2, height, 0], [-stock / 2, height, 0]]
    wanted = height * stock**3 / 12 - square_end(stock, stock / height)
    assert torsion_constant(wedge) == pytest.approx(wanted, rel=1e-13)


@pytest.mark.parametrize(("stock", "height"), SIZES)
def test_a_wedge_below_an_unground_flat(stock, height):
    line = 0.6 * height
    saber = symmetric(face((0, 0, 0.0), (stock / 2, line, 0.0), (stock / 2, height, 0.0)))[0]
    wanted = line * stock**3 / 12 + (height - line) * stock**3 / 3 - square_end(stock, 0.0)
    assert torsion_constant(saber) == pytest.approx(wanted, rel=1e-13)


@pytest.mark.parametrize("bulge", [-0.02, -0.001, 0.001, 0.03])
def test_an_arc(bulge):
    # A bevel to thickness 0.5 over 1 mm, then 30 mm of arc by 30-digit quadrature of its circle's equation.
    e, half, rise = 0.25, 2.0, 30.0
    outline = symmetric(face((0, 0, 0.0), (e, 1, bulge), (half, 1 + rise, 0.0)))
    with mpmath.workdps(30):
        b = mpmath.mpf(bulge)
        c = mpmath.hypot(half - e, rise)
        apothem = c * (1 - b**2) / (4 * b)
        cx, cy = (e + half) / mpmath.mpf(2) - rise / c * apothem, rise / mpmath.mpf(2) + (half - e) / c * apothem
        r = c * (1 + b**2) / (4 * abs(b))
        sign = mpmath.sign(b)
        slope = -(rise - cy) / (sign * mpmath.sqrt(r**2 - (rise - cy) ** 2))  # dx/dy where the arc meets the spine
        arc = mpmath.quad(lambda y: (2 * (cx + sign * mpmath.sqrt(r**2 - (y - cy) ** 2))) ** 3 / 3, [0, rise])
    wanted = 1.0 * 0.5**3 / 12 + float(arc) - square_end(4.0, 2 * float(slope))
    assert torsion_constant(outline)[0] == pytest.approx(wanted, rel=1e-9)


@given(st.floats(0.5, 6.0), st.floats(20.0, 80.0), st.floats(0.1, 0.9))
def test_one_side_or_both_makes_no_difference_at_equal_thickness(stock, height, share):
    def right(half):
        return face((0, 0, 0.0), (half, share * height, 0.0), (half, height, 0.0))

    both, one = torsion_constant(symmetric(right(stock / 2))), torsion_constant(one_sided(right(stock)))
    assert one == pytest.approx(both, rel=1e-12)


@given(st.floats(0.5, 6.0), st.floats(20.0, 80.0), st.floats(1.1, 3.0))
def test_torsion_scales_with_the_fourth_power(stock, height, scale):
    wedge = np.array([[0, 0, 0], [stock / 2, height, 0], [-stock / 2, height, 0]])
    larger = wedge * [scale, scale, 1.0]
    assert torsion_constant(larger) == pytest.approx(scale**4 * torsion_constant(wedge), rel=1e-12)


@pytest.mark.parametrize(("stock", "height"), SIZES)
def test_the_modulus_of_a_wedge(stock, height):
    # I = h t^3 / 48 over t / 2
    wedge = np.array([[[0, 0, 0], [stock / 2, height, 0], [-stock / 2, height, 0]]])
    assert bending_modulus(wedge) == pytest.approx([height * stock**2 / 24], rel=1e-12)


@pytest.mark.parametrize("left_ground", [False, True])
def test_the_modulus_of_a_one_sided_wedge(left_ground):
    # Right triangle: I = h t^3 / 36 about its centroid at t / 3; the edge side lies t / 3 away, the spine 2 t / 3.
    stock, height = 3.0, 30.0
    wedge = one_sided(face((0, 0, 0.0), (stock, height, 0.0)), left_ground)
    assert bending_modulus(wedge) == pytest.approx([height * stock**2 / 24], rel=1e-12)


def test_shapes():
    wedge = np.array([[0.0, 0, 0], [2, 40, 0], [-2, 40, 0]])
    assert np.shape(torsion_constant(wedge)) == ()
    assert np.shape(torsion_constant(np.stack([wedge, wedge]))) == (2,)
    assert len(torsion_constant(np.empty((0, 3, 3)))) == 0
    assert math.isclose(torsion_constant(np.stack([wedge, wedge]))[1], torsion_constant(wedge))
