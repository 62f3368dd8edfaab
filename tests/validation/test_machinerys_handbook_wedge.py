"""The wedge with friction: P = 2 Q tan(a + phi), from Machinery's Handbook.

Source: seen, as quoted with the handbook named (engineersedge.com, inclined wedge, force 2: P drives the wedge along
its axis, each Q presses across it, a is half the included angle, tan phi = mu). P/Q at an included angle of 25
degrees and the self-locking limit are mechanics.md section 3.

With R square to the face instead of Q across the wedge the same equilibrium reads P = 2 R (sin a + mu cos a), and
P = 2 R (mu cos a - sin a) to pull it out (seen: e-uparts.com, wedge calculation formula). The two agree
through Q = R (cos a - mu sin a); a force across the wedge put in place of R gives too little.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from recommender.geometry.outline import Sides
from recommender.mechanics.splitting import HELD_SHARE, Billet, Split, side_force_n_per_mm, split

HALF = math.radians(12.5)
WEDGE = Sides.of([[0, 0, 0], [200 * math.tan(HALF), 200, 0], [-200 * math.tan(HALF), 200, 0]])  # included 25 degrees


def billet(mu: float) -> Billet:
    return Billet(length_mm=250, arm_mm=30, modulus_mpa=11000, gc_n_per_mm=0.28, friction=mu)


def held(mu: float) -> float:
    """The force Q that holds each arm while the split is under way: where withdrawal is asked."""
    b = billet(mu)
    crack = HELD_SHARE * b.length_mm
    return float(side_force_n_per_mm(b.half_opening_at_mm(crack), crack, b.arm_mm, b.modulus_mpa))


def driven(mu: float) -> tuple[Split, float]:
    """The split, and the force Q that holds each arm open across the wedge."""
    b = billet(mu)
    return split(WEDGE, b), side_force_n_per_mm(b.half_opening_mm, b.length_mm, b.arm_mm, b.modulus_mpa)


@pytest.mark.parametrize(
    ("mu", "ratio"),
    [
        (0.15, 0.769),  # 2 tan(12.5 + 8.531)
        (0.40, 1.364),  # 2 tan(12.5 + 21.801)
        (0.65, 2.037),  # 2 tan(12.5 + 33.024)
    ],
)
def test_drive_over_side_force(mu: float, ratio: float) -> None:
    """The arms push back across the wedge with a cantilever's end force, w E h^3 / 4 c^3: the handbook's Q."""
    assert 2 * math.tan(HALF + math.atan(mu)) == pytest.approx(ratio, abs=6e-4)
    found, q = driven(mu)
    assert float(found.drive_n_per_mm[0]) / q == pytest.approx(ratio, abs=6e-4)


@pytest.mark.parametrize("mu", [0.05, 0.15, 0.40, 0.65])
def test_withdrawal_over_side_force(mu: float) -> None:
    """Friction turned round: P = 2 Q tan(phi - a) to pull the wedge out; negative where it comes out by itself."""
    found, _ = driven(mu)
    expected = 2 * math.tan(math.atan(mu) - HALF)
    assert float(found.withdraw_n_per_mm[0]) / held(mu) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(("mu", "locks"), [(0.2216, False), (0.2218, True), (0.15, False), (0.40, True)])
def test_self_locking_limit(mu: float, locks: bool) -> None:
    """tan 12.5 = 0.2217: above it the wedge stays in the split by itself."""
    found, _ = driven(mu)
    assert (float(found.withdraw_n_per_mm[0]) > 0) is locks
    assert (float(found.release_margin_deg[0]) < 0) is locks


@pytest.mark.parametrize(
    ("mu", "margin"),
    [
        (0.15, 3.97),  # 12.5 - atan 0.15 = 12.5 - 8.531
        (0.40, -9.30),  # 12.5 - 21.801
        (0.65, -20.52),  # 12.5 - 33.024
    ],
)
def test_release_margin(mu: float, margin: float) -> None:
    assert float(driven(mu)[0].release_margin_deg[0]) == pytest.approx(margin, abs=6e-3)


def test_without_friction() -> None:
    """P = 2 Q tan a (the handbook's first line): pushing in and being pushed out are the same force."""
    found, q = driven(0.0)
    assert float(found.withdraw_n_per_mm[0]) / held(0.0) == pytest.approx(
        -float(found.drive_n_per_mm[0]) / q, rel=1e-12
    )
    assert float(found.drive_n_per_mm[0]) / q == pytest.approx(2 * math.tan(HALF), rel=1e-9)


@pytest.mark.parametrize("mu", [0.15, 0.40])
def test_one_sided_wedge_is_half_a_wedge_and_a_guide(mu: float) -> None:
    """A flat face (a = 0) carries only friction: P = Q tan(a + phi) + Q tan phi."""
    chisel = Sides.of(np.array([[0, 0, 0], [200 * math.tan(HALF), 200, 0], [0, 200, 0]]))
    b = billet(mu)
    q = side_force_n_per_mm(b.half_opening_mm, b.length_mm, b.arm_mm, b.modulus_mpa)
    expected = math.tan(HALF + math.atan(mu)) + mu
    assert float(split(chisel, b).drive_n_per_mm[0]) / q == pytest.approx(expected, abs=1e-9)
