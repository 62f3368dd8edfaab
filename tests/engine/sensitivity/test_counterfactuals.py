"""What would flip an answer: checked against the engine's own full search under each change."""

from __future__ import annotations

from pathlib import Path

import pytest

from recommender.engine.answer.recommend import surveyed
from recommender.engine.intake.case import Case
from recommender.engine.search.ranking import TIE_POINTS, bests_of
from recommender.engine.sensitivity.counterfactuals import FLIP_POINTS
from recommender.engine.sensitivity.perturbations import perturbations
from recommender.models.answer.proposal import Answer
from recommender.models.brief import Brief
from recommender.service import Service, read_brief, with_settings

SCENARIOS = Path(__file__).resolve().parents[3] / "scenarios"
CLEAR_POINTS = 1.0
"""A lead this clear must be confirmed by the full search; the quick search resolves about half of it."""


def _scenario(service: Service, name: str) -> tuple[Case, Answer]:
    brief = read_brief((SCENARIOS / f"{name}.toml").read_bytes(), name)
    return service.briefs.case(brief), service.recommend(brief)


def _searched(case: Case, change: str, stock: float) -> dict[str, float]:
    """The points of each grind under a change, by the engine's own full search."""
    resolved = next(c.resolved for c in perturbations(case, stock) if c.words == change)
    changed = Case(resolved, case.knowledge, case.registry)
    return {b.grind.item.id: b.points for b in bests_of(surveyed(changed), changed)}


def _lead_of_others(points: dict[str, float], grind: str) -> float:
    return max(points.values()) - points[grind] if grind in points else float("inf")


@pytest.mark.parametrize("name", ["left-handed-hunter", "home-cook-pull-through", "wheels-only-skinner"])
def test_clear_flips_are_flips_to_the_full_search(service: Service, name: str) -> None:
    """Up to three of a kind, each with a lead nobody could miss, are searched in full."""
    case, answer = _scenario(service, name)
    assert answer.proposal is not None
    clear = [f for f in answer.flips if f.lead is None or f.lead > CLEAR_POINTS]
    chosen = [f for kind in {f.kind for f in clear} for f in [f for f in clear if f.kind == kind][:3]]
    assert chosen
    for flip in chosen:
        points = _searched(case, flip.words, answer.proposal.stock_thickness_mm)
        assert _lead_of_others(points, answer.proposal.grind) > TIE_POINTS, (flip.words, points)
        if flip.grind is None:
            assert not points, flip.words
        else:
            assert points[flip.grind] > max(points.values()) - CLEAR_POINTS, (flip.words, flip.grind, points)


@pytest.mark.parametrize("name", ["left-handed-hunter", "left-handed-spoon-carver"])
def test_changes_of_a_kind_that_holds_hold_to_the_full_search(service: Service, name: str) -> None:
    case, answer = _scenario(service, name)
    assert answer.proposal is not None
    stock = answer.proposal.stock_thickness_mm
    firm = {t.kind for t in answer.tried if t.held == t.tried}
    assert "hardness" in firm
    for change in [c for c in perturbations(case, stock) if c.kind == "hardness"]:
        lead = _lead_of_others(_searched(case, change.words, stock), answer.proposal.grind)
        assert lead <= FLIP_POINTS + CLEAR_POINTS / 2, (change.words, lead)


def test_every_flip_can_be_set(service: Service) -> None:
    """The settings printed are settings that a brief takes."""
    _, answer = _scenario(service, "left-handed-hunter")
    assert len(answer.flips) > 10
    for flip in answer.flips:
        service.briefs.resolve(with_settings(answer.brief, flip.settings))


def test_only_the_smallest_of_a_series_is_a_flip(service: Service) -> None:
    _, answer = _scenario(service, "left-handed-hunter")
    shares = [f.settings[-1].split("=")[0] for f in answer.flips if f.kind == "task"]
    assert len(shares) == len(set(shares))


def test_a_change_that_takes_the_grind_away_is_a_flip_without_a_lead(service: Service) -> None:
    """Common practice: a convex comes off a slack belt; without one it cannot be made."""
    settings = ["tasks.wood-splitting=1", "workshop.platen=no", "workshop.slack_belt=yes", "workshop.wheels_mm=250"]
    answer = service.recommend(with_settings(Brief(), settings))
    assert answer.proposal is not None
    assert answer.proposal.grind in ("convex", "saber-convex")
    (gone,) = [f for f in answer.flips if f.settings == ("workshop.slack_belt=no",)]
    assert gone.lead is None
    assert gone.grind not in (None, "convex", "saber-convex")


def test_a_wished_grind_cannot_be_flipped(service: Service) -> None:
    answer = service.recommend(with_settings(Brief(), ["tasks.food-prep=1", "wishes.grind=convex"]))
    assert answer.flips == ()
    assert answer.tried == ()


def test_what_was_tried_is_counted(service: Service) -> None:
    answer = service.recommend(with_settings(Brief(), ["tasks.food-prep=1"]))
    assert {t.kind for t in answer.tried} >= {"gear", "steel", "hardness", "task", "stock", "workshop"}
    for t in answer.tried:
        assert 0 <= t.held <= t.tried
        flips = [f for f in answer.flips if f.kind == t.kind]
        assert len(flips) <= t.tried - t.held


def test_flips_may_wait(service: Service) -> None:
    answer = service.recommend(Brief(), flips=False)
    assert answer.flips == ()
    assert answer.proposal is not None
