"""Candidates under many changed briefs at once: one batch, in which every row knows its brief."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from recommender.engine.candidates import can_be_made, fixed_columns, settled
from recommender.engine.case import Case, Rulebook
from recommender.engine.conditions import Grouped
from recommender.engine.facts import brief_facts
from recommender.engine.measuring import Measured
from recommender.engine.resolve import Resolved, sharpening_state
from recommender.engine.scoring import score
from recommender.geometry.arcs import Array
from recommender.mechanics import steel as steel_mechanics
from recommender.plugin.api import SHARPENING_FIGURES, Context, Designs, SharpeningState, SteelState, TaskLoad, Workshop

Index = npt.NDArray[np.intp]


class Variants:
    """Some briefs that differ from a case's in tasks, steel, gear, sizes or workshop, never in what is wished."""

    def __init__(self, case: Case, briefs: Sequence[Resolved]) -> None:
        self.case, self.briefs = case, tuple(briefs)
        self.grinds = list(case.registry.grinds.values())

    def points(self, batches: Mapping[int, tuple[Designs, Index]]) -> tuple[dict[int, Designs], dict[int, Array]]:
        """Settle and score designs, each under a brief of its own.

        `batches`: index of the grind -> (designs (n,), index of the brief (n,)). Gives the settled designs and their
        points, uphill (`Scores.uphill`); -inf where one cannot be made. A grind whose plug-in fails
        is left out.
        """
        settled_designs, points, parts, rows = {}, {}, [], []
        for k, (designs, brief) in batches.items():
            made = self._made(k, designs, brief)
            if made is None:
                continue
            settled_designs[k], ok = made
            points[k] = np.full(len(brief), -np.inf)
            if not ok.any():
                continue
            some = settled_designs[k].taking(ok)
            part = Measured.of(self.grinds[k], some, self._base, self.case.registry, repeats=True)
            if part is not None:
                parts.append((k, part, np.flatnonzero(ok)))
                rows.append(brief[ok])
        if parts:
            brief = np.concatenate(rows)
            which = np.repeat([k for k, _, _ in parts], [len(part) for _, part, _ in parts])
            measured = Measured.joined([part for _, part, _ in parts], self._context(which, brief))
            found = score(measured, self._rules_for(brief)).uphill
            start = 0
            for k, part, at in parts:
                points[k][at] = found[start : start + len(part)]
                start += len(part)
        return settled_designs, points

    def _made(self, k: int, designs: Designs, brief: Index) -> tuple[Designs, npt.NDArray[np.bool_]] | None:
        grind, call = self.grinds[k], self.case.registry.call

        def make() -> tuple[Designs, npt.NDArray[np.bool_]]:
            fixed: dict[str, Any] = dict(fixed_columns(self.case.resolved))
            own = self._stock[brief]
            fixed["stock_thickness_mm"] = np.where(np.isnan(own), designs["stock_thickness_mm"], own)
            made = settled(grind.item, designs.changed(height_mm=self._height[brief]), fixed)
            ok = np.zeros(len(brief), dtype=bool)
            for shop, briefs in self._workshops.items():
                rows = np.flatnonzero(np.isin(brief, briefs))
                if rows.size:
                    some = {name: value[rows] if np.ndim(value) else value for name, value in fixed.items()}
                    ok[rows] = can_be_made(grind.item, made.taking(rows), shop, some)
            return made, ok

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

    @cached_property
    def stock_range_mm(self) -> tuple[Array, Array]:
        """The bars to choose from in each brief, lowest and highest."""
        low, high = zip(*(b.stock_range_mm for b in self.briefs), strict=True)
        return np.array(low), np.array(high)

    @cached_property
    def _workshops(self) -> dict[Workshop, list[int]]:
        found: dict[Workshop, list[int]] = {}
        for k, brief in enumerate(self.briefs):
            found.setdefault(brief.workshop, []).append(k)
        return found

    @cached_property
    def _rules(self) -> Rulebook:
        """The rules that some brief leaves in question; every row is a brief."""
        every, weighty = ([brief_facts(b, weighty=kind) for b in self.briefs] for kind in (False, True))
        rows = np.arange(len(self.briefs))
        return Rulebook.of(self.case.knowledge, _grouped(every, rows), _grouped(weighty, rows))

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
    def _sharpening(self) -> tuple[dict[str, Array], Array]:
        """Figures of sharpening by (brief, grind), and the flaw that it and use leave in the edge, um."""
        known: dict[tuple[tuple[str, ...], frozenset[str]], tuple[SharpeningState, float]] = {}
        shape = (len(self.briefs), len(self.grinds))
        table, flaw = {name: np.empty(shape) for name in SHARPENING_FIGURES}, np.empty(shape)
        for i, brief in enumerate(self.briefs):
            nick = brief.edge_nick_um
            gear = tuple(g.id for g in brief.gear)
            for j, grind in enumerate(self.grinds):
                key = (gear, frozenset(grind.item.surfaces))
                if key not in known:
                    state = sharpening_state(brief.gear, grind.item, brief.brief.owner.skill or "beginner")
                    known[key] = state, brief.scratch_um(state)
                state, scratch = known[key]
                for name in SHARPENING_FIGURES:
                    table[name][i, j] = getattr(state, name)
                flaw[i, j] = max(nick, scratch)
        return table, flaw

    @cached_property
    def _steel(self) -> dict[str, Any]:
        states: list[SteelState] = [b.steel_state for b in self.briefs]
        names = ("hardness_hrc", "yield_mpa", "k_ic_mpa_sqrt_m", "body_failure_mpa", "temper_c")
        return {name: np.array([float(getattr(s, name)) for s in states]) for name in names}

    def _context(self, which: Index, brief: Index) -> Context:
        table, flaw = self._sharpening
        steel: dict[str, Any] = self._steel
        edge = steel_mechanics.failure_stress_mpa(steel["yield_mpa"][:, None], steel["k_ic_mpa_sqrt_m"][:, None], flaw)
        carbides = {
            name: np.array([b.steel_state.carbides[name] for b in self.briefs], dtype=float)[brief]
            for name in self.briefs[0].steel_state.carbides
        }
        base = self._base
        return dataclasses.replace(
            base,
            tasks=tuple(TaskLoad(t.task, shares[brief], t.material) for t, shares in self._tasks.values()),
            steel=dataclasses.replace(
                base.steel,
                **{name: values[brief] for name, values in steel.items()},
                carbides=carbides,
                edge_failure_mpa=edge[brief, which],
            ),
            sharpening=dataclasses.replace(
                base.sharpening, gear=(), **{name: values[brief, which] for name, values in table.items()}
            ),
            thickest_edge_mm=np.array([b.thickest_edge_mm for b in self.briefs])[brief],
            length_mm=np.array([float(b.brief.blade.length_mm or np.nan) for b in self.briefs])[brief],
        )


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
