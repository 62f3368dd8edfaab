"""A split as a double cantilever beam.

Source: beam theory of the double cantilever specimen (memory), re-derived here: strain energy of the arms by
quadrature of M^2 / 2EI, its loss per length of crack by numerical differentiation, at 30 digits. Straight wedges
by hand. Arms that turn at their roots: against plane elasticity, isotropic (Gross and Srawley, NASA TN D-3295, 1966)
and orthotropic (Bao, Ho, Suo and Fan, Int. J. Solids Struct. 29 (1992) 1105), both from memory.
"""

from __future__ import annotations

import math

import mpmath
import numpy as np
import pytest
from mpmath import mp, mpf

from recommender.geometry.outline import Sides
from recommender.mechanics.splitting import (
    HELD_SHARE,
    Billet,
    crack_ahead,
    crack_length_mm,
    root_turn,
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


@pytest.mark.parametrize("root", [0.7, 1.5])
@pytest.mark.parametrize(("w", "h", "e", "gc"), SPECIMENS[:2])
def test_arms_act_longer_by_the_turn_of_their_roots(w: float, h: float, e: float, gc: float, root: float) -> None:
    """The same energy balance with arms of c + chi h: it still releases Gc, with a lower side force."""
    c = float(crack_length_mm(np.array(w), h, e, gc, root))
    with mp.workdps(30):
        acts = mpf(c) + mpf(root) * mpf(h)
        released = -mpmath.diff(lambda length: energy(mpf(w), length, mpf(h), mpf(e)), acts)
        force = end_force(mpf(w), acts, mpf(h), mpf(e))
    assert float(released) == pytest.approx(gc, rel=1e-9)
    assert side_force_n_per_mm(w, c, h, e, root) == pytest.approx(float(force), rel=1e-12)


def test_root_of_an_isotropic_arm() -> None:
    """Plane elasticity: K = P/h^1.5 (3.46 c + 2.38 h), so chi = 2.38 / 3.46 = 0.688; E/G = 2.6 at nu 0.3."""
    assert float(root_turn(2.6, 1.0)) == pytest.approx(2.38 / 3.46, rel=0.05)


@pytest.mark.parametrize(
    ("shear", "across", "nu"),
    [
        (15.6, 0.068, 0.29),  # Douglas-fir, ER/EL 0.068, GLR/EL 0.064 (Wood Handbook table 5-1, memory)
        (15.6, 0.078, 0.37),  # Sitka spruce
        (9.17, 0.125, 0.37),  # white ash
        (11.2, 0.154, 0.35),  # northern red oak
    ],
)
def test_root_of_a_wooden_arm(shear: float, across: float, nu: float) -> None:
    """Plane elasticity of an orthotropic arm: chi = Y lambda^-1/4, Y = 0.677 + 0.149 (rho - 1) - 0.013 (rho - 1)^2.

    lambda = E_across/E_along, rho = sqrt(E E_across)/(2 G) - sqrt(nu nu'); good for 1 %. Both formulas are fits to
    elasticity: 5 % apart at most.
    """
    rho = shear * math.sqrt(across) / 2 - nu * math.sqrt(across)
    y = 0.677 + 0.149 * (rho - 1) - 0.013 * (rho - 1) ** 2
    assert float(root_turn(shear, across)) == pytest.approx(y * across**-0.25, rel=0.05)


def test_roots_that_turn_open_a_billet_wider_for_less_force() -> None:
    """Douglas-fir at c/h = 200/30: (1 + 1.52 x 30/200)^2 = 1.508 times the opening, 1 / 1.228 = 0.814 of the force."""
    stiff, soft = (Billet(200.0, 30.0, 11000.0, 0.28, 0.4, root) for root in (0.0, root_turn(15.6, 0.068)))
    assert soft.half_opening_mm / stiff.half_opening_mm == pytest.approx(1.508, abs=2e-3)
    forces = [side_force_n_per_mm(b.half_opening_mm, 200.0, 30.0, 11000.0, b.root) for b in (stiff, soft)]
    assert forces[1] / forces[0] == pytest.approx(0.814, abs=1e-3)


def test_release_is_asked_where_the_split_still_holds() -> None:
    """Below 3 mm steep, above slim: the split run half way touches the steep part, the one that parts the billet not.

    Chi 0: w(L) = 2.2159 for L = 250 as below; half the length needs a quarter of it, 2w = 1.108, at 3 mm 2 x 1.5.
    """
    blade = Sides.of(np.array([[0, 0, 0], [1.5, 3, 0], [4, 60, 0], [-4, 60, 0], [-1.5, 3, 0]]))
    billet = Billet(length_mm=250.0, arm_mm=30.0, modulus_mpa=11000.0, gc_n_per_mm=0.28, friction=0.4)
    found = split(blade, billet)
    assert HELD_SHARE == 0.5
    steep, phi = math.atan(0.5), math.atan(0.4)
    assert float(found.release_margin_deg[0]) == pytest.approx(math.degrees(steep - phi), rel=1e-9)
    held = side_force_n_per_mm(2.2159 / 4, 125.0, 30.0, 11000.0)
    assert float(found.withdraw_n_per_mm[0]) == pytest.approx(2 * held * math.tan(phi - steep), rel=1e-4)
    slim = math.atan(2.5 / 57)
    drive = 2 * side_force_n_per_mm(2.2159, 250.0, 30.0, 11000.0) * math.tan(slim + phi)
    assert float(found.drive_n_per_mm[0]) == pytest.approx(drive, rel=1e-4)


def test_no_crack_is_told_where_the_roots_take_up_the_opening() -> None:
    """A slice 10 mm thick opened by 0.1 mm: the arms act 7.5 mm long, less than 0.7 x 10 + any crack of note."""
    acts = (3 * 5.0 * 1000 * 0.05**2 / (4 * 0.2)) ** 0.25
    c = float(crack_length_mm(np.array(0.05), 10.0, 5.0, 0.2, 0.7))
    assert acts < 7.0
    assert c == 0.0


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


def test_a_thinner_blade_follows_the_split() -> None:
    """4 mm do not open 2 x 2.2159: its spine holds c = (3 x 11000 x 27000 x 4 / 1.12)^(1/4) = 237.5 mm of 250.

    So it is driven 40 + 250 - 237.5 = 52.5 mm, its faces (2/40) rubbing on arms that act as long as the crack.
    """
    blade = Sides.of(np.array([[0, 0, 0], [2.0, 40, 0], [-2.0, 40, 0]]))
    billet = Billet(length_mm=250.0, arm_mm=30.0, modulus_mpa=11000.0, gc_n_per_mm=0.28, friction=0.4)
    found = split(blade, billet)
    assert float(found.depth_mm[0]) == pytest.approx(52.5, abs=0.05)
    force = side_force_n_per_mm(2.0, 237.5, 30.0, 11000.0)
    drive = 2 * force * math.tan(math.atan(0.05) + math.atan(0.4))
    assert float(found.drive_n_per_mm[0]) == pytest.approx(drive, rel=1e-3)


def test_too_thin_to_split() -> None:
    """0.2 mm hold (3 x 11000 x 27000 x 0.01 / 1.12)^(1/4) = 53.1 mm open, less than two arms: nothing said."""
    blade = Sides.of(np.array([[0, 0, 0], [0.1, 40, 0], [-0.1, 40, 0]]))
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
