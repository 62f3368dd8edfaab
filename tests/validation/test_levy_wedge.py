"""A wedge pressed on one flank, and what is struck by it: Levy's solution and an energy balance.

Source: M. Levy's wedge under uniform pressure, as in Timoshenko and Goodier, Theory of Elasticity (memory). Not taken
from there but derived anew: the stress function r^2 f(theta), f = A cos 2t + B sin 2t + C t + D, has sigma_r =
2 f + f'', sigma_theta = 2 f, tau = -f'; four conditions on the two flanks give A to D.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from recommender.mechanics.hard_contact import (
    CRUSHING_OVER_YIELD,
    Struck,
    chance_between_sharpenings,
    damage,
    flank_stress_factor,
    struck_depth_mm,
)


def _levy(half_angle: float, right: float, left: float, drag: float):
    """sigma_r and tau over theta of a wedge with pressures on its flanks and friction along both towards the spine."""
    b = half_angle
    rows = [[2 * math.cos(2 * b), 2 * s * math.sin(2 * b), 2 * s * b, 2.0] for s in (1, -1)]
    rows += [[2 * s * math.sin(2 * b), -2 * math.cos(2 * b), -1.0, 0.0] for s in (1, -1)]  # tau = -f'
    a, b2, c, d = np.linalg.solve(rows, [-right, -left, drag, -drag])

    def radial(t: float) -> float:
        return float(-2 * a * math.cos(2 * t) - 2 * b2 * math.sin(2 * t) + 2 * c * t + 2 * d)

    def shear(t: float) -> float:
        return float(2 * a * math.sin(2 * t) - 2 * b2 * math.cos(2 * t) - c)

    return radial, shear


@pytest.mark.parametrize("degrees", [5.0, 12.0, 20.0, 35.0])
def test_the_derivation_is_in_equilibrium(degrees: float) -> None:
    """Stress on the arc r = 1 holds the pressure q on the right flank: forces q cos b, q sin b and the moment q/2."""
    b = math.radians(degrees)
    radial, shear = _levy(b, right=1.0, left=0.0, drag=0.0)
    across = quad(lambda t: radial(t) * math.sin(t) + shear(t) * math.cos(t), -b, b)[0]
    along = quad(lambda t: radial(t) * math.cos(t) - shear(t) * math.sin(t), -b, b)[0]
    moment = quad(shear, -b, b)[0]
    assert across == pytest.approx(math.cos(b), rel=1e-9)
    assert along == pytest.approx(-math.sin(b), rel=1e-9)
    assert moment == pytest.approx(0.5, rel=1e-9)


@pytest.mark.parametrize("degrees", [5.0, 12.0, 20.0, 35.0])
def test_flank_stresses(degrees: float) -> None:
    """q (K - 1/2) in tension on the pressed flank, q (K + 1/2) in compression on the other."""
    b = math.radians(degrees)
    radial, _ = _levy(b, right=1.0, left=0.0, drag=0.0)
    factor = float(flank_stress_factor(b))
    assert radial(b) == pytest.approx(factor - 0.5, rel=1e-9)
    assert radial(-b) == pytest.approx(-(factor + 0.5), rel=1e-9)


def test_thin_wedges_are_beams() -> None:
    """Cantilever with q over r: moment q r^2/2, modulus (2 r tan b)^2/6, so 3 q/(4 tan^2 b)."""
    b = math.radians(2.0)
    assert float(flank_stress_factor(b)) == pytest.approx(0.75 / math.tan(b) ** 2, rel=0.002)


@pytest.mark.parametrize("degrees", [10.0, 18.0, 30.0])
def test_where_it_begins_to_roll_is_where_the_wedge_yields(degrees: float) -> None:
    """p and (1 - s) p on the flanks with friction: the steel that just bears sigma_theta - sigma_r rolls nowhere.

    Friction of each flank is put on both in the mean, which changes nothing that is symmetric.
    """
    b, p, share, mu = math.radians(degrees), 300.0, 0.6, 0.25
    radial, _ = _levy(b, right=p, left=(1 - share) * p, drag=mu * p * (1 - share / 2))
    other = -(1 - share) * p - radial(-b)  # sigma_theta - sigma_r on the flank that bears less
    struck = Struck(p, mu, share, energy_n_mm=50.0, contact_mm=5.0, hand_n_per_mm=20.0)
    for strength, rolls in ((other * 1.001, False), (other * 0.999, True)):
        if p >= CRUSHING_OVER_YIELD * strength:
            pytest.skip("harder than the edge")
        done = damage(b, struck, strength, lambda t: np.full_like(t, 1e9))
        assert (float(done.rolled_mm) > 0) == rolls
        assert float(done.chipped_mm) == 0


@pytest.mark.parametrize("degrees", [10.0, 18.0])
def test_where_it_begins_to_chip_is_where_the_flank_is_pulled_apart(degrees: float) -> None:
    """Tension of the flank that bears more, by the derivation."""
    b, p, share, mu = math.radians(degrees), 300.0, 0.9, 0.1
    radial, _ = _levy(b, right=p, left=(1 - share) * p, drag=mu * p * (1 - share / 2))
    struck = Struck(p, mu, share, energy_n_mm=50.0, contact_mm=5.0, hand_n_per_mm=20.0)
    for strength, chips in ((radial(b) * 1.001, False), (radial(b) * 0.999, True)):
        done = damage(b, struck, 1e6, lambda t, strength=strength: np.full_like(t, strength))
        assert (float(done.chipped_mm) > 0) == chips


def test_energy_is_kept() -> None:
    """Work of the wedge, p (1 - s/2)(tan b + mu) d^2 a mm, and of the hand's spring, F^2 / 2k: 60 mJ in all."""
    b, struck = math.radians(16.0), Struck(340.0, 0.2, 0.5, energy_n_mm=60.0, contact_mm=2.0, hand_n_per_mm=20.0)
    d = float(struck_depth_mm(b, struck, 1700.0))
    mean = 340.0 * 0.75
    force = 2 * mean * (math.tan(b) + 0.2) * d * 2.0
    assert mean * (math.tan(b) + 0.2) * d**2 * 2.0 + force**2 / (2 * 20.0) == pytest.approx(60.0, rel=1e-9)


def test_above_what_is_pressed_the_section_grows_faster_than_the_moment() -> None:
    """Beam theory: q d (r - d/2) over (2 r tan b)^2 / 6 is at yield where the damage ends; thin wedge, no friction."""
    b, strength = math.radians(3.0), 1000.0
    struck = Struck(10.0, 0.0, 1.0, energy_n_mm=1.0, contact_mm=1.0, hand_n_per_mm=1e9)
    d = float(struck_depth_mm(b, struck, strength))
    r = float(damage(b, struck, strength, lambda t: np.full_like(t, 1e9)).rolled_mm)
    assert r > d
    stress = 10.0 * d * (r - d / 2) * 6 / (2 * r * math.tan(b)) ** 2
    assert stress == pytest.approx(strength, rel=0.01)


def test_what_is_harder_than_the_edge_crushes_it() -> None:
    """Twice as hard a stone does no more to it."""
    damaged = [
        float(damage(0.3, Struck(p, 0.2, 0.5, 20.0, 1.0, 20.0), 1700.0, lambda t: np.full_like(t, 1e9)).rolled_mm)
        for p in (3000.0, 6000.0)
    ]
    assert damaged[0] == damaged[1] > 0


def test_chance_to_meet_it() -> None:
    """Poisson with n = 1 and 3 (memory): 1 - 1/e = 0.632, 0.950."""
    assert chance_between_sharpenings([0.001, 0.003], 1000.0) == pytest.approx([0.632, 0.950], abs=5e-4)
