"""Candidates under many changed briefs at once: one batch, in which every row knows its brief."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from recommender.engine.intake.brief_facts import brief_facts
from recommender.engine.intake.case import Case, Rulebook
from recommender.engine.intake.conditions import Grouped
from recommender.engine.intake.resolve import Resolved
from recommender.engine.search.candidates import can_be_made, complete_designs, fixed_columns
from recommender.engine.search.measuring import Measured
from recommender.engine.search.scoring import score
from recommender.geometry.arcs import Array
from recommender.plugin.api import Context, Designs, TaskLoad, Workshop
from recommender.plugin.api.sections import renumbered

Index = npt.NDArray[np.intp]


@dataclass(frozen=True)
class Settled:
    """Designs as briefs settle them, the different ones once."""

    designs: Designs
    """The different ones, (m,)."""
    row: Index
    """Which of them each one is, (n,)."""

    def taking(self, rows: Index) -> Designs:
        """Some of the n."""
        return self.designs.taking(self.row[rows])


class BriefBatch:
    """Some briefs that differ from a case's in tasks, steel, gear, sizes or workshop, never in what is wished."""

    def __init__(self, case: Case, briefs: Sequence[Resolved]) -> None:
        self.case, self.briefs = case, tuple(briefs)
        self.grinds = list(case.registry.grinds.values())

    def points(self, batches: Mapping[int, tuple[Designs, Index]]) -> tuple[dict[int, Settled], dict[int, Array]]:
        """Settle and score designs, each under a brief of its own.

        `batches`: index of the grind -> (designs (n,), index of the brief (n,)). Gives the settled designs and their
        points, uphill (`Scores.penalised_points`); -inf where one cannot be made. A grind whose plug-in fails
        is left out.
        """
        settled, points, parts, rows = {}, {}, [], []
        for k, (designs, brief) in batches.items():
            made = self._made(k, designs, brief)
            if made is None:
                continue
            settled[k], ok = made
            points[k] = np.full(len(brief), -np.inf)
            at = np.flatnonzero(ok)
            if not at.size:
                continue
            used, row = renumbered(settled[k].row[at], len(settled[k].designs))
            some = settled[k].designs.taking(used)
            part = Measured.of(self.grinds[k], some, self._base, self.case.registry, row)
            if part is not None:
                parts.append((k, part, at))
                rows.append(brief[at])
        if parts:
            brief = np.concatenate(rows)
            which = np.repeat([k for k, _, _ in parts], [len(part) for _, part, _ in parts])
            measured = Measured.joined([part for _, part, _ in parts], self._context(which, brief))
            found = score(measured, self._rules_for(brief)).penalised_points
            start = 0
            for k, part, at in parts:
                points[k][at] = found[start : start + len(part)]
                start += len(part)
        return settled, points

    def _made(self, k: int, designs: Designs, brief: Index) -> tuple[Settled, npt.NDArray[np.bool_]] | None:
        """The designs as their briefs settle them, and which can be made: the same one under several briefs once."""
        grind, call = self.grinds[k], self.case.registry.call

        def make() -> tuple[Settled, npt.NDArray[np.bool_]]:
            own = self._stock[brief]
            stock = np.where(np.isnan(own), designs["stock_thickness_mm"], own)
            asked = designs.changed(height_mm=self._height[brief], stock_thickness_mm=stock)
            first, row = asked.distinct()
            fixed: dict[str, Any] = {**fixed_columns(self.case.resolved), "stock_thickness_mm": stock[first]}
            made = complete_designs(grind.item, asked.taking(first), fixed)
            ok = np.zeros(len(brief), dtype=bool)
            for shop, briefs in self._workshops.items():
                rows = np.flatnonzero(briefs[brief])
                if rows.size:
                    used, back = renumbered(row[rows], len(first))
                    some = {name: value[used] if np.ndim(value) else value for name, value in fixed.items()}
                    ok[rows] = can_be_made(grind.item, made.taking(used), shop, some)[back]
            return Settled(made, row), ok

        return call(grind.origin, f"checking {grind.item.id}", make)

    @cached_property
    def _base(self) -> Context:
        """What the briefs share; `_context` puts in what they do not."""
        return self.case.resolved.context(self.grinds[0].item)

    @cached_property
    def _stock(self) -> Array:
        """The bar that each brief has decided, NaN where it is open."""
        decided = [b.brief.blade.stock_thickness_mm for b in self.briefs]
        return np.array([np.nan if stock is None else stock for stock in decided])

    @cached_property
    def _height(self) -> Array:
        return np.array([float(b.brief.blade.height_mm or np.nan) for b in self.briefs])

    def stock_range_mm(self, k: int) -> tuple[Array, Array]:
        """The bars to choose from for a grind in each brief, lowest and highest."""
        low, high = zip(*(b.stock_range_of(self.grinds[k].item) for b in self.briefs), strict=True)
        return np.array(low), np.array(high)

    @cached_property
    def _workshops(self) -> dict[Workshop, npt.NDArray[np.bool_]]:
        """Every workshop, and which briefs are for it."""
        shops = [brief.workshop for brief in self.briefs]
        return {shop: np.array([other == shop for other in shops]) for shop in dict.fromkeys(shops)}

    @cached_property
    def _rules(self) -> Rulebook:
        """The rules that some brief leaves in question; every row is a brief."""
        every, weighty = ([brief_facts(b, weighty=kind) for b in self.briefs] for kind in (False, True))
        rows = np.arange(len(self.briefs))
        rules = Rulebook.of(self.case.knowledge, _grouped(every, rows), _grouped(weighty, rows))
        return dataclasses.replace(rules, usual=self.case.rules.usual)  # usual blades know of no brief

    def _rules_for(self, brief: Index) -> Rulebook:
        def by_row(facts: Mapping[str, Any]) -> dict[str, Any]:
            return {n: f.over(brief) if isinstance(f, Grouped) else f for n, f in facts.items()}

        return self._rules.over(by_row(self._rules.facts), by_row(self._rules.weighty_facts))

    @cached_property
    def _tasks(self) -> dict[str, tuple[TaskLoad, Array]]:
        """Every task of any brief with its share in each."""
        loads = {load.task.id: load for brief in self.briefs for load in brief.tasks}
        shares = [{load.task.id: float(load.share) for load in brief.tasks} for brief in self.briefs]
        return {name: (load, np.array([s.get(name, 0.0) for s in shares])) for name, load in loads.items()}

    @cached_property
    def _contexts(self) -> tuple[Context, Index]:
        """The contexts of all briefs, one a row, and the row of each (brief, grind)."""
        contexts: list[Context] = []
        known: dict[tuple[int, frozenset[str]], int] = {}
        row = np.empty((len(self.briefs), len(self.grinds)), dtype=np.intp)
        for i, brief in enumerate(self.briefs):
            for j, grind in enumerate(self.grinds):
                key = i, frozenset(grind.item.surfaces)  # a grind differs from another in what its gear must work
                if key not in known:
                    known[key] = len(contexts)
                    contexts.append(brief.context(grind.item))
                row[i, j] = known[key]
        return Context.joined(contexts, [1] * len(contexts)), row

    def _context(self, which: Index, brief: Index) -> Context:
        contexts, row = self._contexts
        tasks = tuple(TaskLoad(t.task, shares[brief], t.material) for t, shares in self._tasks.values())
        return dataclasses.replace(contexts.taking(row[brief, which], ()), tasks=tasks)


def _grouped(facts: Sequence[Mapping[str, Any]], which: Index) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for name, first in facts[0].items():
        values = [f[name] for f in facts]
        if all(v == first for v in values):
            out[name] = first
        elif any(isinstance(v, frozenset) for v in values) or (None in values and str in map(type, values)):
            out[name] = Grouped(values, which)
        elif any(isinstance(v, str) for v in values) or all(isinstance(v, bool) for v in values):
            out[name] = Grouped(np.array(values), which)
        else:
            out[name] = Grouped(np.array([np.nan if v is None else v for v in values], dtype=float), which)
    return out
