"""The algebra of boxes against every combination of facts, asked one by one of the engine's own conditions."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import TypeAdapter

from recommender.engine.intake.conditions import holds
from recommender.models.knowledge.rule import Condition
from recommender.packs.condition_boxes import Formula, Members, Numbers, Space, Values

CONDITION: TypeAdapter[Formula] = TypeAdapter(Condition)
DOMAINS = {
    "whole": Numbers(only=(0.0, 1.0, 2.0, 3.0)),
    "metric": Numbers(),
    "share": Numbers(0.0, 3.0),
    "sure": Numbers(only=(0.0, 1.0, 2.0, 3.0), known=True),
    "kind": Values(("a", "b", "c")),
    "flag": Values((True, False)),
    "set": Members(("x", "y", "z")),
    "full": Members(("x", "y", "z"), known=True),
}
HALVES = [k / 2 for k in range(-1, 8)]
SETS = [frozenset(s) for n in range(4) for s in itertools.combinations("xyz", n)]
FACTS: dict[str, list[Any]] = {
    "whole": [None, 0.0, 1.0, 2.0, 3.0],
    # Constants are whole numbers from 0 to 3: halves fall between them and beyond.
    "metric": [None, *HALVES],
    "share": [None, *(h for h in HALVES if 0 <= h <= 3)],
    "sure": [0.0, 1.0, 2.0, 3.0],
    "kind": [None, "a", "b", "c"],
    "flag": [None, True, False],
    "set": [None, *SETS],
    "full": [*SETS],
}

numbers = st.integers(0, 3)
order = st.sampled_from(["eq", "ne", "lt", "le", "gt", "ge"])


def compared(field: str) -> st.SearchStrategy[dict[str, Any]]:
    if field in ("whole", "metric", "share", "sure"):
        one = st.dictionaries(order, numbers, min_size=1, max_size=2)
        tests = one | st.builds(lambda some: {"in": some}, st.lists(numbers, max_size=3))
    elif field == "kind":
        tests = st.dictionaries(st.sampled_from(["eq", "ne"]), st.sampled_from("abc"), min_size=1) | st.builds(
            lambda some: {"in": some}, st.lists(st.sampled_from("abc"), max_size=3)
        )
    elif field == "flag":
        tests = st.dictionaries(st.sampled_from(["eq", "ne"]), st.booleans(), min_size=1)
    else:
        has = st.builds(lambda one: {"has": one}, st.sampled_from("xyz"))
        some = st.builds(lambda some: {"in": some}, st.lists(st.sampled_from("xyz"), max_size=3))
        tests = has | some | st.builds(lambda a, b: {**a, **b}, has, some)
    return tests.map(lambda t: {"field": field, **t})


def conditions(fields: list[str]) -> st.SearchStrategy[Formula]:
    def joined(part: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
        return (
            st.builds(lambda p: {"not": p}, part)
            | st.builds(lambda p: {"all": p}, st.lists(part, max_size=3))
            | st.builds(lambda p: {"any": p}, st.lists(part, min_size=1, max_size=3))
        )

    leaf = st.one_of(*(compared(field) for field in fields))
    return st.recursive(leaf, joined, max_leaves=7).map(CONDITION.validate_python)


@st.composite
def questions(draw: st.DrawFn) -> tuple[list[str], Formula, Formula]:
    fields = draw(st.lists(st.sampled_from(sorted(DOMAINS)), min_size=2, max_size=3, unique=True))
    return fields, draw(conditions(fields)), draw(conditions(fields))


def worlds(fields: list[str]) -> Iterator[dict[str, Any]]:
    for values in itertools.product(*(FACTS[field] for field in fields)):
        yield dict(zip(fields, values, strict=True))


def told(condition: Formula, world: dict[str, Any]) -> tuple[bool, bool]:
    true, false = holds(condition, world.get)
    return bool(true), bool(false)


@settings(max_examples=80, deadline=None)
@given(questions())
def test_boxes_agree_with_every_combination_of_facts(question: tuple[list[str], Formula, Formula]) -> None:
    fields, one, other = question
    space = Space(DOMAINS, [one, other])
    a, b, never_a = space.region(one), space.region(other), space.region(one, holds=False)
    fires = [(told(one, world), told(other, world)[0]) for world in worlds(fields)]
    assert bool(a) is any(true for (true, _), _ in fires)
    assert bool(never_a) is any(false for (_, false), _ in fires)
    assert bool(a & b) is any(true and too for (true, _), too in fires)
    assert bool(a | b) is any(true or too for (true, _), too in fires)
    assert bool(a - b) is any(true and not too for (true, _), too in fires)
    assert (a <= b) is all(too for (true, _), too in fires if true)
    assert (space.everything <= (a | never_a)) is all(true or false for (true, false), _ in fires)
    assert not a & never_a


@settings(max_examples=80, deadline=None)
@given(questions())
def test_the_facts_of_a_box_lie_in_it(question: tuple[list[str], Formula, Formula]) -> None:
    _, one, other = question
    space = Space(DOMAINS, [one, other])
    for box in space.region(one) - space.region(other):
        # What a box says nothing of may be anything; these two are never unknown.
        facts = {"sure": 0.0, "full": frozenset()} | box.facts
        assert told(one, facts)[0]
        assert not told(other, facts)[0]
        assert box.words


@settings(max_examples=60, deadline=None)
@given(questions())
def test_regions_keep_the_laws_of_sets(question: tuple[list[str], Formula, Formula]) -> None:
    _, one, other = question
    space = Space(DOMAINS, [one, other])
    a, b = space.region(one), space.region(other)
    assert (a & b) <= a <= (a | b)
    assert a <= ((a - b) | (a & b)) <= a
    assert not (a - b) & b
    assert space.nothing <= a <= space.everything
