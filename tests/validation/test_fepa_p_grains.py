"""Grain sizes of coated abrasives.

Source: FEPA 43-1 and ISO 6344 (P grades); known: memory, but for the seven that `mechanics.md` marks as seen. Within
the macrogrits P12 to P220 neighbours stand in steps of about the tenth root of ten; finer ones are mean grain sizes.
"""

from __future__ import annotations

import itertools

import pytest

from recommender.mechanics.grit import FEPA_P_GRAIN_UM, left_for_next_um

SEEN = {"P12": 1815, "P24": 764, "P36": 538, "P40": 425, "P60": 269, "P80": 201, "P120": 125}
MEMORY = {"P16": 1324, "P20": 1000, "P30": 642, "P50": 336, "P100": 162, "P150": 100, "P180": 82, "P220": 68}
MEMORY |= {"P240": 58.5, "P280": 52.2, "P320": 46.2, "P360": 40.5, "P400": 35.0, "P500": 30.2, "P600": 25.8}
MEMORY |= {"P800": 21.8, "P1000": 18.3, "P1200": 15.3, "P1500": 12.6, "P2000": 10.3, "P2500": 8.4}


@pytest.mark.parametrize(("grade", "um"), (SEEN | MEMORY).items())
def test_grain_size(grade: str, um: float) -> None:
    assert FEPA_P_GRAIN_UM[grade] == um


def test_no_grade_beyond_the_series() -> None:
    assert set(FEPA_P_GRAIN_UM) == set(SEEN | MEMORY)


def test_higher_numbers_are_finer_and_leave_less() -> None:
    grades = sorted(FEPA_P_GRAIN_UM, key=lambda grade: int(grade[1:]))
    left = [left_for_next_um(grade) for grade in grades]
    assert all(coarse > fine for coarse, fine in itertools.pairwise(left))


def test_the_sheet_names_each_belt_with_its_grain(service, answered, shop) -> None:
    scenario = answered["camp-chopper-slack-belt"]
    passes = service.workshop.worksheet(scenario.brief, scenario.answer, shop).passes
    assert {p.grade for p in passes} == {grit.grade for grit in shop.grits}
    assert all(p.grain_um == (SEEN | MEMORY)[p.grade] for p in passes)
