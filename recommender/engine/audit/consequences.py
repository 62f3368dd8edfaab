"""What two sets of packs make of the same brief, and through which of their differences."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from recommender.engine.answer.recommend import answers
from recommender.engine.answer.rule_trace import RuleTrace, rule_traces
from recommender.engine.audit.designed_briefs import Question
from recommender.engine.audit.rule_changes import changes, concerns, without
from recommender.engine.intake.case import Case
from recommender.engine.intake.resolve import resolve
from recommender.errors import InputError
from recommender.models.answer.proposal import Answer, Proposal
from recommender.models.knowledge.rules_diff import BriefChanged, Change, DimensionChanged, Reach, Stand, Through
from recommender.packs.knowledge import Knowledge
from recommender.plugin.registry import Registry

MOST_TRIED = 8
"""Changes that are taken back one by one for a brief: each is another answer."""


@dataclass(frozen=True)
class Compared:
    """What two sets of packs make of a brief."""

    changed: BriefChanged | None
    """None where it comes out as before."""
    concerned: tuple[Change, ...]
    """Changes that can move a blade of it."""
    found: tuple[Change, ...]
    """Of those, rules whose condition holds for the recommended blade, before or now."""


def reaches(changes: Iterable[Change], compared: Iterable[Compared]) -> tuple[Reach, ...]:
    """How far every change reaches that can move a blade, over many briefs."""
    every = list(compared)
    return tuple(
        Reach(
            change=change,
            concerned=sum(change in brief.concerned for brief in every),
            found=sum(change in brief.found for brief in every) if change.kind == "rule" else None,
            changed=sum(
                brief.changed is not None and change in {t.change for t in brief.changed.through} for brief in every
            ),
        )
        for change in changes
        if change.moves
    )


@dataclass(frozen=True)
class PackComparison:
    """Two sets of packs, asked the same."""

    old: Knowledge
    new: Knowledge
    registry: Registry

    @cached_property
    def changes(self) -> list[Change]:
        """What they do not have alike."""
        return changes(self.old, self.new)

    def __call__(self, question: Question) -> Compared:
        """How a brief comes out otherwise in grind, dimensions or form, and which changes it had to do with."""
        then, now = self._asked(question, self.old), self._asked(question, self.new)
        cases = [asked.case for asked in (then, now) if asked.case is not None]
        concerned = [c for c in self.changes if c.moves and any(concerns(c, case) for case in cases)]
        # What no change can move need not be answered twice.
        if then.error == now.error and not concerned:
            return Compared(None, (), ())
        through = sorted((_through(change, then, now) for change in concerned), key=_weight)
        found = tuple(t.change for t in through if "fired" in (t.then_state, t.now_state))
        if then.error == now.error and then.blade == now.blade:
            return Compared(None, tuple(concerned), found)
        alone = [t for t in through[:MOST_TRIED] if len(through) == 1 or self._brings_back(question, then, t.change)]
        changed = BriefChanged(
            brief=question.name,
            then=then.stand,
            now=now.stand,
            dimensions=tuple(_dimensions(then.blade, now.blade)),
            alone=bool(alone),
            through=tuple(alone or [t for t in through if _differs(t)] or through),
            untried=max(0, len(through) - MOST_TRIED),
        )
        return Compared(changed, tuple(concerned), found)

    def _asked(self, question: Question, knowledge: Knowledge) -> _Asked:
        try:
            resolved = resolve(question.brief, knowledge, self.registry.grinds, question.name)
        except InputError as cause:  # such as a task that only one of them knows
            return _Asked(None, str(cause))
        return _Asked(Case.of(resolved, knowledge, self.registry), None)

    def _brings_back(self, question: Question, then: _Asked, change: Change) -> bool:
        again = self._asked(question, without(self.new, self.old, change))
        return again.error == then.error and again.blade == then.blade


@dataclass(frozen=True)
class _Asked:
    """A brief before one set of packs; answered when it is looked at."""

    case: Case | None
    error: str | None

    @cached_property
    def answer(self) -> Answer | None:
        return None if self.case is None else next(answers(self.case))

    @property
    def blade(self) -> Proposal | None:
        return None if self.answer is None else self.answer.proposal

    @property
    def stand(self) -> Stand:
        blade, points = self.blade, self.answer.points if self.answer is not None else None
        return Stand(
            grind=None if blade is None else blade.grind,
            grind_label=None if blade is None else blade.grind_label,
            points=None if points is None else points.total,
            error=self.error,
        )

    @cached_property
    def rule_traces(self) -> dict[str, RuleTrace]:
        if self.case is None or self.answer is None:
            return {}
        return {ruling.loaded.rule.id: ruling for ruling in rule_traces(self.case, self.answer)}


def _through(change: Change, then: _Asked, now: _Asked) -> Through:
    before, after = (a.rule_traces.get(change.id) if change.kind == "rule" else None for a in (then, now))
    return Through(
        change=change,
        then_state=None if before is None else before.state,
        now_state=None if after is None else after.state,
        then_points=None if before is None else before.points,
        now_points=None if after is None else after.points,
    )


def _differs(through: Through) -> bool:
    return (through.then_state, through.then_points) != (through.now_state, through.now_points)


def _weight(through: Through) -> tuple[bool, float, str]:
    """Order in which changes are tried: what speaks otherwise first, by how much."""
    return not _differs(through), -abs((through.now_points or 0.0) - (through.then_points or 0.0)), through.change.id


def _dimensions(then: Proposal | None, now: Proposal | None) -> Iterator[DimensionChanged]:
    before, after = _named(then), _named(now)
    for name in dict.fromkeys([*before, *after]):
        if before.get(name) != after.get(name):
            yield DimensionChanged(name=name, then=before.get(name), now=after.get(name))


def _named(blade: Proposal | None) -> dict[str, float | str | None]:
    """Every dimension of a blade by a name that carries its unit."""
    if blade is None:
        return {}
    data = blade.model_dump(exclude={"grind", "grind_label", "swedge", "parameters", "columns"})
    swedge = blade.swedge.model_dump() if blade.swedge is not None else {}
    knobs = {name: knob.value for name, knob in blade.parameters.items() if name not in data and name != "height_mm"}
    return {**data, **{f"swedge_{name}": value for name, value in swedge.items()}, **knobs, **blade.columns}
