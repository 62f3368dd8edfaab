"""Conditions as unions of boxes: what can be proved of rules without trying a single brief.

Conditions compare facts with finitely many constants, so each fact falls into finitely many *cells* in which every
comparison comes out alike: a number into those constants and the open stretches between them, a category into its
values, each member of a set into not there and there; and one cell more for a fact that may not be known, where no
comparison is true or false. A box allows some cells on every axis, as a row of bits: intervals with open and closed
ends, sets of values, members asked for and ruled out are all the same. Where a condition fires is then a union of
boxes, exactly, three-valued logic included.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property, reduce
from itertools import pairwise
from math import inf
from typing import Any

import numpy as np
import numpy.typing as npt

from recommender.models.knowledge.rule import All, AnyOf, Comparison, Not

Formula = All | AnyOf | Not | Comparison
Bits = npt.NDArray[np.bool_]
MOST_BOXES = 500
"""A union of more boxes is given up: nothing is then claimed of it."""
_TESTS: dict[str, Callable[[Any, Any], Any]] = {
    "eq": operator.eq,
    "ne": operator.ne,
    "lt": operator.lt,
    "le": operator.le,
    "gt": operator.gt,
    "ge": operator.ge,
    "in": lambda fact, wanted: fact in wanted,
}


class TooManyBoxesError(Exception):
    """A union grew beyond MOST_BOXES, so what was asked of it cannot be told."""


@dataclass(frozen=True)
class Numbers:
    """A number from `low` to `high`, or one of `only`."""

    low: float = -inf
    high: float = inf
    only: tuple[float, ...] = ()
    known: bool = False
    """Whether it is always known."""

    def stretches(self, constants: Iterable[float]) -> list[tuple[float, float]]:
        """Its cells as (low, high): a point where both are the same, else all that lies between them."""
        if self.only:
            return [(value, value) for value in sorted(self.only)]
        inner = {float(c) for c in constants if self.low < c < self.high}
        ends = sorted(inner | {self.low, self.high})
        points = [(end, end) for end in ends if abs(end) != inf]
        return sorted([*points, *((a, b) for a, b in pairwise(ends) if a < _between(a, b) < b)])


@dataclass(frozen=True)
class Values:
    """One of some values: a category, or a flag."""

    values: tuple[str | bool, ...]
    known: bool = False


@dataclass(frozen=True)
class Members:
    """A set of any of some members."""

    members: tuple[str, ...]
    known: bool = False


Domain = Numbers | Values | Members


@dataclass(frozen=True)
class Axis:
    """The cells of a field, or of one member of a field that is a set.

    A set has an axis of its own too, which only says whether it is known.
    """

    field: str
    member: str | None
    samples: tuple[Any, ...]
    """A fact from each cell; None, the last, where it may be unknown. For a member: not there, there."""
    stretches: tuple[tuple[float, float], ...]
    """The ends of each known cell of a number."""
    start: int

    @property
    def cells(self) -> slice:
        """Where its bits stand in a box."""
        return slice(self.start, self.start + len(self.samples))


class Space:
    """The axes on which some conditions can be told apart; boxes of one space can be compared."""

    def __init__(self, domains: Mapping[str, Domain], conditions: Iterable[Formula]) -> None:
        constants = constants_of(conditions)
        self.axes: list[Axis] = []
        self.axes_of: dict[str, list[Axis]] = {}
        self.width = 0
        for field in sorted(constants):
            self.axes_of[field] = []
            for member, samples, stretches in _cells(domains[field], constants[field]):
                axis = Axis(field, member, samples, stretches, self.width)
                self.axes.append(axis)
                self.axes_of[field].append(axis)
                self.width += len(axis.samples)
        self._starts = np.array([axis.start for axis in self.axes], dtype=np.intp)

    @cached_property
    def everything(self) -> Region:
        """All facts, known or not."""
        return Region(self, np.ones((1, self.width), dtype=bool))

    @cached_property
    def nothing(self) -> Region:
        """No facts at all."""
        return Region(self, np.zeros((0, self.width), dtype=bool))

    def region(self, condition: Formula, holds: bool = True) -> Region:
        """Where a condition is surely true, or surely false. Raises TooManyBoxesError."""
        match condition:
            case Not(not_=part):
                return self.region(part, not holds)
            case All(all=parts) | AnyOf(any=parts):
                regions = (self.region(part, holds) for part in parts)
                if isinstance(condition, All) is holds:
                    return reduce(operator.and_, regions, self.everything)
                return reduce(operator.or_, regions, self.nothing)
            case Comparison():
                axis, *members = self.axes_of[condition.field]
                if isinstance(axis.samples[0], frozenset):
                    return self._where_members(axis, members, condition, holds)
                return self._where(axis, condition, holds)

    def known(self, field: str) -> str:
        """What a number can be, in words; "" for other fields, and for a number without bounds."""
        stretches = self.axes_of[field][0].stretches
        runs = list(_runs(list(stretches)))
        return "" if runs in ([], [(-inf, inf, False, False)]) else " or ".join(_interval_words(*run) for run in runs)

    def _where(self, axis: Axis, comparison: Comparison, holds: bool) -> Region:
        bits = [
            sample is not None and holds is all(_TESTS[name](sample, wanted) for name, wanted in comparison.tests)
            for sample in axis.samples
        ]
        return self._boxes([{axis: bits}])

    def _where_members(self, whole: Axis, members: list[Axis], comparison: Comparison, holds: bool) -> Region:
        known = {whole: [sample is not None for sample in whole.samples]}
        asked = [{wanted} if name == "has" else set(wanted) for name, wanted in comparison.tests]
        concerned = [[axis for axis in members if axis.member in any_of] for any_of in asked]
        if not holds:
            return self._boxes({**known, **{axis: [True, False] for axis in axes}} for axes in concerned)
        choices = (self._boxes({**known, axis: [False, True]} for axis in axes) for axes in concerned)
        return reduce(operator.and_, choices, self.everything)

    def _boxes(self, boxes: Iterable[Mapping[Axis, list[bool]]]) -> Region:
        rows = []
        for restrictions in boxes:
            row = np.ones(self.width, dtype=bool)
            for axis, bits in restrictions.items():
                row[axis.cells] = bits
            rows.append(row)
        return self.union(np.array(rows, dtype=bool).reshape(len(rows), self.width))

    def union(self, rows: Bits) -> Region:
        """A union of boxes (k, width), without those that are empty or lie in another. Raises TooManyBoxesError."""
        rows = rows[self.possible(rows)]
        if 1 < len(rows) <= 64:  # tidying pays only while it is cheap
            inside = ~np.any(rows[:, None] & ~rows[None], axis=2)
            earlier = np.tri(len(rows), k=-1, dtype=bool)
            rows = rows[~np.any(inside & (~inside.T | earlier), axis=1)]
        _afford(len(rows))
        return Region(self, rows)

    def possible(self, rows: Bits) -> Bits:
        """Which boxes (k, width) leave a cell on every axis, (k,)."""
        return np.asarray(np.logical_or.reduceat(rows, self._starts, axis=1).all(axis=1))

    def restricted(self, bits: Bits) -> list[Axis]:
        """The axes on which a box (width,) does not allow everything."""
        return [self.axes[k] for k in np.flatnonzero(~np.logical_and.reduceat(bits, self._starts))]


@dataclass(frozen=True, eq=False)
class Region:
    """A union of boxes, none of them empty: & | - combine, <= asks whether it lies in another, bool whether any is."""

    space: Space
    boxes: Bits
    """(k, width), a box a row."""

    def __bool__(self) -> bool:
        return len(self.boxes) > 0

    def __iter__(self) -> Iterator[FactBox]:
        return (FactBox(self.space, bits) for bits in self.boxes)

    def __and__(self, other: Region) -> Region:
        _afford(len(self.boxes) * len(other.boxes))
        met = self.boxes[:, None] & other.boxes[None]
        return self.space.union(met.reshape(len(self.boxes) * len(other.boxes), self.space.width))

    def __or__(self, other: Region) -> Region:
        return self.space.union(np.concatenate([self.boxes, other.boxes]))

    def __sub__(self, other: Region) -> Region:
        rows = self.boxes
        for bits in other.boxes:
            rows = self._outside(rows, bits)
            _afford(len(rows))
        return Region(self.space, rows)

    def __le__(self, other: Region) -> bool:
        if np.any(self.boxes.any(axis=0) & ~other.boxes.any(axis=0)):
            return False  # some box allows a cell that no box of the other does, and none is empty
        rows = self.boxes
        for bits in other.boxes:  # most boxes lie in a single one
            rows = rows[np.any(rows & ~bits, axis=1)]
        return not Region(self.space, rows) - other

    def _outside(self, rows: Bits, bits: Bits) -> Bits:
        """What boxes keep outside one box, without overlaps: outside it on one axis, inside on those before."""
        met = self.space.possible(rows & bits)
        kept, rows = [rows[~met]], rows[met]
        for axis in self.space.restricted(bits) if len(rows) else ():
            piece = rows.copy()
            piece[:, axis.cells] &= ~bits[axis.cells]
            kept.append(piece[piece[:, axis.cells].any(axis=1)])
            rows = rows.copy()
            rows[:, axis.cells] &= bits[axis.cells]
        return np.concatenate(kept)


@dataclass(frozen=True, eq=False)
class FactBox:
    """One box: what it allows of each field, some facts that lie in it, and the same in words."""

    space: Space
    bits: Bits

    def allowed(self, field: str) -> tuple[Any, ...]:
        """A fact from each cell that it allows of a field; None where the fact may be unknown."""
        return self._allowed(self.space.axes_of[field][0])

    def members(self, field: str) -> tuple[frozenset[str], frozenset[str]]:
        """The members that it asks for, and those that it rules out, of a field that is a set."""
        mine = [axis for axis in self.restricted if axis.field == field and axis.member is not None]
        asked = frozenset(str(axis.member) for axis in mine if self._allowed(axis) == (True,))
        return asked, frozenset(str(axis.member) for axis in mine) - asked

    @cached_property
    def restricted(self) -> tuple[Axis, ...]:
        """The axes on which it does not allow everything."""
        return tuple(self.space.restricted(self.bits))

    @cached_property
    def fields(self) -> frozenset[str]:
        """The fields that it says something of."""
        return frozenset(axis.field for axis in self.restricted)

    @property
    def facts(self) -> dict[str, Any]:
        """Facts in it, for the fields that it says something of: sets no larger than they have to be."""
        found = {field: self.allowed(field)[0] for field in self.fields}
        return found | {field: self.members(field)[0] for field, fact in found.items() if fact == frozenset()}

    @property
    def words(self) -> str:
        """What it asks of the facts."""
        return "; ".join(part for axis in self.restricted if (part := self._words(axis))) or "anything"

    def _allowed(self, axis: Axis) -> tuple[Any, ...]:
        return tuple(sample for sample, bit in zip(axis.samples, self.bits[axis.cells], strict=True) if bit)

    def _words(self, axis: Axis) -> str:
        allowed = self._allowed(axis)
        if axis.member is not None:
            return f"{axis.field} {'has' if allowed == (True,) else 'has no'} {axis.member}"
        if axis.stretches:
            stretches = [s for s, bit in zip(axis.stretches, self.bits[axis.cells], strict=False) if bit]
            alternatives = [_interval_words(*run) for run in _runs(stretches)]
        elif frozenset() in allowed:
            return ""  # its members say the rest
        else:
            alternatives = [f"is {_value_words(sample)}" for sample in allowed if sample is not None]
        return f"{axis.field} {' or '.join([*alternatives, *['is not known'] * (None in allowed)])}"


def constants_of(conditions: Iterable[Formula]) -> dict[str, set[Any]]:
    """What conditions compare each of their fields with."""
    found: dict[str, set[Any]] = {}
    left = list(conditions)
    while left:
        match left.pop():
            case All(all=parts) | AnyOf(any=parts):
                left += parts
            case Not(not_=part):
                left.append(part)
            case Comparison() as comparison:
                known = found.setdefault(comparison.field, set())
                for _, wanted in comparison.tests:
                    known.update(wanted if isinstance(wanted, tuple) else (wanted,))
    return found


def _cells(
    domain: Domain, constants: set[Any]
) -> Iterator[tuple[str | None, tuple[Any, ...], tuple[tuple[float, float], ...]]]:
    """The member, samples and stretches of each axis that a field has."""
    unknown = () if domain.known else (None,)
    match domain:
        case Members(members=members):
            yield None, (frozenset(), *unknown), ()
            yield from ((member, (False, True), ()) for member in members)
        case Values(values=values):
            yield None, (*values, *unknown), ()
        case Numbers():
            stretches = domain.stretches(constants)
            samples = (a if a == b else _between(a, b) for a, b in stretches)
            yield None, (*samples, *unknown), tuple(stretches)


def _between(low: float, high: float) -> float:
    """A number between two, one of which may be infinite: a round one where there is any at hand."""
    if low == -inf and high == inf:
        return 0.0
    if low == -inf:
        return high - max(1.0, abs(high))
    if high == inf:
        return low + max(1.0, abs(low))
    middle = low / 2 + high / 2
    return next((rounded for n in range(4) if low < (rounded := round(middle, n)) < high), middle)


def _runs(stretches: list[tuple[float, float]]) -> Iterator[tuple[float, float, bool, bool]]:
    """Cells that touch, joined: low, high, and whether each end belongs to it."""
    k = 0
    while k < len(stretches):
        first = last = k
        while last + 1 < len(stretches) and stretches[last][1] == stretches[last + 1][0]:
            last += 1
        (low, a), (b, high) = stretches[first], stretches[last]
        yield low, high, low == a, b == high
        k = last + 1


def _interval_words(low: float, high: float, closed_low: bool, closed_high: bool) -> str:
    if low == high:
        return f"= {low:g}"
    over = "" if low == -inf else f"{'≥' if closed_low else '>'} {low:g}"
    under = "" if high == inf else f"{'≤' if closed_high else '<'} {high:g}"
    return " and ".join(part for part in (over, under) if part) or "any number"


def _value_words(value: Any) -> str:
    return ("yes" if value else "no") if isinstance(value, bool) else str(value)


def _afford(boxes: int) -> None:
    if boxes > MOST_BOXES:
        raise TooManyBoxesError
