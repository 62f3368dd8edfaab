"""Figures of sections that were measured before: kept for the process, so that the same blade is measured once.

A section is known by what draws it and every column of its design. A figure does not depend on which other sections are
measured with it, so one from an earlier question is the same to the last bit.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, field
from threading import RLock
from typing import Any, TypeVar

import numpy as np
import numpy.typing as npt

from recommender.plugin.api.designs import Designs

T = TypeVar("T")
Index = npt.NDArray[np.intp]
MOST_BYTES = 64 * 2**20
"""What figures and names of sections may take together; beyond it a new table is begun."""
_BYTES_A_NAME = 120
"""What Python takes for a name and its place besides the name's own bytes; measured."""


@dataclass
class _Figure:
    """A figure of the sections of a table: which are known, and the values, one array a part."""

    like: Any
    """The first result: whether a figure is an array, a tuple or a dataclass of arrays."""
    known: npt.NDArray[np.bool_]
    parts: list[npt.NDArray[Any] | None]


@dataclass
class FigureTable:
    """Sections that were named so far and what is known of each. Safe to use from several threads."""

    _places: dict[Hashable, dict[bytes, int]] = field(default_factory=dict)
    _figures: dict[Hashable, _Figure] = field(default_factory=dict)
    _words: dict[str, float] = field(default_factory=dict)
    """A number for every word in a column of text."""
    _lock: Any = field(default_factory=RLock)
    _count: int = 0
    _name_bytes: int = 0

    def places(self, drawn_by: Hashable, designs: Designs) -> Index | None:
        """The place of each section (n,); None where a column holds what is neither number nor text."""
        names = sorted(designs.columns)
        columns = [self._numbers(designs[name]) for name in names]
        if any(column is None for column in columns):
            return None
        table = np.stack([column for column in columns if column is not None], axis=1) + 0.0  # -0 is 0
        table[np.isnan(table)] = np.nan
        row = np.dtype((np.void, table.shape[1] * table.itemsize))
        keys: list[Any] = np.ascontiguousarray(table).view(row).ravel().tolist()
        with self._lock:
            known = self._places.setdefault((drawn_by, tuple(names)), {})
            before = len(known)
            first = self._count - before
            found = [known.setdefault(key, first + len(known)) for key in keys]
            self._count += len(known) - before
            self._name_bytes += (len(known) - before) * (_BYTES_A_NAME + len(keys[0]) if keys else 0)
        return np.array(found, dtype=np.intp)

    def _numbers(self, column: npt.NDArray[Any]) -> npt.NDArray[np.float64] | None:
        if column.dtype.kind in "fiub":
            return column.astype(float)
        if column.dtype.kind != "U":
            return None
        words, which = np.unique(column, return_inverse=True)
        with self._lock:
            return np.array([self._words.setdefault(str(word), float(len(self._words))) for word in words])[which]

    def figure(self, key: Hashable, places: Index, compute: Callable[[Index], T]) -> T:
        """A figure of the sections at some places; `compute` gives it for those, by index, that are not known yet."""
        with self._lock:
            kept = self._figures.get(key)
            if kept is not None and len(kept.known) < self._count:
                _grow(kept, self._count)
            missing = np.arange(len(places)) if kept is None else np.flatnonzero(~kept.known[places])
            if missing.size:
                value = compute(missing)
                if kept is None:
                    kept = self._figures[key] = _Figure(value, np.zeros(self._count, dtype=bool), [])
                    kept.parts = [_blank(part, self._count) for part in parts_of(value)]
                for part, own in zip(kept.parts, parts_of(value), strict=True):
                    if part is not None:
                        part[places[missing]] = own
                kept.known[places[missing]] = True
                if len(missing) == len(places):
                    return value
            assert kept is not None
            found: T = rebuilt(kept.like, [None if part is None else part[places] for part in kept.parts])
            return found

    @property
    def size_bytes(self) -> int:
        """What it takes, about."""
        arrays = [a for kept in self._figures.values() for a in (kept.known, *kept.parts) if a is not None]
        return self._name_bytes + sum(array.nbytes for array in arrays)


class FigureStore:
    """The table in use: a new one is begun when it has grown too large, the old one goes with the last who reads it."""

    def __init__(self, most_bytes: int = MOST_BYTES) -> None:
        self._most_bytes = most_bytes
        self._table = FigureTable()

    @property
    def table(self) -> FigureTable:
        """Where sections are to be looked up now."""
        if self._table.size_bytes > self._most_bytes:
            self._table = FigureTable()
        return self._table


FIGURES = FigureStore()
"""That of the process, for every question and everything that is loaded."""


def parts_of(value: Any) -> list[Any]:
    """The arrays of a figure: an array alone, or those of a tuple or dataclass in their order."""
    if dataclasses.is_dataclass(value):
        return [getattr(value, f.name) for f in dataclasses.fields(value)]
    return list(value) if isinstance(value, tuple) else [value]


def rebuilt(like: Any, parts: Sequence[Any]) -> Any:
    """A figure like another with other arrays for parts."""
    if dataclasses.is_dataclass(like) and not isinstance(like, type):
        names = (f.name for f in dataclasses.fields(like))
        return dataclasses.replace(like, **dict(zip(names, parts, strict=True)))
    return tuple(parts) if isinstance(like, tuple) else parts[0]


def _blank(part: Any, count: int) -> npt.NDArray[Any] | None:
    return None if part is None else np.zeros(count, dtype=np.asarray(part).dtype)


def _grow(kept: _Figure, count: int) -> None:
    """Room for sections that were named since, and as many again: growing is then rare."""
    more = 2 * count - len(kept.known)
    kept.known = np.concatenate([kept.known, np.zeros(more, dtype=bool)])
    kept.parts = [None if p is None else np.concatenate([p, np.zeros(more, dtype=p.dtype)]) for p in kept.parts]
