"""What checks take for granted of facts, against the facts that the engine works with."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest

from recommender.engine.case import Case
from recommender.engine.checks.blades import few
from recommender.engine.checks.worlds import Worlds, of_brief
from recommender.engine.conditions import holds
from recommender.engine.facts import CandidateFacts
from recommender.engine.form import choose
from recommender.engine.ranking import bests_of
from recommender.models.brief import Brief
from recommender.models.rule import Comparison, fields_of
from recommender.packs.boxes import Members, Numbers, Values
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
def worlds(service: Service) -> Worlds:
    return Worlds(service.knowledge, service.registry, tuple(service.knowledge.rules.values()))


@pytest.fixture(scope="module", params=BRIEFS, ids=lambda settings: " ".join(settings) or "nothing given")
def case(request: pytest.FixtureRequest, service: Service) -> Case:
    return service.case(with_settings(Brief(), request.param))


def facts_of(case: Case) -> Iterator[CandidateFacts]:
    """Facts of candidates of every grind, and of the best of each in the form chosen."""
    fields = few(case)
    for field in fields:
        if field.measured is not None:
            yield CandidateFacts(case.rules.facts, field.measured)
    for best in bests_of(fields, case):
        yield CandidateFacts({**case.rules.facts, **choose(best, case).facts}, best.measured)


def test_every_fact_lies_where_checks_believe_it_to_lie(worlds: Worlds, case: Case) -> None:
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


TESTS: list[dict[str, Any]] = [
    *({"field": "derived.steel_family", "eq": family} for family in ("carbon", "stainless", "high-speed")),
    {"field": "derived.corrosion_class", "in": ["rusts", "stains"]},
    {"field": "derived.toughness_class", "ne": "low"},
    *({"field": "derived.skill_level", test: 2.0} for test in ("lt", "le", "eq", "gt", "ge", "ne")),
    *(
        {"field": f"derived.{name}", test: value}
        for name in ("owner_sharpens", "gear_thins", "freehand_only")
        for test in ("eq", "ne")
        for value in (True, False)
    ),
    {"field": "derived.owner_sharpens", "eq": True, "ne": True},
    {"field": "design.parent", "eq": "hollow"},
    {"field": "design.sides_ground", "lt": 2.0},
    {"field": "design.zones", "ge": 2.0},
]


def test_conditions_rewritten_hold_where_they_did(worlds: Worlds, case: Case) -> None:
    some = worlds.rules[0]
    for facts in facts_of(case):
        for condition in (Comparison.model_validate(test) for test in TESTS):
            plain = worlds.plain(some, condition)
            assert fields_of(plain).isdisjoint(fields_of(condition))
            n = len(facts.measured)
            for before, after in zip(holds(condition, facts), holds(plain, facts), strict=True):
                assert np.array_equal(np.broadcast_to(before, (n,)), np.broadcast_to(after, (n,))), condition


def test_facts_of_a_brief_are_the_same_for_every_blade(worlds: Worlds, case: Case) -> None:
    shared = case.rules.facts
    for name in worlds.fields:
        assert of_brief(name) is (name in shared), name
