"""Blades of one's own: the proposal tried as it is says what the answer says; limits and refusals are named."""

from __future__ import annotations

import math

import pytest

from recommender.models.answer.proposal import Proposal
from recommender.models.brief import Brief
from recommender.service import Service, with_settings

SETTINGS = ["tasks.food-prep=1"]


@pytest.fixture(scope="module")
def brief() -> Brief:
    return with_settings(Brief(), SETTINGS)


@pytest.fixture
def proposal(ask) -> Proposal:
    found = ask(*SETTINGS).proposal
    assert found is not None
    return found


def test_the_proposal_and_the_alternatives_weigh_what_the_answer_says(service: Service, brief, ask) -> None:
    answer = ask(*SETTINGS)
    weighed = service.briefs.weigh(brief, answer.proposal)
    assert weighed.points == answer.points
    assert weighed.broken == ()
    assert weighed.blade == answer.blade
    assert {k: m.value for k, m in weighed.metrics.items()} == {k: m.value for k, m in answer.metrics.items()}
    assert weighed.reasons == answer.reasons
    for other in answer.alternatives:
        if other.proposal is not None:
            assert service.briefs.weigh(brief, other.proposal).points.total == other.points


def test_every_knob_moves_and_stays_within_its_range(service: Service, brief, ask) -> None:
    answer = ask(*SETTINGS)
    for start in [answer.proposal, *(a.proposal for a in answer.alternatives if a.proposal)]:
        for knob in service.briefs.knobs(brief, start, start):
            assert knob.value == knob.proposed
            if knob.choices:
                assert knob.value is None or knob.value in knob.choices
                continue
            assert knob.low - 1e-9 <= knob.value <= knob.high + 1e-9, (start.grind, knob)
            to = knob.value + knob.step if knob.value + knob.step <= knob.high else knob.value - knob.step
            moved = service.briefs.changed(brief, start, {knob.name: to})
            assert next(
                k for k in service.briefs.knobs(brief, moved, start) if k.name == knob.name
            ).value == pytest.approx(to)
            assert moved.grind == start.grind


def test_thicker_behind_the_edge_costs_cutting_and_buys_strength(service: Service, brief, proposal) -> None:
    """Cutting force rises and edge strength does not fall with thickness at the shoulder (common practice)."""
    thick = service.briefs.weigh(brief, service.briefs.changed(brief, proposal, {"edge_thickness_mm": 0.8}))
    plain = service.briefs.weigh(brief, proposal)
    assert thick.metrics["cut_force"].value > plain.metrics["cut_force"].value
    assert thick.metrics["edge_strength"].value >= plain.metrics["edge_strength"].value
    assert thick.points.total < plain.points.total, "the proposal is the better of the two for this brief"


def test_a_scandis_line_follows_its_angle_and_bar(service: Service, brief, ask) -> None:
    """line = stock / (2 tan a), closed form."""
    start = next(a.proposal for a in ask(*SETTINGS).alternatives if a.grind == "scandi")
    moved = service.briefs.changed(brief, start, {"micro_bevel": "no", "edge_angle_per_side_deg": 12.0})
    assert moved.grind_line_mm == pytest.approx(moved.stock_thickness_mm / 2 / math.tan(math.radians(12)), abs=1e-3)
    assert moved.edge_angle_included_deg == 24


def test_what_cannot_be_ground_says_why(service: Service, brief, ask) -> None:
    hollow = next(a.proposal for a in ask(*SETTINGS).alternatives if a.grind == "saber-hollow")
    small = service.briefs.weigh(
        brief,
        service.briefs.changed(brief, hollow, {"wheel_diameter_mm": 50.0, "grind_line_mm": hollow.blade_height_mm - 2}),
    )
    assert small.points is None
    assert small.metrics == {}
    assert any("wheel" in words and "at least" in words for words in small.refused)
    steep = service.briefs.weigh(
        brief, service.briefs.changed(brief, hollow, {"stock_thickness_mm": 12.0, "edge_angle_per_side_deg": 8.0})
    )
    assert steep.refused


def test_a_broken_limit_is_named_with_both_numbers(service: Service, brief, proposal) -> None:
    broken = service.briefs.weigh(brief, service.briefs.changed(brief, proposal, {"edge_thickness_mm": 1.5})).broken
    assert broken
    for limit in broken:
        assert limit.rule in service.knowledge.rules
        assert "must be at" in limit.text or "does not get there" in limit.text


def test_a_taper_that_leaves_nothing_is_refused(service: Service, ask) -> None:
    settings = [
        "blade.distal_taper_mm_per_mm=0.01",
        "blade.length_mm=100",
        "blade.stock_thickness_mm=3",
        "wishes.grind=full-flat",
    ]
    brief = with_settings(Brief(), settings)
    start = ask(*settings).proposal
    weighed = service.briefs.weigh(
        brief, service.briefs.changed(brief, start, {"stock_thickness_mm": 1.0, "edge_thickness_mm": 0.2})
    )
    assert weighed.refused == ("the distal taper leaves no stock at the tip",)
