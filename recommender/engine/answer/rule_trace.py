"""What every rule says of one answer: whether it fired, and by which of its conditions."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from recommender.engine.answer.explain import designs_of
from recommender.engine.answer.tried_blade import form_of, sized
from recommender.engine.intake.case import Case
from recommender.engine.intake.conditions import holds
from recommender.engine.search.blade_form import Chosen, in_form
from recommender.engine.search.candidate_facts import CandidateFacts
from recommender.engine.search.ranking import Best
from recommender.errors import GeometryError
from recommender.models.answer.proposal import Answer, ShutOut
from recommender.models.knowledge.rule import All, AnyOf, Comparison, Not
from recommender.packs.knowledge import LoadedRule

State = Literal["fired", "silent", "blocked"]
STATES: tuple[State, ...] = ("fired", "silent", "blocked")
_WORDS = {"eq": "is", "ne": "is not", "lt": "<", "le": "≤", "gt": ">", "ge": "≥", "in": "is one of", "has": "has"}


@dataclass(frozen=True)
class Tested:
    """One line of a rule's condition: what it asks, what is there, whether that holds (None: cannot be told)."""

    depth: int
    asks: str
    found: str
    """"" for a line that joins others."""
    held: bool | None


@dataclass(frozen=True)
class RuleTrace:
    """A rule before one answer."""

    loaded: LoadedRule
    state: State
    """Blocked: a fact that it asks for is not there, or what it measures has no meaning here."""
    tested: tuple[Tested, ...]
    points: float | None
    """What it brought to the proposal; None for rules that give none."""
    most_points: float | None
    shut_out: int
    """Candidates of other grinds that it shuts out, with others or alone."""


def rule_traces(case: Case, answer: Answer) -> list[RuleTrace]:
    """Every active rule before an answer, in the order of their ids."""
    best, chosen = _found(case, answer)
    reasons = {r.rule: r for r in [*answer.reasons, *(answer.form.reasons if answer.form else [])]}
    shut = _shut_out(answer)
    out = []
    for id_, loaded in sorted(case.knowledge.rules.items()):
        facts = _facts(case, loaded, best, chosen)
        held = _outcome(loaded.rule.when, facts)
        state: State = "blocked" if held is None else "fired" if held else "silent"
        reason = reasons.get(id_)
        if state == "fired" and loaded.rule.kind == "goal" and reason is None and best is not None:
            state = "blocked"
        out.append(
            RuleTrace(
                loaded=loaded,
                state=state,
                tested=tuple(_lines(loaded.rule.when, facts, 0)),
                points=None if reason is None else reason.points,
                most_points=None if reason is None else reason.most_points,
                shut_out=shut.get(id_, 0),
            )
        )
    return out


def condition_lines(condition: All | AnyOf | Not | Comparison) -> list[tuple[int, str]]:
    """What a condition asks, line by line, each with its depth."""
    return [(line.depth, line.asks) for line in _lines(condition, lambda field: None, 0)]


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
    every = loaded.rule.kind in ("goal", "lean")
    shared = case.rules.facts if every else case.rules.weighty_facts
    shared = {**shared, **(chosen.facts if chosen is not None else {})}
    return shared.get if best is None else CandidateFacts(shared, best.measured, loaded.tasks if every else frozenset())


def _outcome(condition: All | AnyOf | Not | Comparison, facts: Callable[[str], Any]) -> bool | None:
    true, false = holds(condition, facts)
    return True if bool(np.all(true)) else False if bool(np.all(false)) else None


def _lines(condition: All | AnyOf | Not | Comparison, facts: Callable[[str], Any], depth: int) -> Iterator[Tested]:
    match condition:
        case All(all=parts) | AnyOf(any=parts):
            joined = isinstance(condition, All)
            if not parts:
                yield Tested(depth, "always", "", True)
            elif len(parts) == 1:
                yield from _lines(parts[0], facts, depth)
            else:
                yield Tested(depth, "all of" if joined else "at least one of", "", _outcome(condition, facts))
                for part in parts:
                    yield from _lines(part, facts, depth + 1)
        case Not(not_=part):
            yield Tested(depth, "not", "", _outcome(condition, facts))
            yield from _lines(part, facts, depth + 1)
        case Comparison():
            asks = " and ".join(f"{_WORDS[name]} {_shown(wanted)}" for name, wanted in condition.tests)
            found = facts(condition.field)
            yield Tested(depth, f"{condition.field} {asks}", _shown(found), _outcome(condition, facts))


def _shown(value: Any) -> str:
    """A fact in words; what is not there says so."""
    if isinstance(value, np.ndarray):
        value = value.reshape(-1)[0].item() if value.size else None
    if value is None or value != value:
        return "not known here"
    if isinstance(value, bool | np.bool_):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return f"{value:.4g}"
    if isinstance(value, frozenset | set | tuple | list):
        return ", ".join(sorted(str(v) for v in value)) or "none"
    return str(value)
