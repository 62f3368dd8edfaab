"""A condition in words, line by line, and whether each line of it held."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from recommender.engine.intake.conditions import holds
from recommender.models.knowledge.rule import All, AnyOf, Comparison, Not

_WORDS = {"eq": "is", "ne": "is not", "lt": "<", "le": "≤", "gt": ">", "ge": "≥", "in": "is one of", "has": "has"}


@dataclass(frozen=True)
class Tested:
    """One line of a rule's condition: what it asks, what is there, whether that holds (None: cannot be told)."""

    depth: int
    asks: str
    found: str
    """"" for a line that joins others."""
    held: bool | None


def condition_lines(condition: All | AnyOf | Not | Comparison) -> list[tuple[int, str]]:
    """What a condition asks, line by line, each with its depth."""
    return [(line.depth, line.asks) for line in checked_lines(condition, lambda field: None)]


def outcome(condition: All | AnyOf | Not | Comparison, facts: Callable[[str], Any]) -> bool | None:
    """Whether it holds for every row; None where that cannot be told."""
    true, false = holds(condition, facts)
    return True if bool(np.all(true)) else False if bool(np.all(false)) else None


def checked_lines(
    condition: All | AnyOf | Not | Comparison, facts: Callable[[str], Any], depth: int = 0
) -> Iterator[Tested]:
    """The lines of a condition before facts by their fields."""
    match condition:
        case All(all=parts) | AnyOf(any=parts):
            joined = isinstance(condition, All)
            if not parts:
                yield Tested(depth, "always", "", True)
            elif len(parts) == 1:
                yield from checked_lines(parts[0], facts, depth)
            else:
                yield Tested(depth, "all of" if joined else "at least one of", "", outcome(condition, facts))
                for part in parts:
                    yield from checked_lines(part, facts, depth + 1)
        case Not(not_=part):
            yield Tested(depth, "not", "", outcome(condition, facts))
            yield from checked_lines(part, facts, depth + 1)
        case Comparison():
            asks = " and ".join(f"{_WORDS[name]} {_shown(wanted)}" for name, wanted in condition.tests)
            found = facts(condition.field)
            yield Tested(depth, f"{condition.field} {asks}", _shown(found), outcome(condition, facts))


def _shown(value: Any) -> str:
    """A fact in words; what is not there says so."""
    if isinstance(value, np.ndarray):
        value = value.reshape(-1)[0].item() if value.size else None
    if value is None or value != value:
        return "not known here"
    if isinstance(value, bool | np.bool_):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return f"{value:.4g}"
    if isinstance(value, frozenset | set | tuple | list):
        return ", ".join(sorted(str(v) for v in value)) or "none"
    return str(value)
