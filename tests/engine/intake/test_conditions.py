"""Conditions: three-valued logic over single facts and columns."""

from __future__ import annotations

import numpy as np
import pytest
from pydantic import TypeAdapter

from recommender.engine.intake.conditions import fires
from recommender.models.knowledge.rule import Condition, named_tasks

CONDITION = TypeAdapter(Condition)


def holds(condition: dict, **facts: object):
    return fires(CONDITION.validate_python(condition), {k.replace("__", "."): v for k, v in facts.items()}.get)


@pytest.mark.parametrize(
    ("test", "value", "expected"),
    [
        ({"eq": 2}, 2.0, True),
        ({"ne": 2}, 2.0, False),
        ({"lt": 2}, 2.0, False),
        ({"le": 2}, 2.0, True),
        ({"gt": 2}, 2.0, False),
        ({"ge": 2}, 2.0, True),
        ({"in": ["a", "b"]}, "b", True),
        ({"in": ["a", "b"]}, "c", False),
        ({"has": "a"}, frozenset({"a"}), True),
        ({"has": "a"}, frozenset({"b"}), False),
        ({"in": ["a", "b"]}, frozenset({"b", "c"}), True),
        ({"ge": 1, "lt": 3}, 2.0, True),
        ({"ge": 1, "lt": 3}, 3.0, False),
    ],
)
def test_comparisons(test: dict, value: object, expected: bool) -> None:
    assert bool(holds({"field": "x", **test}, x=value)) is expected


def test_columns_give_masks() -> None:
    mask = holds({"all": [{"field": "x", "gt": 1.0}, {"field": "name", "eq": "b"}]}, x=np.array([1.0, 2, 3]), name="b")
    assert mask.tolist() == [False, True, True]


@pytest.mark.parametrize("unknown", [None, float("nan")])
@pytest.mark.parametrize("wrap", [lambda c: c, lambda c: {"not": c}, lambda c: {"not": {"not": c}}])
def test_no_rule_fires_on_ignorance(unknown: object, wrap) -> None:
    assert not holds(wrap({"field": "x", "lt": 1.0}), x=unknown)


def test_any_holds_although_another_branch_is_unknown() -> None:
    assert holds({"any": [{"field": "x", "lt": 1.0}, {"field": "y", "eq": 1}]}, x=None, y=1)
    assert not holds({"all": [{"field": "x", "lt": 1.0}, {"field": "y", "eq": 1}]}, x=None, y=1)


def test_nan_in_a_column_is_unknown_only_there() -> None:
    mask = holds({"not": {"field": "x", "lt": 1.0}}, x=np.array([0.0, np.nan, 2.0]))
    assert mask.tolist() == [False, False, True]


def test_tasks_named_outside_not() -> None:
    condition = CONDITION.validate_python(
        {"all": [
            {"any": [{"field": "brief.tasks", "has": "a"}, {"field": "brief.tasks", "in": ["b"]}]},
            {"not": {"field": "brief.tasks", "has": "c"}},
        ]}
    )  # fmt: skip
    assert named_tasks(condition) == {"a", "b"}
