"""Sections ready to be measured, with the figures that several metrics share."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass
from functools import cached_property
from typing import Any, TypeVar

import numpy as np
import numpy.typing as npt

from recommender.geometry.arcs import Array
from recommender.geometry.outline import Outline, Sides
from recommender.geometry.profile import half_angles
from recommender.plugin.api.designs import Designs, read_only
from recommender.plugin.api.figure_store import FigureTable, parts_of, rebuilt

T = TypeVar("T")


_WORTH_PARTING = 256
"""Fewer sections are measured as one batch, whatever they are."""
TIP_ZONE_SHARE = 1 / 3
"""Share of the blade's length that a tip zone takes, its transition included; common practice."""


@dataclass(frozen=True)
class Sections:
    """Candidates ready to be measured: designs, outlines and what several metrics share.

    Rows may share an outline (the same blade in many steels): `drawn` holds the distinct ones.
    """

    designs: Designs
    drawn: Outline
    """Distinct sections between plunge line and tip, (m, v, 3)."""
    drawn_tips: Outline
    """The tip zone's; `drawn` itself where no row has a section of its own there."""
    row: npt.NDArray[np.intp] | None
    """Which distinct section each candidate has, (n,); None where each has its own."""
    zoned: npt.NDArray[np.bool_]
    """Which have a section of their own in the tip zone, (n,)."""

    def __post_init__(self) -> None:
        # Shared as designs are; that a tip zone is no other section stays told by identity.
        tips_alike = self.drawn_tips is self.drawn
        object.__setattr__(self, "drawn", read_only(self.drawn))
        object.__setattr__(self, "drawn_tips", self.drawn if tips_alike else read_only(self.drawn_tips))

    def __len__(self) -> int:
        return len(self.designs)

    def placed(self, table: FigureTable | None, places: npt.NDArray[np.intp] | None) -> Sections:
        """These sections, their figures kept in a table: the distinct ones (m,) at those places of it."""
        self.__dict__["placing"] = None if table is None or places is None else (table, places)
        return self

    @cached_property
    def placing(self) -> tuple[FigureTable, npt.NDArray[np.intp]] | None:
        """The table that keeps their figures, and the places of the distinct ones, (m,); no field, so never lent."""
        return None

    @cached_property
    def outlines(self) -> Outline:
        """The section of each candidate, (n, v, 3)."""
        return self.drawn if self.row is None else read_only(np.asfortranarray(self.drawn[self.row]))

    @cached_property
    def tip_outlines(self) -> Outline:
        """The section of each candidate's tip zone, (n, v, 3)."""
        if self.drawn_tips is self.drawn:
            return self.outlines
        return self.drawn_tips if self.row is None else read_only(np.asfortranarray(self.drawn_tips[self.row]))

    def taking(self, rows: npt.NDArray[np.intp]) -> Sections:
        """The given rows, by index (k,), each as often as it is named."""
        used, row = renumbered(rows if self.row is None else self.row[rows], len(self.drawn))
        drawn = self.drawn[used]
        tips = drawn if self.drawn_tips is self.drawn else self.drawn_tips[used]
        whole = len(used) == len(rows) and bool((row == np.arange(len(rows))).all())
        some = Sections(self.designs.taking(rows), drawn, tips, None if whole else row, self.zoned[rows])
        return some if self.placing is None else some.placed(self.placing[0], self.placing[1][used])

    @cached_property
    def distinct(self) -> Sections:
        """One candidate for each distinct section, m of n; itself where each has its own."""
        if self.row is None:
            return self
        first = np.empty(len(self.drawn), dtype=np.intp)
        first[self.row[::-1]] = np.arange(len(self.row))[::-1]  # the first of each is written last
        some = Sections(self.designs.taking(first), self.drawn, self.drawn_tips, None, self.zoned[first])
        return some if self.placing is None else some.placed(*self.placing)

    def figure(self, key: Hashable, compute: Callable[..., T], *inputs: Any) -> T:
        """A figure of the section, kept under a key of its own and computed once for each distinct section.

        `compute` gets sections and the inputs, and gives an (n,) array, or a tuple or dataclass of such, in a unit of
        its own. `inputs` are what else goes into it, each a number for all rows or (n,): the same section with the same
        inputs has the same figure. Numbers become part of the key; what arrays differ by (the task) belongs in it.
        Raises ValueError where `compute` gives another number of values than it got sections.
        """
        kept: dict[Hashable, Any] = self._kept
        full = full_key(key, compute, inputs)
        if full not in kept:
            kept[full] = self._figure(key, compute, inputs)
        found: T = kept[full]
        return found

    def _figure(self, key: Hashable, compute: Callable[..., T], inputs: tuple[Any, ...]) -> T:
        several = [np.asarray(value) for value in inputs if np.ndim(value)]
        if self.row is not None and not several:
            found: T = _spread(self.distinct.figure(key, compute, *inputs), self.row)
            return found
        alike = None if self.row is None else _alike(self.row, several)
        if alike is not None:
            first, row = alike
            own = (np.asarray(value)[first] if np.ndim(value) else value for value in inputs)
            found = _spread(self.taking(first).figure(key, compute, *own), row)
            return found
        if self.placing is None or several:
            return _computed(self, compute, inputs)
        table, places = self.placing

        def missing(rows: npt.NDArray[np.intp]) -> T:
            return _computed(self._some(rows), compute, inputs)

        return table.figure(full_key(key, compute, inputs), places, missing)

    def _some(self, rows: npt.NDArray[np.intp]) -> Sections:
        """Rows that are asked for by one figure after the other, taken once."""
        if len(rows) == len(self):
            return self
        last: tuple[npt.NDArray[np.intp], Sections] | None = self.__dict__.get("_last_taken")
        if last is None or not np.array_equal(last[0], rows):
            last = self.__dict__["_last_taken"] = rows, self.taking(rows)
        return last[1]

    @cached_property
    def _by_symmetry(self) -> tuple[tuple[npt.NDArray[np.intp], Sections], ...]:
        """Sections that are their own mirror images and the others, each with their rows; () where there is one kind.

        Half of a symmetric section is measured, but only where a batch has no other.
        """
        mirrored = self.sides.mirrored
        if len(self) < _WORTH_PARTING or mirrored.all() or not mirrored.any():
            return ()
        kinds = np.flatnonzero(mirrored), np.flatnonzero(~mirrored)
        return tuple((rows, self.taking(rows)) for rows in kinds)

    @cached_property
    def _kept(self) -> dict[Hashable, Any]:
        return {}

    def along_the_blade(self, measure: Callable[..., Array], *inputs: Any) -> Array:
        """A measure of the section averaged over edge zone and tip zone, which is TIP_ZONE_SHARE of the blade.

        `measure` turns outlines (k, v, 3) into (k,), in a unit of its own; gives (n,) in the same. It is handed the
        inputs too, each a number or (n,), of which it gets the (k,) of its outlines. Source: definition.
        """
        value = measure(self.outlines, *inputs)
        rows = np.flatnonzero(self.zoned)
        if rows.size:
            own = (np.asarray(v)[rows] if np.ndim(v) else v for v in inputs)
            value = value.copy()
            value[rows] += TIP_ZONE_SHARE * (measure(self.tip_outlines[rows], *own) - value[rows])
        return value

    @cached_property
    def sides(self) -> Sides:
        """Sides (n, v) of the outlines, for the functions of `recommender.geometry.profile`."""
        return Sides.of_checked(self.outlines)

    @property
    def apex_included_rad(self) -> Array:
        """Included angle at the apex, read off the outline (a micro-bevel counts), (n,)."""
        return self.figure("apex", lambda sections: np.asarray(sum(half_angles(sections.sides, 0.0))))


def full_key(key: Hashable, compute: Callable[..., Any], inputs: tuple[Any, ...]) -> Hashable:
    """A plug-in's keys are its own, and a number that goes into a figure is part of its name."""
    return compute.__module__, key, *(float(v) for v in inputs if not np.ndim(v))


def _alike(row: npt.NDArray[np.intp], inputs: list[npt.NDArray[Any]]) -> tuple[Any, Any] | None:
    """Of rows that differ in section or inputs the first ones, and which of those each row is like.

    None where most differ, as then there is nothing to spare.
    """
    code = row
    for value in inputs:
        distinct, place = np.unique(value, return_inverse=True)
        if 2 * len(distinct) > len(row):
            return None
        code = code * len(distinct) + place
    _, first, alike = np.unique(code, return_index=True, return_inverse=True)
    return None if 2 * len(first) > len(row) else (first, alike)


def renumbered(numbers: npt.NDArray[np.intp], count: int) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """Which of the numbers below `count` occur, in order, and the place of each of them there, (n,): without sorting.

    >>> [part.tolist() for part in renumbered(np.array([7, 2, 7]), 9)]
    [[2, 7], [1, 0, 1]]
    """
    occurs = np.zeros(count, dtype=bool)
    occurs[numbers] = True
    return np.flatnonzero(occurs), (np.cumsum(occurs) - 1)[numbers]


def _computed(sections: Sections, compute: Callable[..., T], inputs: tuple[Any, ...]) -> T:
    parts = sections._by_symmetry if sections.placing is not None else ()
    if not parts:
        return _checked(compute(sections, *inputs), len(sections))
    values = []
    for rows, some in parts:
        own = (np.asarray(value)[rows] if np.ndim(value) else value for value in inputs)
        values.append(_checked(compute(some, *own), len(some)))
    joined = []
    for arrays in zip(*(parts_of(value) for value in values), strict=True):
        whole = None if arrays[0] is None else np.empty(len(sections), dtype=np.asarray(arrays[0]).dtype)
        for (rows, _), array in zip(parts, arrays, strict=True):
            if whole is not None:
                whole[rows] = array
        joined.append(whole)
    found: T = rebuilt(values[0], joined)
    return found


def _checked(value: T, n: int) -> T:
    if any(part is not None and np.shape(part) != (n,) for part in parts_of(value)):
        raise ValueError(f"a figure of {n} sections needs ({n},) values; name as inputs what differs from row to row")
    return value


def _spread(value: T, row: npt.NDArray[np.intp]) -> T:
    """The rows of an array, or of a tuple's or dataclass's arrays."""
    found: T = rebuilt(value, [None if part is None else np.asarray(part)[row] for part in parts_of(value)])
    return found
