"""What every rule says of an answer: the rules that the answer names have fired, the traces agree with the states."""

from __future__ import annotations

import pytest

from recommender.models.brief import Brief
from recommender.service import Service, with_settings

BRIEFS = [[], ["tasks.wood-splitting=1"], ["tasks.food-prep=3", "tasks.prying=1", "wishes.grind=saber-hollow"]]


@pytest.mark.parametrize("settings", BRIEFS, ids=str)
def test_rules_named_in_the_answer_have_fired(service: Service, ask, settings: list[str]) -> None:
    answer = ask(*settings)
    found = {r.loaded.rule.id: r for r in service.briefs.rule_traces(with_settings(Brief(), settings), answer)}
    assert set(found) == set(service.knowledge.rules)
    told = {w.id for w in [*answer.cautions, *answer.advice] if w.in_draws is None}
    named = {r.rule for r in answer.reasons} | told
    assert named
    assert all(found[rule].state == "fired" for rule in named)
    words = {k for k, r in found.items() if r.loaded.rule.kind in ("caution", "advice") and r.state == "fired"}
    assert words == told


@pytest.mark.parametrize("settings", BRIEFS, ids=str)
def test_the_first_line_of_a_trace_decides_the_state(service: Service, ask, settings: list[str]) -> None:
    for ruling in service.briefs.rule_traces(with_settings(Brief(), settings), ask(*settings)):
        first = ruling.tested[0]
        if ruling.state == "silent":
            assert first.held is False, ruling.loaded.rule.id
        if ruling.state == "fired":
            assert first.held is True, ruling.loaded.rule.id
        for line in ruling.tested:
            assert line.held is not None or line.found in ("", "not known here")


def test_a_fact_that_is_not_there_blocks(service: Service, ask) -> None:
    """Without a given bar nothing can be said of how far it is over the usual one."""
    rulings = {r.loaded.rule.id: r for r in service.briefs.rule_traces(Brief(), ask())}
    assert rulings["fit-thick-stock"].state == "blocked"
    settings = ["blade.stock_thickness_mm=9"]
    again = {r.loaded.rule.id: r for r in service.briefs.rule_traces(with_settings(Brief(), settings), ask(*settings))}
    assert again["fit-thick-stock"].state == "fired"


def test_where_nothing_fits_the_brief_still_speaks(service: Service, ask) -> None:
    settings = ["wishes.grind=full-hollow", "blade.height_mm=50", "workshop.wheels_mm=50"]
    answer = ask(*settings)
    assert answer.proposal is None
    rulings = service.briefs.rule_traces(with_settings(Brief(), settings), answer)
    states = {r.state for r in rulings}
    assert states == {"fired", "silent", "blocked"}
