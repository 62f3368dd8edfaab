"""Every shipped scenario against what a maker expected before the engine existed.

Source of the expectations: common practice, written down in the .expected.toml files and committed before the engine.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from recommender.drawing.text.answer.summary_text import NEAR_POINTS
from recommender.models.answer.proposal import Answer
from recommender.service import Service, read_brief

SCENARIOS = Path(__file__).parents[3] / "scenarios"
EXPECTED = {p.name.removesuffix(".expected.toml"): p for p in sorted(SCENARIOS.glob("*.expected.toml"))}


def expectation(name: str) -> dict[str, Any]:
    return tomllib.loads(EXPECTED[name].read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def answers(scenarios) -> dict[str, Answer]:
    return {name: scenario.answer for name, scenario in scenarios.items()}


def test_every_brief_has_an_expectation() -> None:
    briefs = {p.stem for p in SCENARIOS.glob("*.toml") if not p.name.endswith(".expected.toml")}
    assert briefs == set(EXPECTED)
    assert len(briefs) >= 16


@pytest.mark.parametrize("name", EXPECTED)
def test_a_maker_would_believe_the_grind(name: str, answers: dict[str, Answer]) -> None:
    expected, answer = expectation(name), answers[name]
    if expected["exit"] == 1:
        assert answer.proposal is None
    else:
        assert answer.proposal is not None
        assert answer.proposal.grind in expected["grinds"]


@pytest.mark.parametrize("name", [n for n in EXPECTED if expectation(n)["exit"] == 0])
def test_a_maker_would_believe_the_dimensions(name: str, answers: dict[str, Answer]) -> None:
    proposal = answers[name].proposal
    assert proposal is not None
    for key, bound in expectation(name).get("bounds", {}).items():
        value = getattr(proposal, key)
        if key == "side":
            assert value in bound
        else:
            low, high = bound
            assert low - 1e-9 <= value <= high + 1e-9, (key, value, bound)


@pytest.mark.parametrize("name", EXPECTED)
def test_the_cautions_a_maker_would_give(name: str, answers: dict[str, Answer]) -> None:
    topics = {word.id.split("-")[0] for word in answers[name].cautions}
    assert set(expectation(name).get("cautions", {}).get("about", [])) <= topics


@pytest.mark.parametrize("name", [n for n in EXPECTED if expectation(n)["exit"] == 1])
def test_nothing_fits_says_what_blocks_and_what_would_help(name: str, answers: dict[str, Answer]) -> None:
    answer = answers[name]
    assert answer.blocked
    assert answer.relaxations
    assert answer.brief.wishes.grind is not None, "the wish stands in the answer as it was given"


def test_every_task_is_asked_somewhere(service: Service) -> None:
    asked: set[str] = set()
    for name in EXPECTED:
        brief = read_brief((SCENARIOS / f"{name}.toml").read_bytes(), name)
        asked |= set(brief.tasks)
    assert asked == set(service.knowledge.tasks)


def test_every_grind_wins_somewhere_without_a_wish_or_comes_close(service: Service, answers: dict[str, Answer]) -> None:
    unwished = [a for a in answers.values() if a.proposal and a.brief.wishes.grind is None]
    others = [other for a in unwished for other in a.alternatives if other.behind is not None]
    close = {other.grind for other in others if other.behind <= NEAR_POINTS}
    assert {a.proposal.grind for a in unwished if a.proposal} | close == set(service.grinds)


@pytest.mark.parametrize("name", EXPECTED)
def test_thousands_of_candidates_and_shop_steps(name: str, answers: dict[str, Answer]) -> None:
    answer = answers[name]
    made, tried = answer.provenance.made, answer.provenance.candidates
    assert made >= 20_000 or tried >= 60_000, "where a workshop shuts most out, three times as many are tried"
    assert answer.provenance.failed == []
    p = answer.proposal
    if p is None:
        return
    wishes, blade = answer.brief.wishes, answer.brief.blade
    if wishes.edge_angle_per_side_deg is None:
        assert (p.edge_angle_per_side_deg / 0.5) % 1 == pytest.approx(0, abs=1e-6)
    if p.edge_thickness_mm and wishes.edge_thickness_mm is None:
        assert (p.edge_thickness_mm / 0.05 + 1e-9) % 1 == pytest.approx(0, abs=1e-6)
    if blade.stock_thickness_mm is None:
        assert (p.stock_thickness_mm / 0.5) % 1 == pytest.approx(0, abs=1e-6)
