"""Limits that the proposal keeps by the likely numbers, and breaks in a good part of the draws."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from recommender.engine.intake.case import Case
from recommender.engine.search.ranking import Best
from recommender.engine.search.scoring import LimitScore, Scores
from recommender.models.answer.proposal import TOLD_SHARE, MayBreak
from recommender.models.answer.served import AS_GOOD_AS_MET


def limits_at_risk(proposed: Best, drawn: Scores, case: Case, draws: int) -> tuple[MayBreak, ...]:
    """Limits broken in more than TOLD_SHARE of the draws, the most often first; `drawn`: the proposal's draws first.

    A demand of a task that the proposal fails by the likely numbers is told already, and left out.
    """
    labels = {load.task.id: load.task.label for load in case.resolved.tasks}
    told = {
        (limit.rule.rule.id, task)
        for limit in proposed.scores.limits
        for task, part in limit.short.items()
        if part[0] > 0
    }
    out = []
    for limit in drawn.limits:
        rule = limit.rule.rule
        failed = {
            task: _failed(part[:draws], drawn.shares[task][:draws])
            for task, part in limit.short.items()
            if (rule.id, task) not in told
        }
        share = float(_broken(limit, list(failed.values()), draws).mean())
        if share > TOLD_SHARE:
            asked = [task for task, rows in failed.items() if rows.any()]
            out.append(
                MayBreak(
                    rule=rule.id,
                    title=rule.title,
                    share=round(share, 3),
                    tasks=tuple(labels[task] for task in asked),
                    safety=rule.safety,
                    pack=limit.rule.pack,
                )
            )
    return tuple(sorted(out, key=lambda each: -each.share))


def _failed(part: npt.NDArray[np.float64], share: npt.NDArray[np.float64]) -> npt.NDArray[np.bool_]:
    """Draws in which a task's demand is failed by more than the numbers can tell from all of it."""
    return np.asarray(part > (1 - AS_GOOD_AS_MET) * share)


def _broken(limit: LimitScore, failed: list[npt.NDArray[np.bool_]], draws: int) -> npt.NDArray[np.bool_]:
    """Draws in which it shuts the proposal out, or fails a task."""
    if limit.short and not failed:  # of every task it is told already
        return np.zeros(draws, dtype=bool)
    return np.asarray(np.any([limit.broken[:draws], *failed], axis=0))
