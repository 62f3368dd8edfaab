"""Which rules an answer hangs on: those without which another blade would have won.

Blades are held as they are: points are reckoned again without a rule, and no blade is sought anew.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from recommender.engine.case import Case
from recommender.engine.form import choose
from recommender.engine.ranking import Best
from recommender.engine.scoring import Scores
from recommender.errors import GeometryError
from recommender.models.proposal import Answer

LEVEL = 1e-9
"""Points that are rounding."""


def decided_by(case: Case, answer: Answer, best: Best | None, others: Iterable[Best]) -> frozenset[str]:
    """Ids of the rules that decide an answer: limits, goals and leans; what is said with it is not reckoned here.

    A limit that alone shuts out a blade with more points, or everything where nothing fits; a goal or lean without
    which the best of another grind would lead; and whatever the form of the blade hangs on.
    """
    if best is None:
        return frozenset(s.rule for s in answer.blocked if s.rule is not None and s.alone)
    behind = [other.scores for other in others if other.points <= best.points]
    return frozenset(
        (*(d.rule for d in answer.deciding), *_of_grind(best.scores, behind), *_of_form(best, case)),
    )


def _of_grind(scores: Scores, behind: list[Scores]) -> set[str]:
    found = set()
    for id_ in _spoken(scores).union(*map(_spoken, behind)):
        ours = float(without(scores, id_).points[0])
        if any(float(without(theirs, id_).points[0]) > ours + LEVEL for theirs in behind):
            found.add(id_)
    return found


def _of_form(best: Best, case: Case) -> set[str]:
    try:
        chosen = choose(best, case)
    except GeometryError:  # no blade to have a form
        return set()

    def winner(scores: Scores) -> int:
        points = scores.uphill
        return int(np.argmax(points > points.max() - LEVEL))

    scores = chosen.scores
    named = _spoken(scores) | {limit.rule.rule.id for limit in scores.limits if limit.broken.any()}
    return {id_ for id_ in named if winner(without(scores, id_)) != chosen.row}


def _spoken(scores: Scores) -> set[str]:
    return {entry.rule.rule.id for entry in (*scores.goals, *scores.leans)}


def without(scores: Scores, id_: str) -> Scores:
    """The scores as they would be but for one rule."""
    goals = [goal for goal in scores.goals if goal.rule.rule.id != id_]
    leans = [lean for lean in scores.leans if lean.rule.rule.id != id_]
    limits = [limit for limit in scores.limits if limit.rule.rule.id != id_]
    return Scores(goals, leans, limits, scores.n)
