"""A few blades of each grind, on which is seen whether rules do what their conditions seem to allow."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from recommender.engine.case import Case
from recommender.engine.conditions import fires
from recommender.engine.facts import CandidateFacts
from recommender.engine.measuring import Measured
from recommender.engine.ranking import survey
from recommender.engine.scoring import Scores
from recommender.packs.knowledge import LoadedRule

LOOKED_AT = 60
"""Designs of each grind."""


@dataclass(frozen=True)
class ShutOut:
    """How many blades limits shut out where all of them fire, and how many pass."""

    out: int
    passed: int


def shut_out_by(case: Case, limits: Sequence[LoadedRule]) -> ShutOut:
    """What limits do to a few blades of each grind; a limit whose value has no meaning for a blade lets it pass."""
    out = passed = 0
    for measured, scores in looked_at(case):
        every = np.ones(len(measured), dtype=bool)
        for loaded in limits:
            every &= fires(loaded.rule.when, CandidateFacts(case.rules.weighty_facts, measured, loaded.tasks))
        broken = scores.broken_count > 0
        out += int((every & broken).sum())
        passed += int((~broken).sum())
    return ShutOut(out, passed)


def most_leans(case: Case, sign: float) -> float:
    """The most that leans add up to for one of a few blades of each grind, for (1) or against (-1)."""
    sums = [sum((lean.points for lean in scores.leans), np.zeros(scores.n)) for _, scores in looked_at(case)]
    return max((float((sign * np.asarray(total)).max(initial=0.0)) for total in sums), default=0.0)


def reached(case: Case, goal: LoadedRule, n: int) -> npt.NDArray[np.float64]:
    """How far into its window each of some blades of each grind comes under a goal, where it speaks of them."""
    parts = [
        score.reached[score.weight > 0]
        for _, scores in looked_at(case, n)
        for score in scores.goals
        if score.rule.rule.id == goal.rule.id
    ]
    return np.concatenate(parts) if parts else np.zeros(0)


def looked_at(case: Case, n: int = LOOKED_AT) -> Iterator[tuple[Measured, Scores]]:
    """A few blades of each grind, measured and scored."""
    for grind in case.registry.grinds.values():
        field = survey(grind, case, n)
        if field.measured is not None and field.scores is not None:
            yield field.measured, field.scores
