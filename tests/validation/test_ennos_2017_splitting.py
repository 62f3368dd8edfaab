"""Splitting green poles with wedges: broader and smoother ones need less.

Source: Ennos and Ventura Oliveira, The mechanics of splitting wood and the design of Neolithic woodworking tools, EXARC
Journal 2017/4 (exarc.net/ark:/88735/10312; seen in part and as quoted): hazel rods of 3 to 4 years driven onto steel
wedges; friction made broader and wider wedges the more efficient, and a smooth blade more than a rough one. Only the
signs were found, no figures, so only signs are held to.

Broader: the further the arms are held apart, the longer the crack and the less they press (N as w^-1/2) and rub. Of
wider angles at one breadth the model says the opposite, as it takes the angle of the blade where its corner rides on
the arms, whose own slope should count there: a limit of the model, told in DEVELOPERS.md.
"""

from __future__ import annotations

import numpy as np
import pytest

from recommender.geometry.outline import Sides, face, symmetric
from recommender.mechanics.splitting import Billet, side_force_n_per_mm, split

SMOOTH, ROUGH = 0.3, 0.6


def drive(breadth_mm: float, friction: float, half_angle_deg: float = 5.0) -> float:
    """Of a wedge under the split of a pole 300 mm long and 15 mm thick, N per mm of width."""
    height = breadth_mm / 2 / np.tan(np.radians(half_angle_deg))
    wedge = Sides.of(symmetric(face((0, 0, 0), (breadth_mm / 2, height, 0))))
    pole = Billet(300.0, 7.5, 8000.0, 0.3, friction)
    return float(split(wedge, pole).drive_n_per_mm[0])


@pytest.mark.parametrize("friction", [SMOOTH, ROUGH])
def test_a_broader_wedge_is_driven_with_less(friction: float) -> None:
    assert drive(6.0, friction) < drive(4.0, friction) < drive(3.0, friction)


@pytest.mark.parametrize("breadth_mm", [3.0, 6.0])
def test_a_smooth_wedge_is_driven_with_less(breadth_mm: float) -> None:
    assert drive(breadth_mm, SMOOTH) < drive(breadth_mm, ROUGH)


def test_the_side_force_falls_as_the_root_of_the_opening() -> None:
    """Their model of a pole whose halves are pulled apart: c as w^1/2, so N as w^-1/2; arms built in."""
    w = np.array([1.0, 4.0])
    modulus, h, gc = 8000.0, 7.5, 0.3
    crack = (3 * modulus * h**3 * w**2 / (4 * gc)) ** 0.25
    force = side_force_n_per_mm(w, crack, h, modulus)
    assert force[1] / force[0] == pytest.approx(0.5, rel=1e-9)
