"""Worlds: a brief asked where every uncertain number is drawn from its band, hidden from whoever answers."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from statistics import NormalDist
from typing import Any

import numpy as np

from recommender.engine.answer.explain import designs_of
from recommender.engine.answer.recommend import surveyed
from recommender.engine.answer.tried_blade import sized
from recommender.engine.intake.case import Case
from recommender.engine.intake.resolve import Resolved, resolve
from recommender.engine.search.ranking import bests_of
from recommender.engine.search.usual_blade import UsualFigures
from recommender.engine.sensitivity.drawer import Drawer
from recommender.engine.sensitivity.drawn_context import drawn_coefficients, drawn_context
from recommender.geometry.arcs import Array
from recommender.models.answer.proposal import Proposal
from recommender.models.brief import Brief
from recommender.models.knowledge.rule import GoalEffect
from recommender.plugin.api import Context, Grind
from recommender.plugin.registry import Registry
from recommender.service import Service


class OneDraw(Drawer):
    """A single draw: even by the normal distribution itself, as there are no others to rank it among."""

    def even(self, scores: Array) -> Array:
        """The share of the normal distribution below each score."""
        return np.array([NormalDist().cdf(float(score)) for score in scores])


class DrawnBrief(Resolved):
    """A brief whose metrics are told drawn numbers where they would be told likely ones."""

    _drawer: Drawer

    def context(self, grind: Grind) -> Context:
        """What metrics may know, every uncertain number drawn once for the whole world."""
        return drawn_context([super().context(grind)], self, self._drawer)


class _Figures(dict[tuple[str, str], Any]):
    """What is known of usual blades in a world: everything, by its numbers."""

    def __init__(self, figures: UsualFigures) -> None:
        super().__init__()
        self._figures = figures

    def __contains__(self, key: object) -> bool:
        return True

    def __getitem__(self, key: tuple[str, str]) -> Any:
        return self._figures.figure(*key)


def world(service: Service, brief: Brief, seed: int) -> Case:
    """The brief in the world of a seed, in which people also weigh goals by their own taste."""
    rng = np.random.default_rng(seed)
    drawer = OneDraw(rng, 1)
    told = resolve(brief, service.knowledge, service.registry.grinds, "world")
    drawn = DrawnBrief(**{f.name: getattr(told, f.name) for f in dataclasses.fields(Resolved)})
    object.__setattr__(drawn, "_drawer", drawer)
    rules = {}
    for id_, loaded in service.knowledge.rules.items():
        effect = loaded.rule.effect
        if isinstance(effect, GoalEffect):
            weight = effect.weight * float(drawer.weight(f"weight of {id_}")[0])
            other = loaded.rule.model_copy(update={"effect": effect.model_copy(update={"weight": weight})})
            loaded = dataclasses.replace(loaded, rule=other)
        rules[id_] = loaded
    case = Case.of(drawn, dataclasses.replace(service.knowledge, rules=rules), service.registry)
    figures = _usual_figures(case.registry, told, drawer, service)
    case.__dict__["rules"] = dataclasses.replace(case.rules, usual=_Figures(figures))
    return case


def _usual_figures(registry: Registry, told: Resolved, drawer: Drawer, service: Service) -> UsualFigures:
    grind = next(iter(registry.grinds.values())).item
    coefficients = drawn_coefficients(told.context(grind), drawer, 1)
    return UsualFigures(service.knowledge, registry, coefficients)


def best_points(case: Case) -> Mapping[str, float]:
    """Points of the best blade of each grind, found anew."""
    return {best.grind.item.id: best.points for best in bests_of(surveyed(case), case)}


def figures(case: Case, proposal: Proposal) -> Mapping[str, float]:
    """Metrics of a blade that is made already."""
    best = sized(case, case.registry.grinds[proposal.grind], designs_of(proposal))
    found: dict[str, float] = {}
    if best is None:
        return found
    for name, stamped in case.registry.metrics.items():
        value = best.measured.metric(name) if stamped.item.of == "section" else None
        if value is not None and np.isfinite(value[0]):
            found[name] = float(value[0])
    return found
