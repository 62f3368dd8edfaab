"""Every shipped rule: its examples, its basis, and that the set is as large and as varied as promised."""

from __future__ import annotations

import collections
import typing

import pytest

from recommender.engine.audit.checks.single_rule import basis, examples
from recommender.models.knowledge.rule import KINDS, GoalEffect
from recommender.packs.knowledge import LoadedRule
from recommender.service import Service

KNOWLEDGE = Service(strict=True).knowledge
RULES = list(KNOWLEDGE.rules.values())


@pytest.mark.parametrize("loaded", RULES, ids=lambda r: r.rule.id)
def test_examples_do_what_they_say(loaded: LoadedRule) -> None:
    assert list(examples(loaded)) == []


@pytest.mark.parametrize("loaded", RULES, ids=lambda r: r.rule.id)
def test_the_basis_is_honest(loaded: LoadedRule) -> None:
    assert list(basis(loaded)) == []
    assert len(loaded.rule.because.split()) >= 5


def test_enough_rules_of_every_kind() -> None:
    kinds = collections.Counter(r.rule.kind for r in RULES)
    assert sum(kinds.values()) >= 60
    assert set(kinds) == set(KINDS)
    assert min(kinds.values()) >= 5


def test_titles_tell_rules_apart() -> None:
    titles = collections.Counter(r.rule.title for r in RULES)
    assert [t for t, n in titles.items() if n > 1] == []


def test_every_task_has_goals() -> None:
    named = frozenset().union(*(r.tasks for r in KNOWLEDGE.of_kind("goal")))
    assert named == set(KNOWLEDGE.tasks)


def test_goal_windows_run_the_way_the_metric_is_better(service: Service) -> None:
    for loaded in KNOWLEDGE.of_kind("goal"):
        effect = typing.cast(GoalEffect, loaded.rule.effect)
        better = service.registry.metrics[effect.metric].item.better
        if better != "either":
            assert (effect.to > effect.from_) is (better == "higher"), loaded.rule.id


def test_charter_ids_are_there() -> None:
    assert {
        "food-prep", "fine-slicing", "heavy-chopping", "fish-filleting", "game-dressing", "wood-carving",
        "wood-splitting", "brush-clearing", "prying", "strap-cutting", "cardboard-rope", "pocket-carry",
        "leather-paring",
    } <= set(KNOWLEDGE.tasks)  # fmt: skip
    assert {
        "none", "pull-through", "honing-steel", "ceramic-rod", "bench-stones", "guided-fixture", "strop",
        "belt-grinder", "service",
    } <= set(KNOWLEDGE.gear)  # fmt: skip
    assert {"1084", "o1", "440c", "1.4116"} <= set(KNOWLEDGE.steels)
    assert len(KNOWLEDGE.steels) >= 20
    assert len(KNOWLEDGE.materials) >= 12


def test_no_rule_asserts_what_geometry_must_show() -> None:
    """Facts of the trade come out of the computation: leans on a grind stay opinions of a few points."""
    for loaded in KNOWLEDGE.of_kind("lean"):
        assert abs(loaded.rule.effect.points) <= 7.5, loaded.rule.id
    for loaded in KNOWLEDGE.of_kind("limit"):
        assert "design.grind" not in loaded.rule.when.model_dump_json(), loaded.rule.id
        assert "design.parent" not in loaded.rule.when.model_dump_json(), loaded.rule.id
