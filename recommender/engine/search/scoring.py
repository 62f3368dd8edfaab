"""Rules applied to candidates: limits shut out, goals and leans give points.

points = 75 sum(w g) / sum(w) + 12.5 + leans, leans clipped to +-12.5 together: physics decides, opinion tips.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from recommender.engine.intake.case import Rulebook
from recommender.engine.intake.conditions import Grouped, fires
from recommender.engine.search.candidate_facts import CandidateFacts
from recommender.engine.search.measuring import Measured
from recommender.geometry.arcs import Array
from recommender.models.knowledge.rule import GoalEffect, LeanEffect, LimitEffect
from recommender.packs.knowledge import LoadedRule

GOAL_POINTS = 75.0
LEAN_CAP = 12.5
BROKEN_POINTS = 1000.0
"""What a broken limit takes off where broken ones are compared: more than points can make good."""


@dataclass(frozen=True)
class GoalScore:
    """A goal over n candidates: its metric, its place in the window 0..1, and its weight (0 where it is silent)."""

    rule: LoadedRule
    value: Array
    reached: Array
    weight: Array


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
    excess: Array


@dataclass(frozen=True)
class Scores:
    """Everything rules say about n candidates."""

    goals: list[GoalScore]
    leans: list[LeanScore]
    limits: list[LimitScore]
    n: int

    def alone(self, row: int) -> Scores:
        """What they say about one candidate: rules silent on it left out."""
        rows = np.array([row])
        return Scores(
            [GoalScore(g.rule, g.value[rows], g.reached[rows], g.weight[rows]) for g in self.goals if g.weight[row]],
            [LeanScore(lean.rule, lean.points[rows]) for lean in self.leans if lean.points[row]],
            [LimitScore(s.rule, s.broken[rows], s.value[rows], s.excess[rows]) for s in self.limits],
            1,
        )

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

    @property
    def points(self) -> Array:
        """Goals, the middle of the leans' room, and leans."""
        return self.goal_points + LEAN_CAP + self.lean_points

    @property
    def penalised_points(self) -> Array:
        """Points less BROKEN_POINTS for every limit broken: the way back to what passes leads up."""
        return self.points - BROKEN_POINTS * self.broken_count

    @property
    def broken_count(self) -> npt.NDArray[np.intp]:
        """How many limits each candidate breaks."""
        return np.asarray(sum((limit.broken for limit in self.limits), np.zeros(self.n, dtype=int)))


def score(measured: Measured, rules: Rulebook, weights: Mapping[str, Array] | None = None) -> Scores:
    """Apply every rule to a batch of candidates; `weights` multiplies goals' weights, by rule id, (n,) each."""
    n = len(measured)
    goals = [g for r in rules.goals if (g := _goal(r, measured, rules, weights))]
    leans = [
        LeanScore(r, np.broadcast_to(mask * r.rule.effect.points, (n,)))
        for r in rules.leans
        if isinstance(r.rule.effect, LeanEffect) and (mask := _mask(r, measured, rules.facts)).any()
    ]
    limits = [s for r in rules.limits if (s := _limit(r, measured, rules.weighty_facts))]
    return Scores(goals, leans, limits, n)


def _mask(loaded: LoadedRule, measured: Measured, shared: Mapping[str, Any]) -> npt.NDArray[np.bool_]:
    return fires(loaded.rule.when, CandidateFacts(shared, measured, loaded.tasks))


def _goal(
    loaded: LoadedRule,
    measured: Measured,
    rules: Rulebook,
    weights: Mapping[str, Array] | None,
) -> GoalScore | None:
    effect = loaded.rule.effect
    assert isinstance(effect, GoalEffect)
    mask = _mask(loaded, measured, rules.facts)
    if not mask.any():
        return None
    tasks = loaded.tasks
    value = measured.metric(effect.metric, tasks)
    if value is None:
        return None
    share = sum(t.share for t in measured.context.tasks if t.task.id in tasks) if tasks else 1.0
    # What is NaN (it does not get there) wins nothing: `fmax` takes the number.
    reached = np.minimum(np.fmax((value - effect.from_) / (effect.to - effect.from_), 0.0), 1.0)
    applies = measured.applies(effect.metric, tasks)
    weight = np.broadcast_to(mask * effect.weight * share * applies, value.shape)
    if weights is not None:
        weight = weight * weights[loaded.rule.id]
    return GoalScore(loaded, value, reached, weight)


def _limit(loaded: LoadedRule, measured: Measured, shared: Mapping[str, Any]) -> LimitScore | None:
    effect = loaded.rule.effect
    assert isinstance(effect, LimitEffect)
    mask = _mask(loaded, measured, shared)
    if not mask.any():
        return None
    facts = CandidateFacts(shared, measured, loaded.tasks)
    fact = facts(f"metric.{effect.metric}" if effect.metric else str(effect.field))
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
        outside = outside & measured.applies(effect.metric, loaded.tasks)
    return LimitScore(loaded, outside & mask, value, np.maximum(excess, 0.0))
