"""The areas that are fuzzed, in one table: each makes named cases from a seed and runs one."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from tests.fuzz import books, files, lines, terminal


@dataclass(frozen=True)
class Area:
    """`cases` never ends, the same for the same seed: each case has a `name`. `run` gives "answered" or "refused".

    It raises AssertionError, with the reason, where neither is so.
    """

    cases: Callable[[int], Iterator[Any]]
    run: Callable[[Any], str]


AREAS = {
    "briefs": Area(files.briefs, files.run),
    "packs": Area(files.packs, files.run),
    "shops": Area(files.shops, files.run),
    "settings": Area(lines.settings, lines.run),
    "rows": Area(lines.rows, lines.run),
    "readings": Area(lines.readings, lines.run),
    "books": Area(books.cases, books.run),
    "interface": Area(terminal.cases, terminal.run),
}
