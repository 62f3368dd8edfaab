"""What every rule says of one answer: whether it fired, and by which of its conditions."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

from recommender.engine.answer.explain import designs_of
from recommender.engine.answer.tried_blade import form_of, sized
from recommender.engine.intake.case import Case
from recommender.engine.intake.tested_conditions import Tested, checked_lines, outcome
from recommender.engine.search.blade_form import Chosen, in_form
from recommender.engine.search.candidate_facts import CandidateFacts
from recommender.engine.search.ranking import Best
from recommender.errors import GeometryError
from recommender.models.answer.proposal import Answer, ShutOut
from recommender.models.knowledge.rule import is_always
from recommender.packs.knowledge import LoadedRule

State = Literal["fired", "silent", "blocked"]
STATES: tuple[State, ...] = ("fired", "silent", "blocked")


@dataclass(frozen=True)
class RuleTrace:
    """A rule before one answer."""

    loaded: LoadedRule
    state: State
    """Blocked: a fact that it asks for is not there, or what it measures has no meaning here."""
    tested: tuple[Tested, ...]
    points: float | None
    """What it brought to the proposal, or as a limit on tasks cost it; None for rules that give none."""
    most_points: float | None
    of_usual: float | None
    """Its metric over that of the usual blade, of a goal that goes by that."""
    shut_out: int
    """Candidates of other grinds that it shuts out, with others or alone."""


def rule_traces(case: Case, answer: Answer) -> list[RuleTrace]:
    """Every active rule before an answer, in the order of their ids."""
    best, chosen = _found(case, answer)
    reasons = {r.rule: r for r in [*answer.reasons, *(answer.form.reasons if answer.form else [])]}
    shut = _shut_out(answer)
    costs: dict[str, float] = {}
    for cost in answer.costs:
        costs[cost.rule] = costs.get(cost.rule, 0.0) + cost.points
    out = []
    for id_, loaded in sorted(case.knowledge.rules.items()):
        facts = _facts(case, loaded, best, chosen)
        # What holds for every blade holds for none where there is none.
        held = None if best is None and is_always(loaded.rule.when) else outcome(loaded.rule.when, facts)
        state: State = "blocked" if held is None else "fired" if held else "silent"
        reason = reasons.get(id_)
        if state == "fired" and loaded.rule.kind == "goal" and reason is None and best is not None:
            state = "blocked"
        out.append(
            RuleTrace(
                loaded=loaded,
                state=state,
                tested=tuple(checked_lines(loaded.rule.when, facts)),
                points=costs.get(id_) if reason is None else reason.points,
                most_points=None if reason is None else reason.most_points,
                of_usual=None if reason is None else reason.of_usual,
                shut_out=shut.get(id_, 0),
            )
        )
    return out


def _found(case: Case, answer: Answer) -> tuple[Best | None, Chosen | None]:
    p = answer.proposal
    best = None if p is None else sized(case, case.registry.grinds[p.grind], designs_of(p))
    form = None if p is None else form_of(p)
    if best is None or form is None:
        return best, None
    try:
        return best, in_form(best, case, form)
    except GeometryError:
        return best, None


def _shut_out(answer: Answer) -> dict[str, int]:
    every: list[ShutOut] = [*answer.blocked, *(s for a in answer.alternatives for s in a.shut_out)]
    counts: dict[str, int] = {}
    for shut in every:
        if shut.rule is not None:
            counts[shut.rule] = counts.get(shut.rule, 0) + shut.candidates
    return counts


def _facts(case: Case, loaded: LoadedRule, best: Best | None, chosen: Chosen | None) -> Callable[[str], Any]:
    every = loaded.rule.kind in ("goal", "lean", "limit")
    shared = case.rules.facts if every else case.rules.weighty_facts
    shared = {**shared, **(chosen.facts if chosen is not None else {})}
    return shared.get if best is None else CandidateFacts(shared, best.measured, loaded.tasks if every else frozenset())
