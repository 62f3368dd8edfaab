"""Which rules fire, decide and never matter, over many briefs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from recommender.engine.answer.ablation import DecidedBy, decided_by, spoken
from recommender.engine.answer.explain import designs_of
from recommender.engine.answer.rule_trace import RuleTrace, State, rule_traces
from recommender.engine.answer.tried_blade import sized
from recommender.engine.intake.case import Case
from recommender.engine.search.ranking import Best
from recommender.models.answer.proposal import Answer, Proposal
from recommender.models.knowledge.coverage import Coverage, Matters, RuleCoverage
from recommender.packs.knowledge import Knowledge, LoadedRule


@dataclass(frozen=True)
class RuleRole:
    """What one rule had to do with one answer."""

    state: State
    elsewhere: bool
    decided: bool
    decided_grind: bool
    most: float


@dataclass(frozen=True)
class RuleRoles:
    """What every rule had to do with one answer, by id."""

    answered: bool
    by_rule: Mapping[str, RuleRole]
    failed: tuple[str, ...]
    """Plug-ins and packs that took no part, and why."""


def parts(case: Case, answer: Answer) -> RuleRoles:
    """What every active rule had to do with an answer."""
    best = _measured(case, answer.proposal)
    found = (_measured(case, other.proposal) for other in answer.alternatives)
    others = [other for other in found if other is not None]
    deciding = decided_by(case, answer, best, others)
    held = {s.rule for a in answer.alternatives for s in a.shut_out} | deciding.grind | deciding.shape
    for other in others:  # a limit fires here though the blade keeps it
        held |= spoken(other.scores) | {limit.rule.rule.id for limit in other.scores.limits}
    roles = {ruling.loaded.rule.id: _part(ruling, held, deciding) for ruling in rule_traces(case, answer)}
    return RuleRoles(answer.proposal is not None, roles, tuple(answer.provenance.failed))


def _measured(case: Case, blade: Proposal | None) -> Best | None:
    return None if blade is None else sized(case, case.registry.grinds[blade.grind], designs_of(blade))


def _part(ruling: RuleTrace, held: Iterable[str | None], deciding: DecidedBy) -> RuleRole:
    id_, fired = ruling.loaded.rule.id, ruling.state == "fired"
    is_text = fired and ruling.loaded.rule.kind in ("caution", "advice")
    points = 0.0 if ruling.points is None else abs(ruling.points)
    return RuleRole(
        state=ruling.state,
        elsewhere=not fired and id_ in held,
        decided=is_text or id_ in deciding.grind | deciding.shape,
        decided_grind=id_ in deciding.grind,
        most=max(points, ruling.shut_out),
    )


def coverage(knowledge: Knowledge, asked: Iterable[RuleRoles]) -> Coverage:
    """Every active rule over all answers, what matters least first."""
    every = list(asked)
    rows = [_row(loaded, [of.by_rule[id_] for of in every]) for id_, loaded in knowledge.rules.items()]
    return Coverage(
        briefs=len(every),
        answered=sum(of.answered for of in every),
        packs={pack.id: pack.version for pack in knowledge.packs},
        failed=tuple(dict.fromkeys(words for of in every for words in of.failed)),
        rules=tuple(sorted(rows, key=lambda r: (r.decided, r.fired + r.elsewhere, r.most, r.rule))),
    )


def _row(loaded: LoadedRule, found: list[RuleRole]) -> RuleCoverage:
    states = Counter(part.state for part in found)
    elsewhere, decided = sum(part.elsewhere for part in found), sum(part.decided for part in found)
    fires = states["fired"] + elsewhere
    matters: Matters = "decides" if decided else "never decides" if fires else "never fires"
    return RuleCoverage(
        rule=loaded.rule.id,
        kind=loaded.rule.kind,
        title=loaded.rule.title,
        pack=loaded.pack,
        matters=matters,
        fired=states["fired"],
        silent=states["silent"],
        blocked=states["blocked"],
        elsewhere=elsewhere,
        decided=decided,
        decided_grind=sum(part.decided_grind for part in found),
        most=round(max((part.most for part in found), default=0.0), 2),
    )
