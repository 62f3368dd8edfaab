"""A split as a double cantilever beam.

Source: beam theory of the double cantilever specimen (memory), re-derived here: strain energy of the arms by
quadrature of M^2 / 2EI, its loss per length of crack by numerical differentiation, at 30 digits. Straight wedges
by hand.
"""

from __future__ import annotations

import math

import mpmath
import numpy as np
import pytest
from mpmath import mp, mpf

from recommender.geometry.outline import Sides
from recommender.mechanics.splitting import (
    Billet,
    crack_ahead,
    crack_length_mm,
    side_force_n_per_mm,
    split,
)

SPECIMENS = [
    # half-opening mm, arm mm, E MPa, Gc N/mm
    (5.0, 30.0, 11000.0, 0.28),  # a billet of softwood
    (2.0, 10.0, 12200.0, 0.42),  # kindling of oak
    (0.4, 6.0, 5.0, 0.2),  # a slice of carrot
]


def end_force(w: mpf, c: mpf, h: mpf, e: mpf) -> mpf:
    """Force that bends a cantilever of length c by w at its end: w = int M m / EI over the arm, unit width."""
    per_newton = mpmath.quad(lambda x: x * x / (e * h**3 / 12), [0, c])
    return w / per_newton


def energy(w: mpf, c: mpf, h: mpf, e: mpf) -> mpf:
    """Strain energy of both arms: 2 x int (P x)^2 / 2EI."""
    p = end_force(w, c, h, e)
    return 2 * mpmath.quad(lambda x: (p * x) ** 2 / (2 * e * h**3 / 12), [0, c])


@pytest.mark.parametrize(("w", "h", "e", "gc"), SPECIMENS)
def test_crack_stops_where_it_releases_gc(w: float, h: float, e: float, gc: float) -> None:
    with mp.workdps(30):
        c = mpf(float(crack_length_mm(np.array(w), h, e, gc)))
        released = -mpmath.diff(lambda length: energy(mpf(w), length, mpf(h), mpf(e)), c)
    assert float(released) == pytest.approx(gc, rel=1e-9)


@pytest.mark.parametrize(("w", "h", "e", "gc"), SPECIMENS)
def test_side_force(w: float, h: float, e: float, gc: float) -> None:
    c = float(crack_length_mm(np.array(w), h, e, gc))
    expected = float(end_force(mpf(w), mpf(c), mpf(h), mpf(e)))
    assert side_force_n_per_mm(w, c, h, e) == pytest.approx(expected, rel=1e-12)


def test_by_hand() -> None:
    """E 12000, h 20, Gc 0.3, w 2.5: 3 x 12000 x 8000 x 6.25 / 1.2 = 1.5e9; fourth root 196.8 mm."""
    assert float(crack_length_mm(np.array(2.5), 20.0, 12000.0, 0.3)) == pytest.approx(196.8, abs=0.05)


@pytest.mark.parametrize("length", [120.0, 250.0, 400.0])
def test_opening_that_splits_a_billet(length: float) -> None:
    """The opening of a billet is the one whose crack has run its length: the formula turned round."""
    billet = Billet(length_mm=length, arm_mm=30.0, modulus_mpa=11000.0, gc_n_per_mm=0.28, friction=0.4)
    with mp.workdps(30):
        w = mpf(billet.half_opening_mm)
        released = -mpmath.diff(lambda c: energy(w, c, mpf(billet.arm_mm), mpf(billet.modulus_mpa)), mpf(length))
    assert float(released) == pytest.approx(0.28, rel=1e-9)


@pytest.mark.parametrize("degrees", [3.0, 8.0, 15.0])
def test_depth_of_a_straight_wedge(degrees: float) -> None:
    """It touches at the mouth where it is 2 w thick: depth w / tan a, with w = sqrt(4 Gc L^4 / 3 E h^3).

    4 x 0.28 x 250^4 / (3 x 11000 x 27000) = 4.375e9 / 8.91e8 = 4.9102; its root 2.2159.
    """
    tan = math.tan(math.radians(degrees))
    wedge = Sides.of(np.array([[0, 0, 0], [100 * tan, 100, 0], [-100 * tan, 100, 0]]))
    billet = Billet(length_mm=250.0, arm_mm=30.0, modulus_mpa=11000.0, gc_n_per_mm=0.28, friction=0.4)
    assert float(split(wedge, billet).depth_mm[0]) == pytest.approx(2.2159 / tan, rel=5e-5)


def test_too_thin_to_split() -> None:
    """A blade 4 mm thick cannot open 2 x 2.2159 mm."""
    blade = Sides.of(np.array([[0, 0, 0], [2.0, 40, 0], [-2.0, 40, 0]]))
    billet = Billet(length_mm=250.0, arm_mm=30.0, modulus_mpa=11000.0, gc_n_per_mm=0.28, friction=0.4)
    found = split(blade, billet)
    assert np.isnan([found.depth_mm[0], found.drive_n_per_mm[0], found.release_margin_deg[0]]).all()


@pytest.mark.parametrize("degrees", [2.0, 5.0, 12.0])
def test_crack_ahead_of_a_straight_wedge(degrees: float) -> None:
    """c grows with sqrt(w), so c / y is greatest where the slice is as deep as it is thick: y = h, w = h tan a."""
    h, e, gc, tan = 10.0, 5.0, 0.2, math.tan(math.radians(degrees))
    wedge = Sides.of(np.array([[0, 0, 0], [60 * tan, 60, 0], [-60 * tan, 60, 0]]))
    expected = (3 * e * h**3 * (h * tan) ** 2 / (4 * gc)) ** 0.25 / h
    assert float(crack_ahead(wedge, 40.0, h, e, gc)[0]) == pytest.approx(expected, rel=1e-12)
