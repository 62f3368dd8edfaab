"""What checks take for granted of facts, against the facts that the engine works with."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest

from recommender.engine.audit.checks.domains import Domains, of_brief
from recommender.engine.audit.checks.probe import few
from recommender.engine.intake.case import Case
from recommender.engine.intake.conditions import holds
from recommender.engine.search.blade_form import choose
from recommender.engine.search.candidate_facts import CandidateFacts
from recommender.engine.search.ranking import bests_of
from recommender.models.brief import Brief
from recommender.models.knowledge.rule import Comparison, fields_of
from recommender.packs.condition_boxes import Members, Numbers, Values
from recommender.packs.facts import FACTS, Fact
from recommender.packs.fields import TESTS
from recommender.service import Service, with_settings

BRIEFS = [
    (),
    ("tasks.prying=1", "owner.gear=none", "steel.grade=m4", "steel.hardness_hrc=69", "owner.skill=expert"),
    ("tasks.wood-splitting=1", "tasks.heavy-chopping=1", "owner.gear=pull-through", "blade.stock_thickness_mm=12"),
    ("tasks.fish-filleting=1", "owner.gear=strop,guided-fixture", "steel.hardness_hrc=40", "owner.climate=salt"),
    ("tasks.leather-paring=1", "owner.gear=service,belt-grinder", "blade.length_mm=20", "blade.height_mm=5"),
    (
        "tasks.food-prep=1",
        "owner.gear=ceramic-rod,honing-steel",
        "steel.grade=440c",
        "wishes.edge_angle_per_side_deg=45",
    ),
    ("tasks.wood-carving=1", "wishes.edge_thickness_mm=5", "blade.stock_thickness_mm=8", "owner.skill=practised"),
]


@pytest.fixture(scope="module")
def worlds(service: Service) -> Domains:
    return Domains(service.knowledge, service.registry, tuple(service.knowledge.rules.values()))


@pytest.fixture(scope="module", params=BRIEFS, ids=lambda settings: " ".join(settings) or "nothing given")
def case(request: pytest.FixtureRequest, service: Service) -> Case:
    return service.briefs.case(with_settings(Brief(), request.param))


def facts_of(case: Case) -> Iterator[CandidateFacts]:
    """Facts of candidates of every grind, and of the best of each in the form chosen."""
    fields = few(case)
    for field in fields:
        if field.measured is not None:
            yield CandidateFacts(case.rules.facts, field.measured)
    for best in bests_of(fields, case):
        yield CandidateFacts({**case.rules.facts, **choose(best, case).facts}, best.measured)


def test_every_fact_lies_where_checks_believe_it_to_lie(worlds: Domains, case: Case) -> None:
    for facts in facts_of(case):
        for name in worlds.fields:
            if name.startswith("metric."):
                continue
            domain, fact = worlds.domains[name], facts(name)
            values = [] if fact is None else list(fact) if isinstance(domain, Members) else np.ravel(fact).tolist()
            unknown = fact is None or any(value != value for value in values)
            assert not (domain.known and unknown), f"{name} is not always known"
            assert all(lies_in(value, domain) for value in values if value == value), (name, values)


def lies_in(value: Any, domain: Members | Numbers | Values) -> bool:
    match domain:
        case Members(members=members):
            return value in members
        case Values(values=values):
            return value in values
        case Numbers(low=low, high=high, only=only):
            return value in only if only else low <= value <= high


def comparisons_of(fact: Fact) -> Iterator[Comparison]:
    """Every comparison that suits a fact, with each value that it can have."""
    match fact.kind:
        case "flag":
            values: tuple[Any, ...] = (True, False)
        case "category":
            values = fact.values
        case _:
            values = (1.0, 2.0, 3.0)
    for test in sorted(TESTS[fact.kind] - {"in"}):
        for value in values:
            yield Comparison.model_validate({"field": fact.name, test: value})
    yield Comparison.model_validate({"field": fact.name, "in": values[:2]})
    yield Comparison.model_validate({"field": fact.name, "eq": values[0], "ne": values[0]})


def test_conditions_rewritten_hold_where_they_did(worlds: Domains, case: Case) -> None:
    some = worlds.rules[0]
    following = [fact for fact in FACTS.values() if fact.follows is not None]
    assert {"derived.toughness_class", "derived.freehand_only", "design.zones"} <= {fact.name for fact in following}
    for facts in facts_of(case):
        for condition in (comparison for fact in following for comparison in comparisons_of(fact)):
            plain = worlds.plain(some, condition)
            assert fields_of(plain).isdisjoint(fields_of(condition))
            n = len(facts.measured)
            for before, after in zip(holds(condition, facts), holds(plain, facts), strict=True):
                assert np.array_equal(np.broadcast_to(before, (n,)), np.broadcast_to(after, (n,))), condition


def test_facts_of_a_brief_are_the_same_for_every_blade(worlds: Domains, case: Case) -> None:
    shared = case.rules.facts
    for name in worlds.fields:
        assert of_brief(name) is (name in shared), name
