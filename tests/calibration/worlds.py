"""Worlds: the same knowledge with every uncertain number drawn from its band, hidden from whoever answers."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any

import numpy as np

from recommender.engine.answer.explain import designs_of
from recommender.engine.answer.tried_blade import sized
from recommender.engine.intake.case import Case
from recommender.engine.intake.resolve import resolve
from recommender.engine.search.ranking import Best, bests_of
from recommender.engine.answer.recommend import surveyed
from recommender.models.answer.proposal import Proposal
from recommender.models.base import Model, Quantity
from recommender.models.brief import Brief
from recommender.models.knowledge.rule import GoalEffect
from recommender.packs.knowledge import Knowledge
from recommender.service import Service

YARDSTICKS = frozenset({"usual_blade", "envelope"})
"""What a blade is measured against, which is the same in every world."""
WEIGHT_SPREAD = 0.3
HARDNESS_SPREAD_HRC = 1.0


class World:
    """A draw of everything that is uncertain; the same seed gives the same world."""

    def __init__(self, service: Service, seed: int) -> None:
        self._rng = np.random.default_rng(seed)
        self._service = service
        self.knowledge = self._drawn_knowledge(service.knowledge)
        self._harder_hrc = float(self._rng.triangular(-HARDNESS_SPREAD_HRC, 0.0, HARDNESS_SPREAD_HRC))

    def case(self, brief: Brief, hardness_hrc: float, steel: str) -> Case:
        """The brief as this world meets it, its steel as hard as it came out here."""
        held = brief.steel.model_copy(update={"grade": steel, "hardness_hrc": hardness_hrc + self._harder_hrc})
        registry = self._service.registry
        whole = resolve(brief.model_copy(update={"steel": held}), self.knowledge, registry.grinds, "world")
        return Case.of(whole, self.knowledge, registry)

    def _drawn_knowledge(self, knowledge: Knowledge) -> Knowledge:
        tables: dict[str, Any] = {
            kind: {id_: self._drawn(table) for id_, table in getattr(knowledge, kind).items()}
            for kind in ("tasks", "materials", "gear", "steels")
        }
        rules = dict(knowledge.rules)
        for id_, loaded in rules.items():
            effect = loaded.rule.effect
            if isinstance(effect, GoalEffect):
                weight = effect.weight * float(np.exp(WEIGHT_SPREAD * self._rng.standard_normal()))
                other = loaded.rule.model_copy(update={"effect": effect.model_copy(update={"weight": weight})})
                rules[id_] = dataclasses.replace(loaded, rule=other)
        return dataclasses.replace(knowledge, **tables, rules=rules)

    def _drawn(self, table: Any) -> Any:
        changes: dict[str, Any] = {}
        for name in type(table).model_fields:
            value = getattr(table, name)
            if name in YARDSTICKS:
                continue
            if isinstance(value, Quantity):
                changes[name] = value.model_copy(update={"likely": self._number(value)})
            elif isinstance(value, Model):
                changes[name] = self._drawn(value)
        band = getattr(table, "relative_band", None)
        if band is not None:
            factor = float(self._rng.triangular(1 - band, 1.0, 1 + band)) if band else 1.0
            volumes = {n: v * factor for n in type(table).model_fields if isinstance(v := getattr(table, n), float)}
            volumes.pop("relative_band", None)
            changes |= volumes
        return table.model_copy(update=changes)

    def _number(self, q: Quantity) -> float:
        if q.high <= q.low:
            return q.likely
        if q.low > 0:
            return float(np.exp(self._rng.triangular(np.log(q.low), np.log(q.likely), np.log(q.high))))
        return float(self._rng.triangular(q.low, q.likely, q.high))


def best_points(case: Case) -> Mapping[str, float]:
    """Points of the best blade of each grind, found anew."""
    return {best.grind.item.id: best.points for best in bests_of(surveyed(case), case)}


def figures(case: Case, proposal: Proposal) -> Mapping[str, float]:
    """Metrics of a blade that is made already."""
    best: Best | None = sized(case, case.registry.grinds[proposal.grind], designs_of(proposal))
    if best is None:
        return {}
    found = {}
    for name, stamped in case.registry.metrics.items():
        value = best.measured.metric(name) if stamped.item.of == "section" else None
        if value is not None and np.isfinite(value[0]):
            found[name] = float(value[0])
    return found
