"""Soft contact wheels against the rubber modulus by hardness: A. N. Gent, 1958, and a Winkler layer worked by hand.

Source: Gent's relation between indentation hardness and Young's modulus; figures from memory: 40 Shore A about 1.7 MPa,
60 about 3.6 MPa, 70 about 5.5 MPa, as in tables of rubber springs (within 10 %). Bonded layers: Gent and Lindley's
E_a = E (1 + 2 k S^2) with the shape factor S, quoted in J. Mech. Eng. (Strojniski vestnik) 60 (2014) 506 (seen), k =
0.54 for filled rubber of 65 Shore A (seen, quoted from tables for designing with rubber).
"""

from __future__ import annotations

import numpy as np
import pytest

from recommender.mechanics.contact_wheel import (
    BELT_WIDTH_MM,
    HAND_FORCE_N,
    TREAD_MM,
    bonded_modulus_mpa,
    cut_diameter_mm,
    rubber_modulus_mpa,
)


@pytest.mark.parametrize(("shore", "mpa"), [(40, 1.7), (60, 3.6), (70, 5.5)])
def test_modulus_by_hardness(shore: float, mpa: float) -> None:
    assert float(rubber_modulus_mpa(shore)) == pytest.approx(mpa, rel=0.1)


def test_sagitta_by_hand() -> None:
    """250 mm wheel, chord 20 mm, 30 N, 12 mm of rubber of 3.605 MPa under 50 mm of belt.

    Shape factor 20 x 50/(2 x 12 x 70) = 0.5952, so bonded it has 3.605 (1 + 1.08 x 0.3543) = 4.985 MPa. Hard sagitta
    20^2/1000 = 0.4 mm; pressure 30/(20 x 50) = 0.03 MPa; the layer gives 0.03 x 12/4.985 = 0.0722 mm; left 0.3278 mm,
    as of a wheel of 400/(4 x 0.3278) = 305.1 mm. Free rubber gave 333.2 mm.
    """
    assert (HAND_FORCE_N, TREAD_MM, BELT_WIDTH_MM) == (30.0, 12.0, 50.0)
    assert float(cut_diameter_mm(250, 20, 60)) == pytest.approx(305.1, abs=0.1)


@pytest.mark.parametrize("length", [5.0, 20.0, 50.0])
def test_a_bonded_layer_is_stiffer_by_its_shape_factor(length: float) -> None:
    loaded, free = length * BELT_WIDTH_MM, 2 * TREAD_MM * (length + BELT_WIDTH_MM)
    stiffer = float(bonded_modulus_mpa(3.6, length)) / 3.6
    assert stiffer == pytest.approx(1 + 2 * 0.54 * (loaded / free) ** 2, rel=1e-12)
    assert 1 < stiffer < 1 + 2 * (loaded / free) ** 2  # unfilled rubber, the textbook's E (1 + 2 S^2)


def test_harder_rubber_and_less_force_come_nearer_the_wheel() -> None:
    by_hardness = cut_diameter_mm(250.0, 20.0, np.array([40.0, 60.0, 80.0, 94.0]))
    assert (np.diff(by_hardness) < 0).all()
    assert by_hardness[-1] == pytest.approx(250, rel=0.04)
    assert float(cut_diameter_mm(250, 20, 60, force_n=1e-9)) == pytest.approx(250)


def test_wide_hollows_feel_it_less() -> None:
    """Pressure falls with the chord and the sagitta grows with its square: wide hollows follow the wheel."""
    ratio = cut_diameter_mm(250.0, np.array([10.0, 20.0, 40.0]), 60.0) / 250
    assert (np.diff(ratio) < 0).all()
