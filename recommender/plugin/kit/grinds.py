"""The contract of a grind family: sound outlines over its whole range, or a refusal with a printable reason."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from recommender.errors import GeometryError
from recommender.geometry.outline import Outline, mirrored
from recommender.mechanics.sharpening import steel_per_sharpening_mm2
from recommender.plugin.api import BOTH, LEFT, RIGHT, Designs, Grind, Refusal, Workshop, refused_rows
from recommender.plugin.declaration_checks import declaration_fault
from recommender.plugin.kit.finding import Calls, Finding, same
from recommender.plugin.kit.outlines import PROMISES, misshapen
from recommender.plugin.kit.sample_designs import WHEELS_MM, WORKSHOP, described, designs_over_range
from recommender.text import clean

_WORKSHOPS = (
    WORKSHOP,
    Workshop(WHEELS_MM[:3], False, True),
    Workshop((), True, True),
    Workshop((), True, False),
    Workshop(WHEELS_MM[:1], False, False),
    Workshop((), False, False),
)
_ALONE = 25
"""Designs that are drawn again one by one."""
_FEW = 20
_STEP = 1e-9


def check_grind(grind: Grind) -> list[Finding]:
    """Everything that a grind family does not keep to, with a design at which it fails."""
    calls = Calls(f"grind {getattr(grind, 'id', '?')}")
    problem = declaration_fault(grind, Grind)
    if problem is None:
        _Checked(grind, calls).run()
    else:
        calls.find(problem)
    return calls.findings


class _Checked:
    """One grind on trial."""

    def __init__(self, grind: Grind, calls: Calls) -> None:
        self.grind, self.calls = grind, calls

    def run(self) -> None:
        self.calls.find_all(_knobs(self.grind))
        designs = self.calls.call("complete", designs_over_range, self.grind, gives=Designs)
        if not self._complete(designs):
            return
        shut_out = self._refusals(designs)
        if shut_out is None:
            return
        designs = designs.taking(~shut_out)
        if len(designs) < _FEW:
            self.calls.find(
                f"refuses nearly all of its own range: {len(designs)} of {len(shut_out):,} designs are left"
            )
        if len(designs):
            self._zone("outlines", self.grind.outlines, designs)
            if self.grind.tip_outlines is not None:
                self._zone("tip_outlines", self.grind.tip_outlines, designs)
            self._line(designs)

    def _complete(self, designs: Any) -> bool:
        """Whether `complete` gives designs at all; what it does not keep to is noted."""
        if designs is None:
            return False
        n = len(designs)
        wrong = [name for name, column in designs.columns.items() if np.shape(column) != (n,)]
        if wrong:
            self.calls.find(f"complete gives columns that are not ({n},): {', '.join(wrong)}")
            return False
        numbers = {name: column for name, column in designs.columns.items() if column.dtype.kind == "f"}
        infinite = [name for name, column in numbers.items() if np.isinf(column).any()]
        if infinite:
            self.calls.find(f"complete gives columns that are infinite: {', '.join(infinite)}")
            return False
        gone = [p.name for p in self.grind.parameters if p.name not in designs]
        if gone:
            self.calls.find(f"complete drops the parameters {', '.join(gone)}, so that nobody is shown them")
            return False
        again = self.calls.lend("complete", self.grind.complete, designs, gives=Designs)
        if again is None:
            return False
        moved = [k for k in designs.columns if k not in again or not same(designs[k], again[k], relative=1e-12)]
        if moved:
            self.calls.find(f"complete done twice is not the same as once: it moves {', '.join(moved)}")
        sides = set(designs["side"].tolist())
        if not sides <= {BOTH, LEFT, RIGHT}:
            self.calls.find(f"side is {', '.join(sorted(map(str, sides)))}, none of both, right, left")
            return False
        return True

    def _refusals(self, designs: Designs) -> Any:
        """Rows that a workshop with everything refuses, None where that cannot be told."""
        rows = []
        for workshop in _WORKSHOPS:
            refusals = self.calls.lend("refusals", self.grind.refusals, designs, workshop, gives=list)
            if refusals is None:
                return None
            problem = next((p for r in refusals if (p := _misspoken(r, len(designs)))), None)
            if problem:
                self.calls.find(f"refusals: {problem}")
                return None
            rows.append(refused_rows(refusals, len(designs)))
        for poorer in rows[1:]:
            if (rows[0] & ~poorer).any():
                self.calls.find(f"refusals: a better workshop refuses more, {_such(designs, ~(rows[0] & ~poorer))}")
        self._refusals_alone(designs, rows[0])
        return rows[0]

    def _refusals_alone(self, designs: Designs, shut_out: Any) -> None:
        for k in _some(len(designs)):
            alone = self.calls.lend("refusals", self.grind.refusals, designs.taking(np.array([k])), WORKSHOP)
            if alone is not None and any(bool(r.rows[0]) for r in alone) != bool(shut_out[k]):
                self.calls.find(f"refusals: a design alone is not judged as in a batch, {described(designs, k)}")
                return

    def _zone(self, name: str, draw: Callable[[Designs], Outline], designs: Designs) -> None:
        """One kind of outline: its array, its promises, and that it is a function of the design alone."""
        outlines = self.calls.lend(name, draw, designs, gives=np.ndarray)
        if outlines is None:
            return
        problem = misshapen(outlines, len(designs))
        if problem:
            self.calls.find(f"{name} {problem}")
            return
        self._promises(name, designs, outlines)
        self._same_again(name, draw, designs, outlines)
        self._other_side(name, draw, designs, outlines)

    def _promises(self, name: str, designs: Designs, outlines: Outline) -> None:
        try:
            for promise in PROMISES:
                kept = promise.kept(designs, outlines)
                if not kept.all():
                    self.calls.find(f"{name} do not all {promise.words}: {_such(designs, kept)}")
                    return  # what follows would only say the same in other words
            steel = steel_per_sharpening_mm2(outlines)
        except GeometryError as cause:
            self.calls.find(f"{name}: {cause}")
            return
        if not (steel > 0).all():
            self.calls.find(f"{name} cannot all be sharpened: {_such(designs, steel > 0)}")

    def _same_again(self, name: str, draw: Callable[[Designs], Outline], designs: Designs, outlines: Outline) -> None:
        again = self.calls.lend(name, draw, designs)
        if again is not None and not same(outlines, again):
            self.calls.find(f"{name} are not the same when asked again")
            return
        for k in _some(len(designs)):
            alone = self.calls.lend(f"{name} of a single design", draw, designs.taking(np.array([k])), gives=np.ndarray)
            if alone is None:
                return
            if not same(_vertices(outlines[k]), _vertices(alone[0]), relative=_STEP):
                self.calls.find(f"{name}: a design alone is not drawn as in a batch, {described(designs, k)}")
                return
        empty = self.calls.lend(f"{name} of no design", draw, designs.taking(slice(0, 0)))  # type: ignore[arg-type]
        if empty is not None and (np.ndim(empty) != 3 or (np.shape(empty)[0], np.shape(empty)[2]) != (0, 3)):
            self.calls.find(f"{name} of no design have shape {np.shape(empty)}, not (0, {outlines.shape[1]}, 3)")

    def _other_side(self, name: str, draw: Callable[[Designs], Outline], designs: Designs, outlines: Outline) -> None:
        one_sided = designs["side"] != BOTH
        if not one_sided.any():
            return
        some = designs.taking(one_sided)
        other = some.changed(side=np.where(some["side"] == LEFT, RIGHT, LEFT))
        drawn = self.calls.lend(name, draw, other)
        if drawn is not None and not same(drawn, mirrored(outlines[one_sided])):
            self.calls.find(f"{name}: the left-ground blade is no mirror image of the right-ground one")

    def _line(self, designs: Designs) -> None:
        """Where a line can be asked for, it comes out as asked."""
        if self.grind.for_line is None:
            return
        line = 0.9 * designs["grind_line_mm"]
        turned = self.calls.lend("for_line", self.grind.for_line, designs.changed(grind_line_mm=line))
        whole = None if turned is None else self.calls.lend("complete", self.grind.complete, turned)
        if whole is not None and not np.allclose(whole["grind_line_mm"], line, rtol=1e-9):
            self.calls.find("for_line: the line does not come out as asked")


def _knobs(grind: Grind) -> list[str]:
    names = [p.name for p in grind.parameters]
    out = [f"parameter {name} is there twice" for name in sorted({n for n in names if names.count(n) > 1})]
    for p in grind.parameters:
        if p.name == "side" and not {*p.choices} <= {BOTH, RIGHT, LEFT}:
            out.append("parameter side has choices other than both, right, left")
        if p.choices or p.name == "wheel_diameter_mm":
            continue
        if not (np.isfinite((p.low, p.high, p.step)).all() and p.low < p.high and p.step >= 0):
            out.append(f"parameter {p.name} has no range: {p.low} to {p.high} in steps of {p.step}")
    return out


def _misspoken(refusal: Any, n: int) -> str | None:
    """What is wrong with a refusal itself."""
    if not isinstance(refusal, Refusal):
        return f"{type(refusal).__name__} instead of Refusal"
    rows: Any = refusal.rows
    if not isinstance(rows, np.ndarray) or rows.dtype != bool or rows.shape != (n,):
        return f"rows are {getattr(rows, 'dtype', type(rows).__name__)} {np.shape(rows)}, not bool ({n},)"
    reason: Any = refusal.reason
    if not isinstance(reason, str) or len(reason.strip()) <= 10:
        return f"{reason!r} is no reason"
    if clean(reason, one_line=True) != reason or reason != reason.strip() or reason.endswith("."):
        return f"{reason!r} is no printable line without a full stop"
    if {"nan", "inf"} & set(reason.split()):
        return f"{reason!r} shows a number that is none"
    return None


def _some(n: int) -> list[int]:
    return sorted({int(k) for k in np.linspace(0, n - 1, _ALONE)}) if n else []


def _such(designs: Designs, kept: Any) -> str:
    """How many rows do not, and one of them."""
    rows = np.flatnonzero(~kept)
    return f"{len(rows):,} of {len(designs):,} designs, such as {described(designs, int(rows[0]))}"


def _vertices(outline: Outline) -> Outline:
    """A section (v, 3) without vertices that lie on the next one: batches may be padded with such."""
    repeated = (outline[:, :2] == np.roll(outline, -1, axis=0)[:, :2]).all(axis=1)
    return np.asarray(outline[~repeated])
