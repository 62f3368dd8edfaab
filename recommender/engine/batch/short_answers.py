"""Rows answered one by one, each in short."""

from __future__ import annotations

from collections.abc import Callable

from recommender.engine.batch.rows import SweepRow
from recommender.errors import GeometryError, InputError
from recommender.models.answer.proposal import Answer
from recommender.models.answer.sweep import RunnerUp, Swept
from recommender.models.brief import Brief


def sweep_row(row: SweepRow, recommend: Callable[[Brief, str], Answer]) -> Swept:
    """Answer a row, the brief and its place given to `recommend`; what is wrong with it becomes its outcome."""
    try:
        if isinstance(row.asked, InputError):
            raise row.asked
        return _in_short(row, recommend(row.asked, row.place))
    except (InputError, GeometryError) as problem:
        return Swept(row=row.number, line=row.line, id=row.id, outcome="bad input", error=str(problem))


def _in_short(row: SweepRow, answer: Answer) -> Swept:
    proposal, sure = answer.proposal, answer.confidence
    return Swept(
        row=row.number,
        line=row.line,
        id=row.id,
        outcome="answered" if proposal else "nothing fits",
        proposal=proposal,
        points=answer.points.total if answer.points else None,
        confidence=sure.wins.get(proposal.grind, 0.0) if sure and proposal else None,
        runner_up=_runner_up(answer),
        blocked=tuple(shut.reason for shut in answer.blocked),
        cautions=tuple(caution.text for caution in answer.cautions),
        costs=tuple(answer.costs),
        failed=tuple(answer.provenance.failed),
        plugins_blocked=tuple(answer.provenance.blocked),
    )


def _runner_up(answer: Answer) -> RunnerUp | None:
    others = [(a.behind, a.grind, a.grind_label) for a in answer.alternatives if a.behind is not None]
    if not others:
        return None
    behind, grind, label = min(others)
    return RunnerUp(grind=grind, grind_label=label, points_behind=behind)
