"""Bench grinders: the work rest stands within 1/8 in of the wheel.

Source: 29 CFR 1910.215(a)(4) (seen): "work rests shall be kept adjusted closely to the wheel with a maximum opening of
one-eighth inch". 1/8 in = 3.175 mm, which the caution rounds down to 3 mm.
"""

from __future__ import annotations

from recommender.drawing.text.workshop.worksheet_text import worksheet_text
from recommender.models.brief import Brief
from recommender.service import Service, with_settings


def test_the_caution_states_the_gap_and_its_source() -> None:
    rule = Service(strict=True).knowledge.rules["grinding-bench-wheel"].rule
    assert "3 mm (1/8 in)" in rule.effect.text
    assert "1910.215(a)(4)" in rule.basis.citation
    assert 3.0 <= 25.4 / 8


def test_a_maker_gets_it() -> None:
    answer = Service(strict=True).recommend(with_settings(Brief(), ["workshop.wheels_mm=50,200"]), flips=False)
    assert "grinding-bench-wheel" in {c.id for c in answer.cautions}


def test_it_stands_on_the_set_up_sheet(service, answered, shop) -> None:
    scenario = answered["wheels-only-skinner"]
    sheet = service.workshop.worksheet(scenario.brief, scenario.answer, shop)
    for width in (40, 80):
        told = " ".join(worksheet_text(sheet, width=width).split())
        assert "keep guards on and the work rest within 3 mm (1/8 in) of the wheel" in told
