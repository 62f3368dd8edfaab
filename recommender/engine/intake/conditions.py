"""Conditions as three-valued masks: true, false, or unknown where a fact is missing or not a number."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from recommender.models.knowledge.rule import All, AnyOf, Comparison, Not

Mask = npt.NDArray[np.bool_]
Facts = Callable[[str], Any]
"""Field -> a number, text, flag, frozenset, Grouped or (n,) array; None when unknown."""


@dataclass(frozen=True)
class Grouped:
    """A fact that is the same for all rows of a group: tested once a group, however many rows there are."""

    values: npt.NDArray[Any] | list[Any]
    """One a group: an array of numbers, text or flags, or frozensets."""
    which: npt.NDArray[np.intp]
    """The group of each row, (n,)."""

    known: dict[Any, tuple[Mask, Mask]] = field(default_factory=dict, compare=False)
    """Tests already made of the values."""

    def over(self, which: npt.NDArray[np.intp]) -> Grouped:
        """The same groups for other rows."""
        return Grouped(self.values, which, self.known)

    def tested(self, comparison: Comparison) -> tuple[Mask, Mask]:
        """(surely true, surely false) for each group."""
        key = tuple(comparison.tests)
        if key not in self.known:
            if isinstance(self.values, np.ndarray):
                self.known[key] = _compare(comparison, self.values)
            else:
                pairs = [_compare(comparison, value) for value in self.values]
                self.known[key] = np.array([bool(t) for t, _ in pairs]), np.array([bool(f) for _, f in pairs])
        return self.known[key]

    @property
    def rows(self) -> npt.NDArray[Any]:
        """The value of each row, (n,)."""
        return np.asarray(self.values)[self.which]


_ORDER: dict[str, Callable[[Any, Any], Any]] = {
    "lt": np.less,
    "le": np.less_equal,
    "gt": np.greater,
    "ge": np.greater_equal,
}


def fires(condition: All | AnyOf | Not | Comparison, facts: Facts) -> Mask:
    """Where a condition surely holds: shape () for facts that are single values, else (n,).

    Unknown (a missing fact, NaN) is neither true nor false, and `not` leaves it so: no rule fires on ignorance.

    >>> bool(fires(Not(**{"not": {"field": "metric.x", "lt": 1.0}}), lambda field: float("nan")))
    False
    """
    return holds(condition, facts)[0]


def ruled_out(condition: All | AnyOf | Not | Comparison, facts: Facts) -> bool:
    """Whether a condition cannot hold whatever the facts not given turn out to be."""
    return bool(holds(condition, facts)[1].all())


def holds(condition: All | AnyOf | Not | Comparison, facts: Facts) -> tuple[Mask, Mask]:
    """(surely true, surely false): where neither, a fact is not known."""
    match condition:
        case All(all=parts):
            true, false = np.asarray(True), np.asarray(False)
            for part in parts:
                t, f = holds(part, facts)
                true, false = true & t, false | f
            return true, false
        case AnyOf(any=parts):
            true, false = np.asarray(False), np.asarray(True)
            for part in parts:
                t, f = holds(part, facts)
                true, false = true | t, false & f
            return true, false
        case Not(not_=part):
            true, false = holds(part, facts)
            return false, true
        case Comparison():
            return _compare(condition, facts(condition.field))


def _compare(comparison: Comparison, fact: Any) -> tuple[Mask, Mask]:
    if fact is None:
        return np.asarray(False), np.asarray(False)
    if isinstance(fact, Grouped):
        true, false = fact.tested(comparison)
        return true[fact.which], false[fact.which]
    if isinstance(fact, (frozenset, set, tuple, list)):
        held = all(_set_test(name, value, frozenset(fact)) for name, value in comparison.tests)
        return np.asarray(held), np.asarray(not held)
    values = np.asarray(fact)
    known = ~np.isnan(values) if values.dtype.kind == "f" else np.ones(values.shape, dtype=bool)
    mask = np.ones(values.shape, dtype=bool)
    for name, wanted in comparison.tests:
        mask = mask & _test(name, wanted, values)
    return np.asarray(mask & known), np.asarray(~mask & known)


def _set_test(name: str, value: Any, fact: frozenset[Any]) -> bool:
    return value in fact if name == "has" else bool(fact & set(value))


def _test(name: str, wanted: Any, values: npt.NDArray[Any]) -> Mask:
    if name in _ORDER:
        return np.asarray(_ORDER[name](values, wanted))
    if name == "eq":
        return np.asarray(values == wanted)
    if name == "ne":
        return np.asarray(values != wanted)
    held = np.zeros(values.shape, dtype=bool)
    for option in wanted:
        held |= np.asarray(values == option)
    return held
