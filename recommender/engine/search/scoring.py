"""Rules applied to candidates: goals and leans give points, limits cost points or shut out.

points = 75 sum(w g) / sum(w) + 12.5 + leans - costs, leans clipped to +-12.5 together: physics decides, opinion tips.
A goal is reached from 0 to 1 over its window, of values or of ratios to the task's usual blade; beyond the worse end it
falls on a little, so that a worse figure always counts for something.
What a rule says of tasks comes in with their share of the work. A limit on tasks shuts out where those that the blade
fails are half of the work or more; below, it costs points that grow with their share and with how far it fails.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from recommender.engine.intake.case import Rulebook
from recommender.engine.intake.conditions import Grouped, fires
from recommender.engine.search.candidate_facts import CandidateFacts
from recommender.engine.search.measuring import Measured
from recommender.engine.search.usual_blade import UsualFigures
from recommender.geometry.arcs import Array
from recommender.models.knowledge.rule import GoalEffect, LeanEffect, LimitEffect
from recommender.packs.knowledge import LoadedRule
from recommender.plugin.api import TaskLoad

GOAL_POINTS = 75.0
LEAN_CAP = 12.5
BROKEN_POINTS = 1000.0
"""What a broken limit takes off where broken ones are compared: more than points can make good."""
FORBIDS_FROM_SHARE = 0.5
"""Of the work: a limit that so much of it fails shuts out."""
MOST_BELOW = 0.1
"""Of a goal's weight: what a figure may lose beyond the worse end of its window."""
HALF_LOST_AT = 0.3
"""Of the window's width: so far beyond the worse end half of that is lost."""
COST_AT_HALF = 30.0
"""Points that failing half of the work altogether costs: 0.6 for one percent, so that no share is a cliff."""


@dataclass(frozen=True)
class GoalScore:
    """A goal over n candidates: its metric, its place in the window, and its weight (0 where it is silent)."""

    rule: LoadedRule
    value: Array
    reached: Array
    """Above -MOST_BELOW, at most 1."""
    weight: Array
    of_usual: Array | None = None
    """The metric over that of the tasks' usual blades, where the window is of ratios."""

    def alone(self, rows: npt.NDArray[np.intp]) -> GoalScore:
        """What it says about some candidates."""
        ratio = None if self.of_usual is None else self.of_usual[rows]
        return GoalScore(self.rule, self.value[rows], self.reached[rows], self.weight[rows], ratio)


@dataclass(frozen=True)
class LeanScore:
    """A lean over n candidates, points where it fires."""

    rule: LoadedRule
    points: Array


@dataclass(frozen=True)
class LimitScore:
    """A limit over n candidates: where it is broken, the value it looks at, by how much (in the value's unit)."""

    rule: LoadedRule
    broken: npt.NDArray[np.bool_]
    value: npt.NDArray[Any]
    """Of the task that it fails most, where there are several."""
    excess: Array
    short: Mapping[str, Array] = field(default_factory=dict)
    """Task -> share of the work times how far it fails, 0 to 1; of limits on tasks."""

    def alone(self, rows: npt.NDArray[np.intp]) -> LimitScore:
        """What it says about some candidates."""
        short = {task: part[rows] for task, part in self.short.items()}
        return LimitScore(self.rule, self.broken[rows], self.value[rows], self.excess[rows], short)


@dataclass(frozen=True)
class Scores:
    """Everything rules say about n candidates."""

    goals: list[GoalScore]
    leans: list[LeanScore]
    limits: list[LimitScore]
    n: int
    shares: Mapping[str, Array] = field(default_factory=dict)
    """Task -> its share of the work for each candidate, (n,)."""

    def alone(self, rows: npt.NDArray[np.intp]) -> Scores:
        """What they say about some candidates, by index: goals and leans that are silent on all of them left out."""
        return Scores(
            [g.alone(rows) for g in self.goals if g.weight[rows].any()],
            [LeanScore(lean.rule, lean.points[rows]) for lean in self.leans if lean.points[rows].any()],
            [limit.alone(rows) for limit in self.limits],
            len(rows),
            {task: share[rows] for task, share in self.shares.items()},
        )

    def of(self, row: int) -> Scores:
        """What they say about one candidate."""
        return self.alone(np.array([row]))

    @property
    def goal_points(self) -> Array:
        """75 sum(w g) / sum(w); 0 where no goal speaks."""
        weight = sum((g.weight for g in self.goals), np.zeros(self.n))
        won = sum((g.weight * g.reached for g in self.goals), np.zeros(self.n))
        return np.asarray(GOAL_POINTS * won / np.where(weight > 0, weight, 1.0))

    def points_of(self, goal: GoalScore) -> Array:
        """Points one goal brings."""
        weight = sum((g.weight for g in self.goals), np.zeros(self.n))
        return np.asarray(GOAL_POINTS * goal.weight * goal.reached / np.where(weight > 0, weight, 1.0))

    def most_of(self, goal: GoalScore) -> Array:
        """Points one goal could bring."""
        weight = sum((g.weight for g in self.goals), np.zeros(self.n))
        return np.asarray(GOAL_POINTS * goal.weight / np.where(weight > 0, weight, 1.0))

    @property
    def lean_points(self) -> Array:
        """Leans together, clipped."""
        total = sum((lean.points for lean in self.leans), np.zeros(self.n))
        return np.asarray(np.clip(total, -LEAN_CAP, LEAN_CAP))

    @cached_property
    def costs(self) -> list[Array]:
        """Points that each limit costs, (n,): a task that fails several of them costs no more than one altogether.

        COST_AT_HALF x min(share / FORBIDS_FROM_SHARE, 1) x (1 - prod(1 - part failed)) for each task, by those parts.
        """
        out = [np.zeros(self.n) for _ in self.limits]
        for task in dict.fromkeys(task for limit in self.limits for task in limit.short):
            parts = {k: limit.short[task] for k, limit in enumerate(self.limits) if task in limit.short}
            share = self.shares[task]
            met = np.prod([1 - part / np.where(share > 0, share, 1.0) for part in parts.values()], axis=0)
            together = sum(parts.values(), np.zeros(self.n))
            cost = COST_AT_HALF * np.minimum(share / FORBIDS_FROM_SHARE, 1.0) * (1 - met)
            for k, part in parts.items():
                out[k] = out[k] + cost * part / np.where(together > 0, together, 1.0)
        return out

    @property
    def cost_points(self) -> Array:
        """What limits cost, 0 or less."""
        return -sum(self.costs, np.zeros(self.n))

    @property
    def points(self) -> Array:
        """Goals, the middle of the leans' room, leans, and what limits cost."""
        return self.goal_points + LEAN_CAP + self.lean_points + self.cost_points

    @property
    def penalised_points(self) -> Array:
        """Points less BROKEN_POINTS for every limit broken: the way back to what passes leads up."""
        return self.points - BROKEN_POINTS * self.broken_count

    @property
    def broken_count(self) -> npt.NDArray[np.intp]:
        """How many limits each candidate breaks."""
        return np.asarray(sum((limit.broken for limit in self.limits), np.zeros(self.n, dtype=int)))


def score(
    measured: Measured,
    rules: Rulebook,
    weights: Mapping[str, Array] | None = None,
    usual: UsualFigures | None = None,
) -> Scores:
    """Apply every rule to a batch of candidates; `weights` multiplies goals' weights, by rule id, (n,) each.

    `usual` are the usual blades under the coefficients of the batch, where those are not the likely ones.
    """
    n = len(measured)
    usual = usual or UsualFigures(rules.knowledge, measured.registry, known=rules.usual)
    goals = [g for r in rules.goals if (g := _goal(r, measured, rules, usual, weights))]
    leans = [
        LeanScore(r, np.broadcast_to(mask * r.rule.effect.points * _share(r, measured), (n,)))
        for r in rules.leans
        if isinstance(r.rule.effect, LeanEffect) and (mask := _mask(r, measured, rules.facts)).any()
    ]
    limits = [s for r in rules.limits if (s := _limit(r, measured, rules.facts))]
    shares = {load.task.id: np.broadcast_to(np.asarray(load.share, float), (n,)) for load in measured.context.tasks}
    return Scores(goals, leans, limits, n, shares)


def own_goals(measured: Measured, rules: Rulebook, task: str) -> list[GoalScore]:
    """What the goals of one task say, as though it were all of the work: its share moves none of it."""
    usual = UsualFigures(rules.knowledge, measured.registry, known=rules.usual)
    own = (r for r in rules.goals if task in r.tasks)
    return [goal for r in own if (goal := _goal(r, measured, rules, usual, None, frozenset({task})))]


def _mask(loaded: LoadedRule, measured: Measured, shared: Mapping[str, Any]) -> npt.NDArray[np.bool_]:
    return fires(loaded.rule.when, CandidateFacts(shared, measured, loaded.tasks))


def _goal(
    loaded: LoadedRule,
    measured: Measured,
    rules: Rulebook,
    usual: UsualFigures,
    weights: Mapping[str, Array] | None,
    alone: frozenset[str] = frozenset(),
) -> GoalScore | None:
    """A goal over candidates; `alone`: the task that it is asked of as though there were no other."""
    effect = loaded.rule.effect
    assert isinstance(effect, GoalEffect)
    mask = _mask(loaded, measured, rules.facts)
    if not mask.any():
        return None
    tasks = alone or loaded.tasks
    value = measured.metric(effect.metric, tasks)
    if value is None:
        return None
    ratio: Array | None = None
    if effect.of_usual:
        ratio = _of_usual(loaded, tasks, measured, usual)
        if ratio is None:
            return None
        with np.errstate(divide="ignore"):
            place = np.log(ratio / effect.from_) / np.log(effect.to / effect.from_)
    else:
        place = (value - effect.from_) / (effect.to - effect.from_)
    reached = reached_at(place)
    applies = measured.applies(effect.metric, tasks)
    share = 1.0 if alone else _share(loaded, measured)
    weight = np.broadcast_to(mask * effect.weight * share * applies, value.shape)
    if weights is not None:
        weight = weight * weights[loaded.rule.id]
    return GoalScore(loaded, value, reached, weight, ratio)


def reached_at(place: Array) -> Array:
    """What a place x in a window is worth: x from 0 to 1, no more beyond; below 0 MOST_BELOW x/(HALF_LOST_AT - x).

    A figure that is NaN does not get there: that is the worst there is.

    >>> reached_at(np.array([2.0, 0.25, -1.0, np.nan])).round(3).tolist()
    [1.0, 0.25, -0.077, -0.1]
    """
    below = MOST_BELOW * (1 / (1 - np.fmin(place, 0.0) / HALF_LOST_AT) - 1)  # x may be infinite
    return np.asarray(np.where(place > 0, np.minimum(place, 1.0), np.where(np.isnan(place), -MOST_BELOW, below)))


def _of_usual(loaded: LoadedRule, tasks: frozenset[str], measured: Measured, usual: UsualFigures) -> Array | None:
    """A goal's metric over that of the usual blade, (n,): of several tasks the geometric mean by their shares.

    0 or infinite where a figure that must be positive is not; None where no task has a usual blade with the metric.
    """
    effect = loaded.rule.effect
    assert isinstance(effect, GoalEffect)
    logs, shares = [], []
    for load in measured.context.tasks:
        if load.task.id not in tasks:
            continue
        value = measured.metric(effect.metric, frozenset({load.task.id}))
        measure = usual.figure(load.task.id, effect.metric)
        if value is None or measure is None or not np.all(measure > 0):
            continue
        with np.errstate(divide="ignore", invalid="ignore"):
            logs.append(np.log(np.maximum(value, 0.0) / measure))
        shares.append(load.share)
    if not logs:
        return None
    if len(logs) == 1:
        return np.asarray(np.exp(logs[0]))
    total = sum(shares)
    mean = sum(np.where(np.asarray(s) > 0, s * log, 0.0) for s, log in zip(shares, logs, strict=True))
    return np.asarray(np.exp(mean / np.where(total > 0, total, 1.0)))


def _share(loaded: LoadedRule, measured: Measured) -> Any:
    """Share of the work that a rule speaks of: all of it for one that names no task; a number, or (n,)."""
    if not loaded.tasks:
        return 1.0
    return sum(load.share for load in measured.context.tasks if load.task.id in loaded.tasks)


def _limit(loaded: LoadedRule, measured: Measured, shared: Mapping[str, Any]) -> LimitScore | None:
    mask = _mask(loaded, measured, shared)
    if not mask.any():
        return None
    tasks = _asking(loaded, measured, shared)
    if not tasks:
        found = _outside(loaded, measured, shared, loaded.tasks)
        if found is None:
            return None
        value, excess, outside = found
        return LimitScore(loaded, outside & mask, value, excess)
    n = len(measured)
    failed, worst, short = np.zeros(n), np.full(n, -1.0), {}
    shown: tuple[npt.NDArray[Any], Array] | None = None
    for load, own in tasks:
        found = _outside(loaded, measured, shared, frozenset({load.task.id}))
        if found is None:
            continue
        value, excess, outside = found
        outside = outside & own
        part = np.where(outside, _part_failed(loaded, excess, value), 0.0)
        share = np.broadcast_to(np.asarray(load.share, dtype=float), (n,))
        failed = failed + share * outside
        short[load.task.id] = share * part
        more = part * (share > 0) > worst
        worst = np.where(more, part, worst)
        shown = (
            (value, excess) if shown is None else (np.where(more, value, shown[0]), np.where(more, excess, shown[1]))
        )
    if shown is None:
        return None
    return LimitScore(loaded, failed >= FORBIDS_FROM_SHARE - 1e-9, *shown, short)


def _asking(
    loaded: LoadedRule, measured: Measured, shared: Mapping[str, Any]
) -> list[tuple[TaskLoad, npt.NDArray[np.bool_]]]:
    """The tasks for each of which a limit asks something, and where; none for a limit on the blade whatever it does."""
    effect = loaded.rule.effect
    assert isinstance(effect, LimitEffect)
    metric = measured.registry.metrics.get(effect.metric) if effect.metric else None
    if not loaded.tasks and (metric is None or metric.item.compute_for_task is None):
        return []
    out = []
    for load in measured.context.tasks:
        if not loaded.tasks or load.task.id in loaded.tasks:
            alone = {**shared, "brief.tasks": frozenset({load.task.id})}
            own = _mask(loaded, measured, alone)
            if own.any():
                out.append((load, own))
    return out


def _outside(
    loaded: LoadedRule, measured: Measured, shared: Mapping[str, Any], tasks: frozenset[str]
) -> tuple[npt.NDArray[Any], Array, npt.NDArray[np.bool_]] | None:
    """The value that a limit looks at for some tasks, by how much it is out of bounds, and where, (n,)."""
    effect = loaded.rule.effect
    assert isinstance(effect, LimitEffect)
    fact = CandidateFacts(shared, measured, tasks)(f"metric.{effect.metric}" if effect.metric else str(effect.field))
    if fact is None:
        return None
    n = len(measured)
    value = np.broadcast_to(fact.rows if isinstance(fact, Grouped) else np.asarray(fact), (n,))
    excess = np.zeros(n)
    if effect.in_ is not None:
        outside = ~np.isin(value, list(effect.in_))
    else:
        low = effect.min if effect.min is not None else -np.inf
        high = effect.max if effect.max is not None else np.inf
        excess = np.maximum(low - value, value - high)
        outside = ~(excess <= 1e-9)
    if effect.metric:
        outside = outside & measured.applies(effect.metric, tasks)
    return value, np.maximum(excess, 0.0), outside


def _part_failed(loaded: LoadedRule, excess: Array, value: npt.NDArray[Any]) -> Array:
    """How far a limit fails, 0 to 1: by its scale; altogether where it asks for words, or never gets there (NaN)."""
    effect = loaded.rule.effect
    assert isinstance(effect, LimitEffect)
    if effect.in_ is not None:
        return np.ones(len(value))
    bound = effect.min if effect.min is not None else effect.max
    scale = effect.scale or abs(float(bound or 0.0)) or 1.0
    return np.where(np.isnan(excess), 1.0, np.minimum(excess / scale, 1.0))
