"""Whole blades whose mass, balance, bending and penetration have closed forms worked by hand.

Source: definitions (volume, centroid), beam theory (unit load, sigma W) and the work balance stated in
`mechanics.blade_bending.penetration`; known: derived here, integrals by hand or by mpmath.
"""

from __future__ import annotations

import math

import mpmath
import numpy as np
import pytest

from recommender.geometry.blade import Blade
from recommender.geometry.side_views import BAR, SideView
from recommender.mechanics import blade_bending as mechanics
from recommender.mechanics.cutting import CutMaterial

H, T, L = 40.0, 4.0, 100.0
RECTANGLE = np.array([[[0, 0, 0], [2, 0, 0], [2, H, 0], [-2, H, 0], [-2, 0, 0]]])
TRIANGLE = np.array([[[0, 0, 0], [2, H, 0], [-2, H, 0.0]]])
SPIKE = SideView(edge_from=0.0, edge_power=1.0, spine_from=1.0, spine_power=1.0, tip=1.0)
"""The edge rises straight to the spine: height H (1 - x/L)."""
E = 205_000.0
RHO = 0.0078


def test_uniform_bar() -> None:
    """Rho A L and L/2: 0.0078 x 80 x 100 = 62.4 g, 50 mm."""
    weight = mechanics.weight(Blade(TRIANGLE, L, BAR), RHO)
    assert (weight.mass_g[0], weight.balance_mm[0]) == pytest.approx((62.4, 50.0), rel=1e-12)


@pytest.mark.parametrize("taper", [0.0, 0.01, 0.035])
def test_tapered_bar(taper: float) -> None:
    """Rho b L (t0 + t1)/2 and, a trapezoid's centroid, L (t0 + 2 t1) / (3 (t0 + t1))."""
    weight = mechanics.weight(Blade(RECTANGLE, L, BAR, taper_mm_per_mm=taper), RHO)
    t1 = T - taper * L
    assert weight.mass_g[0] == pytest.approx(RHO * H * L * (T + t1) / 2, rel=1e-12)
    assert weight.balance_mm[0] == pytest.approx(L * (T + 2 * t1) / (3 * (T + t1)), rel=1e-12)


def test_plate_narrowing_to_a_point() -> None:
    """A triangular plate: rho t H L / 2, centroid at L/3."""
    weight = mechanics.weight(Blade(RECTANGLE, L, SPIKE), RHO)
    assert (weight.mass_g[0], weight.balance_mm[0]) == pytest.approx((RHO * T * H * L / 2, L / 3), rel=1e-12)


def test_wedge_narrowing_to_a_point() -> None:
    """Height and thickness fall together: a pyramid, a third of the prism, centroid at L/4."""
    weight = mechanics.weight(Blade(TRIANGLE, L, SPIKE), RHO)
    assert (weight.mass_g[0], weight.balance_mm[0]) == pytest.approx((62.4 / 3, L / 4), rel=1e-12)


@pytest.mark.parametrize("at", [30.0, 100.0])
def test_uniform_cantilever(at: float) -> None:
    """3 E I / a^3, I = b t^3 / 12."""
    found = mechanics.stiffness_n_per_mm(Blade(RECTANGLE, L, BAR), at, E)[0]
    assert found == pytest.approx(3 * E * H * T**3 / 12 / at**3, rel=1e-12)


def test_tapered_cantilever() -> None:
    """t = t0 - c x, beta = t0/t1: deflection per N 12 / (E b c^3) (ln beta - 3/2 + 2/beta - 1/(2 beta^2))."""
    c, beta = 0.02, 2.0
    compliance = 12 / (E * H * c**3) * (math.log(beta) - 1.5 + 2 / beta - 1 / (2 * beta**2))
    found = mechanics.stiffness_n_per_mm(Blade(RECTANGLE, L, BAR, taper_mm_per_mm=c), L, E)[0]
    assert found == pytest.approx(1 / compliance, rel=1e-7)


def test_narrowing_cantilever() -> None:
    """I = t^3 H (1 - x/L) / 12, loaded 5 mm before the point."""
    compliance = mpmath.quad(lambda x: (95 - x) ** 2 * 12 / (E * T**3 * H * (1 - x / L)), [0, 50, 95])
    found = mechanics.stiffness_n_per_mm(Blade(RECTANGLE, L, SPIKE), 95.0, E)[0]
    assert found == pytest.approx(float(1 / compliance), rel=1e-5)


def test_spike_as_a_cantilever() -> None:
    """I = I0 (z/L)^4, z from the tip; L^4 / (E I0) [-1/z + b/z^2 - b^2/(3 z^3)] from z = b to L, I0 = 53.333."""
    b, i0 = 10.0, H * T**3 / 48

    def term(z: float) -> float:
        return -1 / z + b / z**2 - b**2 / (3 * z**3)

    found = mechanics.stiffness_n_per_mm(Blade(TRIANGLE, L, SPIKE), L - b, E)[0]
    assert found == pytest.approx(E * i0 / L**4 / (term(L) - term(b)), rel=1e-3)


def test_pry_moment_along_a_tapered_bar() -> None:
    """Sigma b t^2 / 6: t = 4, 3, 2 at 0, 50, 100 mm."""
    found = mechanics.pry_moment_n_m(Blade(RECTANGLE, L, BAR, taper_mm_per_mm=0.02), [0.0, 50.0, 100.0], 1000.0)[0]
    assert found == pytest.approx([1000 * H * t**2 / 6 / 1000 for t in (4, 3, 2)], rel=1e-12)


def test_plate_fails_at_the_guard() -> None:
    """W / arm = H t^2 (L - x) / (6 L (a - x)) grows towards the load: least at x = 0, sigma H t^2 / (6 a)."""
    found = mechanics.tip_strength_n(Blade(RECTANGLE, L, SPIKE), 1500.0, 5.0)[0]
    assert found == pytest.approx(1500 * H * T**2 / (6 * 95), rel=1e-12)


@pytest.mark.parametrize("b", [3.0, 10.0])
def test_spike_fails_near_its_tip(b: float) -> None:
    """W = W0 (z/L)^3, arm z - b: least at z = 3b/2, sigma W0 27 b^2 / (4 L^3), W0 = H t^2 / 24 = 26.667."""
    found = mechanics.tip_strength_n(Blade(TRIANGLE, L, SPIKE), 1500.0, b)[0]
    assert found == pytest.approx(1500 * 26.666667 * 27 * b**2 / (4 * L**3), rel=1e-4)


def test_bar_driven_in() -> None:
    """Past yield: t = 4, k = 2, plateau 1: e = 4 - 1/2 = 3.5, wedging 140; rubbing mu 2 p H D; parting R (H + t)."""
    found = mechanics.penetration(Blade(RECTANGLE, L, BAR), 25.0, CutMaterial(0.5, 2.0, 1.0, 0.3))
    assert found.wedging[0] == pytest.approx(140.0, rel=1e-9)
    assert found.rubbing[0] == pytest.approx(0.3 * 2 * 1.0 * H * 25, rel=1e-9)
    assert found.parting[0] == pytest.approx(0.5 * 44, rel=1e-9)
    assert found.force[0] == pytest.approx(140 + 600 + 22, rel=1e-9)


def test_spike_driven_in() -> None:
    """Elastic, 25 deep: section 10 high, 1 wide: int k t^2/4 dy = k 10/12; rubbing mu k V, V = 5 x 25/3; R (10 + 1)."""
    found = mechanics.penetration(Blade(TRIANGLE, L, SPIKE), 25.0, CutMaterial(0.5, 0.8, 1e3, 0.3))
    assert found.wedging[0] == pytest.approx(0.8 * 10 / 12, rel=1e-9)
    assert found.rubbing[0] == pytest.approx(0.3 * 0.8 * 5 * 25 / 3, rel=1e-9)
    assert found.parting[0] == pytest.approx(0.5 * 11, rel=1e-9)


def test_one_sided_spike_driven_in() -> None:
    """The ground face presses all of t aside: int k t^2/2 dy = k 10/6; both rub as much together, mu k V."""
    chisel = np.array([[[0, 0, 0], [T, H, 0], [0, H, 0.0]]])
    found = mechanics.penetration(Blade(chisel, L, SPIKE), 25.0, CutMaterial(0.5, 0.8, 1e3, 0.3))
    assert found.wedging[0] == pytest.approx(0.8 * 10 / 6, rel=1e-9)
    assert found.rubbing[0] == pytest.approx(0.3 * 0.8 * 5 * 25 / 3, rel=1e-9)
    assert found.parting[0] == pytest.approx(0.5 * 11, rel=1e-9)


def test_a_blunt_apex_costs_parting_only() -> None:
    """Apex radius 5 um doubles what the edge parts: R (2 x 10 + 1)."""
    material = CutMaterial(0.5, 0.8, 1e3, 0.3)
    blunt = mechanics.penetration(Blade(TRIANGLE, L, SPIKE), 25.0, material, apex_radius_mm=0.005)
    assert blunt.parting[0] == pytest.approx(0.5 * 21, rel=1e-9)
