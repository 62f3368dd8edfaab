"""The areas that are fuzzed, in one table: each makes named cases from a seed and runs one."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from tests.fuzz import books, files, lines, terminal


@dataclass(frozen=True)
class Area:
    """One thing that is fuzzed."""

    cases: Callable[[int], Iterator[Any]]
    """Without end, the same for the same seed: each case has a `name`."""
    run: Callable[[Any], str]
    """Gives "answered" or "refused"; raises AssertionError, with the reason, where neither is so."""
    weight: float = 1.0
    """How many cases it gets for each case asked for: more where they are quick."""


AREAS = {
    "briefs": Area(files.briefs, files.run),
    "packs": Area(files.packs, files.run, 0.5),
    "shops": Area(files.shops, files.run, 5),
    "settings": Area(lines.settings, lines.run, 5),
    "rows": Area(lines.rows, lines.run, 4),
    "readings": Area(lines.readings, lines.run, 0.2),
    "books": Area(books.cases, books.run),
    "interface": Area(terminal.cases, terminal.run, 0.2),
}
