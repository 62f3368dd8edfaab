"""Bending of the blade as a cantilever, and of the edge as a cantilever plate.

Source: beam theory (closed forms): deflection P L^3 / 3EI, stress M c / I, for sections without an axis of symmetry the
unsymmetrical bending of Timoshenko, Strength of Materials (memory), derived here: curvatures follow from
M = E [I] kappa, a sideways force bends the blade by P L^3 / 3E times the (x, x) element of [I]^-1. Real sections:
see test_sectionproperties.py.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

import mpmath
import numpy as np
import pytest

from recommender.geometry.outline import Sides
from recommender.mechanics.steel import YOUNGS_MODULUS_MPA
from recommender.mechanics.strength import (
    body_edge_strength,
    local_edge_strength,
    pry_moment_n_m,
    stiffness_n_per_mm,
    tip_section,
)

TRIANGLE = np.array([[[0, 0, 0], [2, 40, 0], [-2, 40, 0]]], dtype=float)
E_MPA = 205_000.0
"""Hardened steel, 200-210 GPa."""


def test_youngs_modulus() -> None:
    assert 200_000 <= YOUNGS_MODULUS_MPA <= 210_000


@pytest.mark.parametrize("length", [60.0, 200.0])
def test_stiffness_of_a_triangle(length: float) -> None:
    """I = 40 x 4^3 / 48 = 53.333: deflection of a unit load by the unit-load integral int (L - x)^2 / EI dx."""
    flexibility = mpmath.quad(lambda x: (length - x) ** 2 / (YOUNGS_MODULUS_MPA * mpmath.mpf(160) / 3), [0, length])
    assert stiffness_n_per_mm(TRIANGLE, length)[0] == pytest.approx(float(1 / flexibility), rel=1e-12)


def test_stiffness_by_hand() -> None:
    """100 mm long: 3 x 205000 x 53.333 / 1e6 = 32.8 N/mm."""
    assert stiffness_n_per_mm(TRIANGLE, 100.0)[0] == pytest.approx(32.8 * YOUNGS_MODULUS_MPA / E_MPA, rel=1e-9)


def test_prying_moment_by_hand() -> None:
    """Z = 53.333 / 2 = 26.667 mm3: 1500 MPa at the spine's corners is 40 N m."""
    assert pry_moment_n_m(TRIANGLE, 1500.0)[0] == pytest.approx(40.0, rel=1e-12)


def test_tip_by_hand() -> None:
    """Narrowed to a third the triangle is 1.333 x 13.333: Z = h t^2 / 24, 27 times less."""
    assert pry_moment_n_m(tip_section(TRIANGLE), 1500.0)[0] == pytest.approx(40.0 / 27, rel=1e-12)


def test_edge_of_a_straight_wedge() -> None:
    """t = y / 10: sigma t^2 (b + 2y) / 6y = sigma y (2 + 2y) / 600 grows with y: least at 1 mm, sigma / 150."""
    sides = Sides.of(TRIANGLE)
    assert local_edge_strength(sides, 1500.0, np.array([0.5]))[0] == pytest.approx(10.0, rel=1e-12)
    # 30 mm up, t = 3: 1500 x 9 x 62 / 180 = 4650
    assert body_edge_strength(sides, 1500.0, np.array([30.0]))[0] == pytest.approx(4650.0, rel=1e-12)


def test_edge_bends_behind_a_bevel() -> None:
    """Bevel to 0.6 at 0.8 mm, then almost parallel: least where the lever is longest, at 3 mm.

    t(y) = 0.6 + 0.01 (y - 0.8); t^2 (2 + 2y) / 6y is 0.2416 at 1, 0.1873 at 2, 0.1719 at 3 mm, where t = 0.622:
    1500 x 0.386884 x 8 / 18 = 257.92.
    """
    face = [(0.3, 0.8), (0.3 + 0.005 * 39.2, 40.0)]
    outline = np.array([[0, 0, 0], *[(x, y, 0) for x, y in face], *[(-x, y, 0) for x, y in face[::-1]]])
    found = local_edge_strength(Sides.of(outline), 1500.0, np.array([0.8]))[0]
    assert found == pytest.approx(257.92, abs=0.01)


def inertia(vertices: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Centroid of a polygon and the tensor of its second moments, int x^2, int xy, int y^2, triangle by triangle.

    A triangle with corners p, q, r: int z z^T dA = A/12 (s s^T + p p^T + q q^T + r r^T) with s = p + q + r.
    """
    area, first, second = 0.0, np.zeros(2), np.zeros((2, 2))
    p = vertices[0]
    for q, r in itertools.pairwise(vertices[1:]):
        a = ((q - p)[0] * (r - p)[1] - (q - p)[1] * (r - p)[0]) / 2
        s = p + q + r
        area, first = area + a, first + a * s / 3
        second = second + a / 12 * sum(np.outer(v, v) for v in (s, p, q, r))
    centre = first / area
    return centre, second - area * np.outer(centre, centre)


KNOBS = {
    "stock_thickness_mm": 3.0,
    "height_mm": 30.0,
    "edge_thickness_mm": 0.4,
    "edge_angle_per_side_deg": 18.0,
    "grind_line_share": 0.6,
}


@pytest.mark.parametrize(("grind", "side"), [("full-flat", "both"), ("chisel", "right"), ("saber-chisel", "left")])
def test_sideways_stiffness(outline_of: Callable[..., np.ndarray], grind: str, side: str) -> None:
    """A force across a blade free to bend where it likes: k = 3E / (L^3 [I]^-1_xx) = 3E (Ixx - Ixy^2/Iyy) / L^3."""
    outline = outline_of(grind, **KNOBS, side=side)
    _, tensor = inertia(outline[:, :2])
    expected = 3 * YOUNGS_MODULUS_MPA / (120.0**3 * np.linalg.inv(tensor)[0, 0])
    assert float(stiffness_n_per_mm(outline[None], 120.0)[0]) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(("grind", "side"), [("full-flat", "both"), ("chisel", "right"), ("saber-chisel", "left")])
def test_sideways_prying(outline_of: Callable[..., np.ndarray], grind: str, side: str) -> None:
    """A sideways moment alone: stress M (kappa . z), kappa = [I]^-1 (1, 0), up to 1000 MPa in the worst corner."""
    outline = outline_of(grind, **KNOBS, side=side)
    centre, tensor = inertia(outline[:, :2])
    per_n_mm = np.abs((outline[:, :2] - centre) @ np.linalg.solve(tensor, [1.0, 0.0])).max()
    expected = 1000.0 / per_n_mm / 1000.0
    assert float(pry_moment_n_m(outline[None], 1000.0)[0]) == pytest.approx(expected, rel=1e-9)


def test_the_reference_itself() -> None:
    """The right triangle 3 x 30: Ixx = h t^3 / 36 = 22.5, Ixy = t^2 h^2 / 72 = 112.5, Iyy = t h^3 / 36 = 2250."""
    _, tensor = inertia(np.array([[0.0, 0.0], [3.0, 30.0], [0.0, 30.0]]))
    assert tensor.ravel().tolist() == pytest.approx([22.5, 112.5, 112.5, 2250.0])
    assert math.isclose(tensor[0, 0] - tensor[0, 1] ** 2 / tensor[1, 1], 16.875)
