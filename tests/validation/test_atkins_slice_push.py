"""Pressing and slicing: Atkins, Xu and Jeronimidis, J. Mater. Sci. 39 (2004) 2761.

Source: definition seen (abstract: slice/push ratio xi = blade speed parallel to the edge over speed
perpendicular to it; the greater xi, the lower the forces; friction limits the reduction at high xi), formulas
from memory: V = R w / (1 + xi^2), H = xi V. Here also from the energy balance behind them: per length cut,
V + xi H = R w.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from recommender.geometry.outline import Sides
from recommender.mechanics.cutting import BLUNT_LENGTH_MM, CutMaterial, cut_force, slice_push

WEDGE = Sides.of(np.array([[0, 0, 0], [1.5, 40, 0], [-1.5, 40, 0]]))
TOUGH_ONLY = CutMaterial(
    toughness_n_per_mm=0.2, foundation_n_per_mm3=1e-12, plateau_mpa=1.0, friction=0.0
)  # R = 200 J/m2 and nothing else
FIRM = CutMaterial(toughness_n_per_mm=0.2, foundation_n_per_mm3=0.07, plateau_mpa=10.0, friction=0.3)


@pytest.mark.parametrize(
    ("xi", "push", "draw"),
    [
        (0.0, 0.2, 0.0),
        (0.5, 0.16, 0.08),  # 0.2 / 1.25
        (1.0, 0.1, 0.1),  # 0.2 / 2
        (3.0, 0.02, 0.06),  # 0.2 / 10
    ],
)
def test_parting_force(xi: float, push: float, draw: float) -> None:
    force = cut_force(WEDGE, 20.0, TOUGH_ONLY, slice_push_ratio=xi)
    assert float(force.push[0]) == pytest.approx(push, abs=1e-9)
    assert float(force.draw[0]) == pytest.approx(draw, abs=1e-9)


@pytest.mark.parametrize("xi", [0.0, 0.3, 1.0, 2.5, 6.0])
def test_energy_balance(xi: float) -> None:
    """Whatever the ratio, parting costs R per area: V dy + H dx = R dy with dx = xi dy."""
    force = cut_force(WEDGE, 20.0, TOUGH_ONLY, slice_push_ratio=xi)
    assert float(force.push[0] + xi * force.draw[0]) == pytest.approx(0.2, abs=1e-9)


@pytest.mark.parametrize("xi", [0.0, 0.3, 1.0, 2.5, 6.0])
def test_friction_turns_with_the_slip(xi: float) -> None:
    """Its size stays mu times the faces' pressure, its direction is that of the slip, (1, xi) / sqrt(1 + xi^2)."""
    force = cut_force(WEDGE, 20.0, FIRM, slice_push_ratio=xi)
    across = float(force.rubbing[0])
    along = float(force.draw[0] - xi * force.parting[0])
    # Pressure k t/2 on both faces over 20 mm of a straight wedge: k A, A = 20 x 1.5 / 2 = 15 mm2.
    assert math.hypot(across, along) == pytest.approx(0.3 * 0.07 * 15.0, rel=1e-12)
    assert along == pytest.approx(xi * across, rel=1e-12, abs=1e-15)


def test_slicing_lowers_the_push_until_friction_and_wedging_are_left() -> None:
    """The greater xi the lower the push, but it cannot fall below the wedging force k t^2 / 4 = 0.07 x 1.5^2 / 4."""
    pushes = [
        float(cut_force(WEDGE, 20.0, FIRM, slice_push_ratio=xi).push[0]) for xi in (0.0, 0.5, 1.0, 2.0, 5.0, 50.0)
    ]
    assert pushes == sorted(pushes, reverse=True)
    floor = 0.07 * 1.5**2 / 4
    assert floor < pushes[-1] < floor + 0.3 * 0.07 * 15 / 49


@pytest.mark.parametrize(
    ("ratio", "stroke", "depth", "expected"),
    [(0.5, 120.0, 30.0, 0.5), (6.0, 120.0, 30.0, 4.0), (3.0, 40.0, 40.0, 1.0)],
)
def test_stroke_limits_the_ratio(ratio: float, stroke: float, depth: float, expected: float) -> None:
    """A cut D deep in a stroke L long slices at most L / D on average."""
    assert slice_push(ratio, stroke, depth) == expected


def test_apex_radius_scales_the_toughness() -> None:
    """Linear in the radius, R (1 + r / r0): the estimate the code declares; r = r0 doubles it."""
    force = cut_force(WEDGE, 20.0, TOUGH_ONLY, apex_radius_mm=BLUNT_LENGTH_MM)
    assert float(force.push[0]) == pytest.approx(0.4, abs=1e-9)
