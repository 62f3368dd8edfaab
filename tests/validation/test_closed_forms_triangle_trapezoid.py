"""Triangle and trapezoid: closed forms of plane geometry and of thin-section torsion.

Source: closed forms (exact), worked here from the formulas beside each value; the figures for 4 x 40 mm are those
of mechanics.md section 3. Measures are sums of products of a few coordinates, so 1e-13 (a few hundred roundings)
is what exactness means here.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from recommender.geometry.profile import area_below, half_angles, height_at_thickness, thickness
from recommender.geometry.section import bending_modulus, measure, torsion_constant

SIZES = [(4.0, 0.0, 40.0), (4.0, 0.5, 40.0), (0.5, 0.02, 120.0), (12.0, 11.0, 5.0), (2.0, 0.0, 18.0)]
"""Thickness at the spine, thickness at the edge, height, mm."""


def trapezoid(spine: float, edge: float, height: float) -> np.ndarray:
    corners = [(edge / 2, 0), (spine / 2, height), (-spine / 2, height), (-edge / 2, 0)]
    return np.array([(0.0, 0.0, 0.0), *[(x, y, 0.0) for x, y in corners]])


@pytest.mark.parametrize(
    ("section", "area", "weak", "strong"),
    [
        # A = h t / 2; I_weak = h t^3 / 48 = 40 x 64 / 48; I_strong = t h^3 / 36 = 4 x 64000 / 36
        (trapezoid(4, 0, 40), 80.0, 53.333, 7111.1),
        # A = h (t1 + t2) / 2 = 40 x 4.5 / 2; I_weak = h (t1 + t2)(t1^2 + t2^2) / 48 = 40 x 4.5 x 16.25 / 48;
        # I_strong = h^3 (t1^2 + 4 t1 t2 + t2^2) / 36 (t1 + t2) = 64000 x 24.25 / 162
        (trapezoid(4, 0.5, 40), 90.0, 60.94, 9580.2),
    ],
    ids=["triangle", "trapezoid"],
)
def test_printed_figures(section: np.ndarray, area: float, weak: float, strong: float) -> None:
    m = measure(section)
    assert m.area_mm2 == pytest.approx(area, rel=1e-13)
    # Half a unit of the last printed digit.
    assert m.i_weak_mm4 == pytest.approx(weak, abs=6e-3 if weak > 60 else 6e-4)
    assert m.i_strong_mm4 == pytest.approx(strong, abs=6e-2)


@pytest.mark.parametrize(("t1", "t2", "h"), SIZES)
def test_trapezoid_measures(t1: float, t2: float, h: float) -> None:
    m = measure(trapezoid(t1, t2, h))
    assert m.area_mm2 == pytest.approx(h * (t1 + t2) / 2, rel=1e-13)
    assert m.centroid_x_mm == pytest.approx(0, abs=1e-13 * t1)
    assert m.centroid_y_mm == pytest.approx(h * (t2 + 2 * t1) / (3 * (t1 + t2)), rel=1e-13)
    assert m.i_weak_mm4 == pytest.approx(h * (t1 + t2) * (t1**2 + t2**2) / 48, rel=1e-13)
    assert m.i_strong_mm4 == pytest.approx(h**3 * (t1**2 + 4 * t1 * t2 + t2**2) / (36 * (t1 + t2)), rel=1e-12)
    assert m.i_product_mm4 == pytest.approx(0, abs=1e-13 * h * h * t1 * t1)
    assert m.perimeter_mm == pytest.approx(t1 + t2 + 2 * math.hypot(h, (t1 - t2) / 2), rel=1e-13)


@pytest.mark.parametrize(("t", "h"), [(3.0, 30.0), (6.0, 12.0)])
def test_right_triangle(t: float, h: float) -> None:
    """A pure chisel: one face in the centre plane. I = b h^3/36 both ways, product b^2 h^2/72."""
    m = measure([[0, 0, 0], [t, h, 0], [0, h, 0]])
    assert m.centroid_x_mm == pytest.approx(t / 3, rel=1e-13)
    assert m.centroid_y_mm == pytest.approx(2 * h / 3, rel=1e-13)
    assert m.i_weak_mm4 == pytest.approx(h * t**3 / 36, rel=1e-12)
    assert m.i_strong_mm4 == pytest.approx(t * h**3 / 36, rel=1e-12)
    assert m.i_product_mm4 == pytest.approx(t**2 * h**2 / 72, rel=1e-12)


@pytest.mark.parametrize(("t1", "t2", "h"), SIZES)
def test_profile_is_linear(t1: float, t2: float, h: float) -> None:
    section, y = trapezoid(t1, t2, h), 0.37 * h
    t = t2 + (t1 - t2) * 0.37
    assert thickness(section, y) == pytest.approx(t, rel=1e-13)
    assert area_below(section, y) == pytest.approx(y * (t2 + t) / 2, rel=1e-13)
    assert height_at_thickness(section, t) == pytest.approx(y, rel=1e-12)
    assert half_angles(section, y) == pytest.approx([math.atan((t1 - t2) / 2 / h)] * 2, rel=1e-12)


@pytest.mark.parametrize(("t1", "t2", "h"), SIZES)
def test_torsion_is_the_thin_section_integral_less_its_end(t1: float, t2: float, h: float) -> None:
    """int t^3 / 3 = h (t1 + t2)(t1^2 + t2^2) / 12, 243.75 for 4 -> 0.5 x 40, less about 0.105 t^4 at square ends.

    The code lets the end term vary with the taper (Roark), which moves it by 0.1 taper t^4 and less.
    """
    integral = h * (t1 + t2) * (t1**2 + t2**2) / 12
    expected = integral - 0.105 * (t1**4 + t2**4)
    allowed = 0.1 * (t1 - t2) / h * (t1**4 + t2**4) + 1e-4 * t1**4
    assert torsion_constant(trapezoid(t1, t2, h)) == pytest.approx(expected, abs=allowed)


def test_the_printed_torsion_integral() -> None:
    """243.75 mm4 before the end corrections, 0.096897 x 4^4 + 0.11448 x 0.5^4 = 24.81 by hand; 218.7 by elements."""
    assert torsion_constant(trapezoid(4, 0.5, 40)) + 24.81 == pytest.approx(243.75, abs=0.01)
    assert torsion_constant(trapezoid(4, 0.5, 40)) == pytest.approx(218.7, rel=0.002)


@pytest.mark.parametrize(("t1", "t2", "h"), SIZES)
def test_section_modulus(t1: float, t2: float, h: float) -> None:
    """I / c with c half the spine: h (t1 + t2)(t1^2 + t2^2) / 24 t1."""
    expected = h * (t1 + t2) * (t1**2 + t2**2) / (24 * t1)
    assert bending_modulus(trapezoid(t1, t2, h)[None])[0] == pytest.approx(expected, rel=1e-12)
