"""Where two nested values differ, field by field, exactly or within a tolerance."""

from __future__ import annotations

import difflib
import fnmatch
import json
import math
from collections.abc import Hashable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

MISSING = "(missing)"
"""Stands for what one side has not."""
_KEYS = ("id", "rule", "grind", "name", "metric", "dimension", "label", "variable", "words", "kind")
"""What tells the entries of a list apart, the first that does so on both sides."""


@dataclass(frozen=True)
class Tolerance:
    """How far numbers may lie apart and still count as equal; all zero: not at all."""

    relative: float = 0.0
    absolute: float = 0.0
    fields: tuple[tuple[str, float], ...] = ()
    """Absolute tolerances of fields whose pattern a wildcard fits, such as ("*_deg", 0.1); the first that fits."""

    def allows(self, pattern: str, old: float, new: float) -> bool:
        """Whether two numbers of a field count as equal."""
        absolute = next((far for wildcard, far in self.fields if fnmatch.fnmatchcase(pattern, wildcard)), self.absolute)
        return math.isclose(old, new, rel_tol=self.relative, abs_tol=absolute)


EXACT = Tolerance()


class Difference(NamedTuple):
    """A field in which two values differ."""

    path: tuple[str, ...]
    """Keys of dicts, and entries of lists in brackets."""
    old: object
    new: object

    @property
    def pattern(self) -> str:
        """The field whichever entries of lists it stands in, such as `reasons[].points`."""
        return _pattern(self.path)


def differences(
    old: object, new: object, tolerance: Tolerance = EXACT, path: tuple[str, ...] = ()
) -> Iterator[Difference]:
    """Every field in which two values of dicts, lists, words and numbers differ."""
    if isinstance(old, dict) and isinstance(new, dict):
        for key in dict.fromkeys((*old, *new)):
            yield from differences(old.get(key, MISSING), new.get(key, MISSING), tolerance, (*path, str(key)))
    elif isinstance(old, list) and isinstance(new, list):
        for entry, one, other in _paired(old, new):
            yield from differences(one, other, tolerance, (*path, f"[{entry}]"))
    elif _is_number(old) and _is_number(new) and old != new:
        if not tolerance.allows(_pattern(path), old, new):
            yield Difference(path, old, new)
    elif type(old) is not type(new) or old != new:
        yield Difference(path, old, new)


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _pattern(path: tuple[str, ...]) -> str:
    return ".".join("[]" if part.startswith("[") else part for part in path).replace(".[]", "[]")


def _paired(old: list, new: list) -> Iterator[tuple[object, object, object]]:
    """Entries of two lists that belong together, with what tells them: a key, or else a place in the old list."""
    key = (
        next((key for key in _KEYS if _tells_apart(key, old) and _tells_apart(key, new)), None) if old and new else None
    )
    if key:
        olds, news = ({entry[key]: entry for entry in side} for side in (old, new))
        for value in dict.fromkeys((*olds, *news)):
            yield value, olds.get(value, MISSING), news.get(value, MISSING)
        common = [[value for value in side if value in other] for side, other in ((olds, news), (news, olds))]
        if common[0] != common[1]:
            yield "order", ", ".join(map(str, common[0])), ", ".join(map(str, common[1]))
    elif len(old) == len(new):
        yield from ((place, one, other) for place, (one, other) in enumerate(zip(old, new, strict=True)))
    else:
        # Something came in or went: what stands behind it has not changed by moving.
        written = [[json.dumps(entry, sort_keys=True) for entry in side] for side in (old, new)]
        for _, start, end, other, last in difflib.SequenceMatcher(None, *written, autojunk=False).get_opcodes():
            for step in range(max(end - start, last - other)):
                one = old[start + step] if start + step < end else MISSING
                two = new[other + step] if other + step < last else MISSING
                yield start + step, one, two


def _tells_apart(key: str, entries: list) -> bool:
    if not all(isinstance(entry, dict) and isinstance(entry.get(key), Hashable) and key in entry for entry in entries):
        return False
    return len({entry[key] for entry in entries}) == len(entries)
