"""The elastic wedge loaded at its apex: the radial-stress solution of Timoshenko and Goodier, Theory of Elasticity.

Source: the axially loaded wedge seen (Wikiversity, "Introduction to Elasticity", axially loaded wedge: the same family
of solutions, terms in 2b - sin 2b and 2b + sin 2b), the transverse formula from memory and re-derived here by
quadrature of the force balance. Half-angle 15 degrees, 1 N/mm across, 1 mm from the apex: 21.93 MPa, beam theory
20.89 (mechanics.md section 3). The axial figure, 19.54 MPa for 10 N/mm, has no counterpart in the code.
"""

from __future__ import annotations

import math

import mpmath
import pytest

from recommender.mechanics.strength import APEX_HEIGHT_MM, least_half_angle_rad, wedge_apex_strength

B15 = math.radians(15)


def test_printed_stress() -> None:
    """Stress falls as 1/r: 21.93 MPa at 1 mm is 21.93 / r at r; there 1 N/mm is what the apex bears."""
    stress = 21.93 * 1.0 / APEX_HEIGHT_MM
    # 21.93 has four digits.
    assert float(wedge_apex_strength(stress, B15)) == pytest.approx(1.0, rel=3e-4)


@pytest.mark.parametrize("degrees", [2.0, 5.0, 10.0, 15.0, 20.0, 30.0, 45.0])
def test_force_balance(degrees: float) -> None:
    """Radial stress A sin(t) / r carries the load: F = int A sin^2(t) dt over the wedge; on the flank A sin(b) / r."""
    b = mpmath.radians(degrees)
    flank = mpmath.mpf(1000)
    amplitude = flank * APEX_HEIGHT_MM / mpmath.sin(b)
    load = mpmath.quad(lambda t: amplitude * mpmath.sin(t) ** 2, [-b, 0, b])
    assert float(wedge_apex_strength(1000.0, math.radians(degrees))) == pytest.approx(float(load), rel=1e-9)


@pytest.mark.parametrize("degrees", [1.0, 3.0, 6.0])
def test_thin_wedges_are_beams(degrees: float) -> None:
    """sigma t^2 / 6 y with t = 2 y tan b: 2 sigma y tan^2(b) / 3. The exact solution bears less, by order b^2."""
    b = math.radians(degrees)
    beam = 1000 * 2 * APEX_HEIGHT_MM * math.tan(b) ** 2 / 3
    found = float(wedge_apex_strength(1000.0, b))
    assert beam * (1 - b * b) < found < beam


def test_beam_theory_at_15_degrees() -> None:
    """20.89 MPa by beam theory against 21.93: the wedge bears 20.89 / 21.93 of the beam's load."""
    beam = 1000 * 2 * APEX_HEIGHT_MM * math.tan(B15) ** 2 / 3
    assert float(wedge_apex_strength(1000.0, B15)) / beam == pytest.approx(20.89 / 21.93, rel=5e-4)


def test_least_half_angle() -> None:
    """Turned round: a steel that fails at 438.6 MPa bears 1 N/mm, 50 um up, from 15 degrees a side."""
    assert math.degrees(least_half_angle_rad(438.6, 1.0)) == pytest.approx(15.0, abs=5e-3)
