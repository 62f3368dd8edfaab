"""Which rules an answer hangs on: those without which another blade would have won.

Points are reckoned again without a rule: of the blades that the answer names, of those a shop step or two beside the
proposal, and of its forms. No blade is sought anew, so a rule may decide more than is said here, hardly less.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np

from recommender.engine.answer.explain import behind_edge_words
from recommender.engine.intake.case import Case
from recommender.engine.search.blade_form import choose
from recommender.engine.search.ranking import Best, Field, neighbours
from recommender.engine.search.scoring import LimitScore, Scores, score
from recommender.errors import GeometryError
from recommender.geometry.ground_face import is_one_bevel
from recommender.models.answer.proposal import EQUAL_POINTS, Answer, Deciding

LEVEL = 1e-9
"""Points that are rounding."""


class DecidedBy(NamedTuple):
    """Ids of limits, goals and leans without which an answer would have been another."""

    grind: frozenset[str]
    """Another grind; where nothing fits, something would."""
    shape: frozenset[str]
    """Other dimensions, or another form of the blade."""


def limits_that_decide(fields: Iterable[Field], winner: Best) -> list[Deciding]:
    """Limits without which the answer would have been another grind or clearly more points."""
    best: dict[str, tuple[float, Field, int, LimitScore]] = {}
    for found in fields:
        if found.scores is None:
            continue
        for limit, cost in zip(found.scores.limits, found.scores.costs, strict=True):
            rows = np.flatnonzero(limit.broken & (found.scores.broken_count == 1))
            if not rows.size:
                continue
            scored = found.scores.points[rows] + cost[rows]  # without it
            top = int(np.argmax(scored))
            key = limit.rule.rule.id
            if scored[top] > winner.points + EQUAL_POINTS and (key not in best or scored[top] > best[key][0]):
                best[key] = (float(scored[top]), found, int(rows[top]), limit)
    out = []
    for key, (points, found, row, limit) in sorted(best.items(), key=lambda item: -item[1][0]):
        assert found.measured is not None
        designs = found.measured.designs
        one = is_one_bevel(found.measured.sections.outlines[row : row + 1])[0]
        behind = behind_edge_words(
            float(designs["edge_thickness_mm"][row]), float(designs["grind_line_mm"][row]) if one else None
        )
        text = (
            f"without it: {found.grind.item.label}, {designs['edge_angle_per_side_deg'][row]:.1f}° per side "
            f"({designs.edge_angle_included_deg[row]:.1f}° included), "
            f"{behind}, {designs['stock_thickness_mm'][row]:.1f} mm stock ({points:.1f} points)"
        )
        out.append(
            Deciding(
                rule=key,
                title=limit.rule.rule.title,
                grind=found.grind.item.id,
                points=round(points, 2),
                text=text,
                pack=limit.rule.pack,
            )
        )
    return out


def decided_by(case: Case, answer: Answer, best: Best | None, others: Iterable[Best]) -> DecidedBy:
    """The rules that an answer hangs on; what is said with it is not reckoned here."""
    if best is None or answer.proposal is None:
        return DecidedBy(frozenset(s.rule for s in answer.blocked if s.rule is not None and s.alone), frozenset())
    shut = {d.rule: d.grind for d in answer.deciding}
    behind = [other.scores for other in others if other.points <= best.points]
    another = {rule for rule, grind in shut.items() if grind != answer.proposal.grind}
    return DecidedBy(
        frozenset(another | _of_grind(best.scores, behind)),
        frozenset(set(shut) - another | _of_dimensions(best, case) | _of_form(best, case)),
    )


def _of_grind(scores: Scores, behind: list[Scores]) -> set[str]:
    """Goals and leans without which the best of another grind would lead."""
    found = set()
    for id_ in spoken(scores).union(*map(spoken, behind)):
        ours = float(without(scores, id_).points[0])
        if any(float(without(theirs, id_).points[0]) > ours + LEVEL for theirs in behind):
            found.add(id_)
    return found


def _of_dimensions(best: Best, case: Case) -> set[str]:
    near = neighbours(best, case)
    return set() if near is None else _holding(score(near, case.rules), 0)


def _of_form(best: Best, case: Case) -> set[str]:
    try:
        chosen = choose(best, case)
    except GeometryError:  # no blade to have a form
        return set()
    return _holding(chosen.scores, chosen.row)


def _holding(scores: Scores, winner: int) -> set[str]:
    """Rules without which another row would beat the winner, or, as chosen before it, come level."""

    def first(points: np.ndarray) -> int:
        return int(np.argmax(points > points.max() - LEVEL))

    if first(scores.penalised_points) != winner:  # it won by more than these points
        return set()
    return {id_ for id_ in spoken(scores) if first(without(scores, id_).penalised_points) != winner}


def spoken(scores: Scores) -> set[str]:
    """Ids of the rules that say anything of some row: goals and leans that fire, limits that are broken."""
    broken = [limit.rule for limit in scores.limits if limit.broken.any()]
    return {
        loaded.rule.id for loaded in [*(g.rule for g in scores.goals), *(lean.rule for lean in scores.leans), *broken]
    }


def without(scores: Scores, id_: str) -> Scores:
    """The scores as they would be but for one rule."""
    goals = [goal for goal in scores.goals if goal.rule.rule.id != id_]
    leans = [lean for lean in scores.leans if lean.rule.rule.id != id_]
    limits = [limit for limit in scores.limits if limit.rule.rule.id != id_]
    return Scores(goals, leans, limits, scores.n, scores.shares)
