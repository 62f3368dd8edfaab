"""A blade in an elastic foundation: pressure k x on each face, never above a plateau.

Source: Winkler's foundation (pressure proportional to displacement), closed forms worked here; for the straight wedge
k tan a (tan a + mu) D^2 (mechanics.md section 2). Curved faces by mpmath quadrature of the pressure over a profile
written out here, from the circle's equation.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import mpmath
import numpy as np
import pytest

from recommender.geometry.outline import Sides, one_sided, symmetric
from recommender.mechanics.cutting import FREE_FACE_SHARE, CutMaterial, cut_force, drift_force


def material(plateau: float, mu: float = 0.2) -> CutMaterial:
    return CutMaterial(toughness_n_per_mm=0.0, foundation_n_per_mm3=0.07, plateau_mpa=plateau, friction=mu)


def wedge(degrees: float) -> Sides:
    half = 100 * math.tan(math.radians(degrees))
    return Sides.of(np.array([[0, 0, 0], [half, 100, 0], [-half, 100, 0]]))


@pytest.mark.parametrize("mu", [0.0, 0.2, 0.65])
@pytest.mark.parametrize("degrees", [1.0, 5.0, 20.0])
@pytest.mark.parametrize("depth", [1.0, 30.0])
def test_straight_wedge(degrees: float, depth: float, mu: float) -> None:
    tan = math.tan(math.radians(degrees))
    expected = 0.07 * tan * (tan + mu) * depth**2
    force = cut_force(wedge(degrees), depth, material(1e6, mu))
    assert float(force.push[0]) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("degrees", [5.0, 20.0])
def test_straight_wedge_beyond_the_plateau(degrees: float) -> None:
    """Pressure grows to p at x = p/k, depth p/(k tan a), and stays: areas of a triangle and a rectangle a face."""
    k, p, mu, depth, tan = 0.07, 0.1, 0.2, 40.0, math.tan(math.radians(degrees))
    wide, onset = depth * tan, p / (k * tan)
    wedging = 2 * (p * p / (2 * k) + p * (wide - p / k))
    rubbing = 2 * mu * (p * onset / 2 + p * (depth - onset))
    force = cut_force(wedge(degrees), depth, material(p, mu))
    assert float(force.wedging[0]) == pytest.approx(wedging, rel=1e-12)
    assert float(force.rubbing[0]) == pytest.approx(rubbing, rel=1e-12)


def arc_face(radius: float) -> tuple[np.ndarray, Callable[[mpmath.mpf], mpmath.mpf]]:
    """A face over a bevel, from (0.2, 0.7) to (2, 30) an arc of signed radius (outwards positive), and its x(y)."""
    chord = math.hypot(1.8, 29.3)
    bulge = math.copysign(math.tan(math.asin(chord / 2 / abs(radius)) / 2), radius)
    face = np.array([[[0, 0, 0], [0.2, 0.7, bulge], [2.0, 30.0, 0.0], [2.0, 40.0, 0.0]]])
    r = mpmath.mpf(abs(radius))
    c = mpmath.hypot(mpmath.mpf("1.8"), mpmath.mpf("29.3"))
    reach = mpmath.sqrt(r * r - c * c / 4) * mpmath.sign(radius)
    # From the chord's middle against its outward normal (29.3, -1.8)/c for an outward arc, along it for a hollow.
    centre_x = mpmath.mpf("1.1") - reach * mpmath.mpf("29.3") / c
    centre_y = mpmath.mpf("15.35") + reach * mpmath.mpf("1.8") / c

    def x(y: mpmath.mpf) -> mpmath.mpf:
        if y <= mpmath.mpf("0.7"):
            return y * 2 / 7
        if y >= 30:
            return mpmath.mpf(2)
        return centre_x + mpmath.sign(radius) * mpmath.sqrt(r * r - (y - centre_y) ** 2)

    return face, x


@pytest.mark.parametrize("plateau", [1e6, 0.05])
@pytest.mark.parametrize("depth", [0.5, 12.0, 30.0, 38.0])
@pytest.mark.parametrize("radius", [-400.0, 300.0])
def test_curved_faces(radius: float, depth: float, plateau: float) -> None:
    face, x = arc_face(radius)
    k, mu = 0.07, 0.2

    def pressure(y: mpmath.mpf) -> mpmath.mpf:
        return min(k * x(y), mpmath.mpf(plateau))

    kinks = [0, min(0.7, depth), min(30.0, depth), depth]
    if k * x(mpmath.mpf(depth)) > plateau:  # where the pressure stops growing
        lowest, highest = mpmath.mpf(0), mpmath.mpf(depth)
        for _ in range(80):
            middle = (lowest + highest) / 2
            lowest, highest = (middle, highest) if k * x(middle) < plateau else (lowest, middle)
        kinks.append(lowest)
    ends = sorted({float(y) for y in kinks})
    pressed = 2 * mpmath.quad(pressure, ends)
    half = float(x(mpmath.mpf(depth)))
    capped = min(half, plateau / k)
    wedging = 2 * (k * capped**2 / 2 + plateau * (half - capped) if half > capped else k * half**2 / 2)
    force = cut_force(Sides.of(symmetric(face)), depth, material(plateau, mu))
    assert float(force.wedging[0]) == pytest.approx(wedging, rel=1e-9)
    assert float(force.rubbing[0]) == pytest.approx(mu * float(pressed), rel=1e-9)


SPRINGS = FREE_FACE_SHARE / (1 + FREE_FACE_SHARE)
"""Stiffness of bulk and free slice in a row over that of the bulk: 1 / (1 + 1/s)."""


@pytest.mark.parametrize("degrees", [5.0, 20.0])
def test_free_slice(degrees: float) -> None:
    """Bulk (stiffness 1) and slice (s) are springs in a row: both press k t s/(1 + s), t = 2 y tan a their openings."""
    tan = math.tan(math.radians(degrees))
    depth, mu = 30.0, 0.2
    wedging = mpmath.quad(lambda t: 0.07 * SPRINGS * t, [0, 2 * tan * depth])
    rubbing = mu * 2 * mpmath.quad(lambda y: 0.07 * SPRINGS * 2 * tan * y, [0, depth])
    force = cut_force(wedge(degrees), depth, material(1e6, mu), slice_is_free=True)
    assert float(force.wedging[0]) == pytest.approx(float(wedging), rel=1e-12)
    assert float(force.rubbing[0]) == pytest.approx(float(rubbing), rel=1e-12)


def test_free_slice_beyond_its_plateau() -> None:
    """The weaker spring, the slice, yields first: both then press s p."""
    k, p, depth, tan = 0.07, 0.05, 40.0, math.tan(math.radians(20.0))
    onset = FREE_FACE_SHARE * p / (k * SPRINGS)  # opening at which the slice yields, mm
    wedging = mpmath.quad(lambda t: min(k * SPRINGS * t, FREE_FACE_SHARE * p), [0, onset, 2 * tan * depth])
    force = cut_force(wedge(20.0), depth, material(p), slice_is_free=True)
    assert float(force.wedging[0]) == pytest.approx(float(wedging), rel=1e-9)


def chisel_x(y: mpmath.mpf) -> mpmath.mpf:
    """Bevel to 0.4 at 1.2, then a face to 3 at 40."""
    return y / 3 if y < 1.2 else mpmath.mpf("0.4") + (y - mpmath.mpf("1.2")) * mpmath.mpf("2.6") / mpmath.mpf("38.8")


@pytest.mark.parametrize("free", [False, True])
@pytest.mark.parametrize("plateau", [1e6, 0.15])
@pytest.mark.parametrize("depth", [5.0, 15.0, 35.0])
def test_one_model_of_a_bevelled_chisel(depth: float, plateau: float, free: bool) -> None:
    """Push, rubbing and drift are integrals of one pressure, min(k x, p) on the ground face alone, by quadrature."""
    section = Sides.of(one_sided(np.array([[[0, 0, 0], [0.4, 1.2, 0.0], [3.0, 40.0, 0.0]]])))
    k, mu, share = 0.07, 0.2, FREE_FACE_SHARE if free else 1.0
    cap = 1.2 + (plateau / k - 0.4) * 38.8 / 2.6  # height where the plateau is reached
    ends = sorted({0.0, 1.2, min(cap, depth), depth})
    pressed = share * mpmath.quad(lambda y: min(k * chisel_x(y), plateau), ends)
    wide = chisel_x(mpmath.mpf(depth))
    wedging = share * mpmath.quad(lambda x: min(k * x, plateau), sorted({0, min(plateau / k, wide), wide}))
    force = cut_force(section, depth, material(plateau, mu), slice_is_free=free)
    assert float(force.wedging[0]) == pytest.approx(float(wedging), rel=1e-9)
    assert float(force.rubbing[0]) == pytest.approx(mu * float(pressed), rel=1e-9)
    drift = float(drift_force(section, depth, material(plateau), slice_is_free=free)[0])
    assert drift == pytest.approx(-float(pressed), rel=1e-9)


@pytest.mark.parametrize("degrees", [10.0, 25.0])
def test_a_flat_back_pushed_straight_takes_twice_the_wedging(degrees: float) -> None:
    """One spring pressed aside by t stores k t^2/2, two by t/2 each k t^2/4."""
    tan, depth = math.tan(math.radians(degrees)), 4.0
    chisel = Sides.of(one_sided(np.array([[[0, 0, 0], [40 * tan, 40.0, 0.0]]])))
    even = Sides.of(np.array([[0, 0, 0], [20 * tan, 40, 0], [-20 * tan, 40, 0]]))
    pushes = [float(cut_force(s, depth, material(1e6, 0.0)).push[0]) for s in (chisel, even)]
    assert pushes[0] == pytest.approx(0.07 * (depth * tan) ** 2 / 2, rel=1e-12)
    assert pushes[0] == pytest.approx(2 * pushes[1], rel=1e-12)


@pytest.mark.parametrize("free", [False, True])
def test_faces_that_differ_a_little_press_as_faces_alike(free: bool) -> None:
    """No cliff between a section alike on both sides and one that is a thousandth aside."""
    even = wedge(10.0)
    half = 100 * math.tan(math.radians(10.0))
    aside = Sides.of(np.array([[0, 0, 0], [1.001 * half, 100, 0], [-0.999 * half, 100, 0]]))
    pushes = [float(cut_force(s, 30.0, material(0.1), slice_is_free=free).push[0]) for s in (even, aside)]
    assert pushes[1] == pytest.approx(pushes[0], rel=2e-3)


@pytest.mark.parametrize("left_ground", [False, True])
@pytest.mark.parametrize("depth", [5.0, 30.0])
def test_drift_of_a_pure_chisel(depth: float, left_ground: bool) -> None:
    """The ground face presses k x: sideways k tan(a) D^2 / 2, towards the flat face."""
    section = Sides.of(one_sided(np.array([[[0, 0, 0], [4.0, 40.0, 0.0]]]), left_ground))
    expected = 0.07 * 0.1 * depth**2 / 2
    found = float(drift_force(section, depth, material(1e6))[0])
    assert found == pytest.approx(expected if left_ground else -expected, rel=1e-12)


def test_symmetric_sections_do_not_drift() -> None:
    assert float(drift_force(wedge(7.0), 30.0, material(0.1))[0]) == pytest.approx(0.0, abs=1e-15)
