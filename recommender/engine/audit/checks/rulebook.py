"""What can be wrong with all rules together: what none speaks of, and leans that add up beyond their cap."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from itertools import chain, islice

from recommender.engine.audit.checks.domains import Domains
from recommender.engine.audit.checks.probe import Leaning, most_leaning
from recommender.engine.audit.checks.witness import brief_in, case_of
from recommender.engine.search.blade_form import speaks_of_form
from recommender.engine.search.scoring import LEAN_CAP
from recommender.models.knowledge.rule import LeanEffect, fields_of
from recommender.packs.condition_boxes import Region, TooManyBoxesError, constants_of
from recommender.packs.findings import RuleFinding
from recommender.packs.knowledge import LoadedRule

_ROUNDING = 1e-9
_MOST_STEPS = 600
"""Choices made in search of leans that add up: what is found by then is true, and there may be more."""


def unspoken(worlds: Domains) -> Iterator[RuleFinding]:
    """Tasks without goals, gear that no rule names, skills and climates that no rule tells from others."""
    knowledge = worlds.knowledge
    every = knowledge.rules.values()  # those that are set aside speak too
    wanted = frozenset().union(*(r.tasks for r in every if r.rule.kind == "goal"))
    for task in knowledge.tasks:
        if task not in wanted:
            yield _silence("tasks", task, "no goal speaks of the task")
    named = constants_of(r.rule.when for r in every)
    sharpening = any("derived.owner_sharpens" in fields_of(r.rule.when) for r in every)
    for gear in knowledge.gear.values():
        # What sharpens nothing is spoken of by rules for owners who cannot sharpen.
        if gear.id not in named.get("brief.owner.gear", ()) and not (sharpening and not gear.surfaces):
            yield _silence("gear", gear.id, "no rule names the gear")
    told_apart = constants_of(chain((r.rule.when for r in every), map(worlds.condition, worlds.rules)))
    for name, fact in worlds.fields.items():
        if fact.tell_apart:
            assumed = {fact.default.value(knowledge.defaults)} if fact.default else set()
            for value in sorted(set(fact.values) - told_apart.get(name, set()) - assumed):
                says = f"no rule tells the {name.rpartition('.')[2]} {value} from others"
                yield RuleFinding("unspoken", (), "rules", says)


def _silence(kind: str, id_: str, says: str) -> RuleFinding:
    return RuleFinding("unspoken", (), f"tables/{kind}/{id_}.toml", f"{says} {id_}")


def clipped(worlds: Domains) -> Iterator[RuleFinding]:
    """Leans that can add up beyond their cap: those on the section, and those on the blade's form, for and against."""
    leans = [r for r in worlds.rules if isinstance(r.rule.effect, LeanEffect)]
    of_form = [r for r in leans if speaks_of_form(r, worlds.registry)]
    for some in (of_form, [r for r in leans if r not in of_form]):
        for sign in (1.0, -1.0):
            with suppress(TooManyBoxesError):
                # Leans on tasks come in with their share: the most they can be is where one is all of the work.
                found = chain.from_iterable(_clipped(own, sign, worlds) for own in _by_task(some, sign))
                yield from islice(found, 1)


def _by_task(leans: Sequence[LoadedRule], sign: float) -> Iterator[list[LoadedRule]]:
    """The leans that can speak together where the work is one task, if they could be beyond the cap."""
    for task in sorted(frozenset().union(*(r.tasks for r in leans))) or [""]:
        own = [r for r in leans if not r.tasks or task in r.tasks]
        if sum(max(sign * _points(r), 0.0) for r in own) > LEAN_CAP:
            yield own


def _clipped(leans: Sequence[LoadedRule], sign: float, worlds: Domains) -> Iterator[RuleFinding]:
    found = _Search([_Lean.of(r, sign, worlds) for r in leans], worlds.usual).most()
    if found is None:
        return
    total, firing, region = found
    asked = brief_in(region, worlds, firing, [r for r in leans if r not in firing])
    if asked is None:
        return
    settings, _ = asked
    leaning = Leaning(sign * total, tuple(firing), "a blade")
    if not speaks_of_form(firing[0], worlds.registry):
        # What is told is what a blade shows: facts of blades hang together in ways that boxes do not know.
        leaning = most_leaning(case_of(settings, worlds, leans), sign)
        if abs(leaning.points) <= LEAN_CAP + _ROUNDING:
            return
    # Told of the pack that was laid last: without its leans the others did not reach the cap, or were told of before.
    rules = sorted(leaning.rules, key=lambda r: (-worlds.laid(r), -abs(_points(r))))
    shown = " and ".join(f"{r.rule.id} {_points(r):+g}" for r in rules)
    says = f"leans on {leaning.grind} add up to {leaning.points:+g} points and are cut off at {sign * LEAN_CAP:+g}"
    last = [r for r in rules if r.pack == rules[0].pack]
    if len(last) < len(rules):
        says += f"; {rules[0].pack} brings {sum(map(_points, last)):+g} of it"
    yield RuleFinding("leans-clipped", tuple(r.rule.id for r in rules), rules[0].file, says, shown, settings)


def _points(loaded: LoadedRule) -> float:
    effect = loaded.rule.effect
    assert isinstance(effect, LeanEffect)
    return effect.points


@dataclass(frozen=True)
class _Lean:
    loaded: LoadedRule
    points: float
    """In the direction searched."""
    fires: Region

    @classmethod
    def of(cls, loaded: LoadedRule, sign: float, worlds: Domains) -> _Lean:
        return cls(loaded, sign * _points(loaded), worlds.fires(loaded))


class _Search:
    """Branch and bound: each lean fires or not, the weightiest first, as long as the rest can still beat the best."""

    def __init__(self, leans: list[_Lean], start: Region) -> None:
        self.leans = sorted(leans, key=lambda lean: -lean.points)
        self.start = start
        gains = [max(lean.points, 0.0) for lean in self.leans]
        self.rest = [sum(gains[k:]) for k in range(len(gains) + 1)]
        self.best: tuple[float, list[LoadedRule], Region] | None = None
        self.steps = 0

    def most(self) -> tuple[float, list[LoadedRule], Region] | None:
        """The largest sum beyond the cap, the leans that make it up, and where; None where there is none."""
        self._from(0, 0.0, [], self.start)
        return self.best

    def _from(self, k: int, total: float, firing: list[LoadedRule], region: Region) -> None:
        beaten = LEAN_CAP if self.best is None else self.best[0]
        self.steps += 1
        if total + self.rest[k] <= beaten + _ROUNDING or self.steps > _MOST_STEPS:
            return
        if k == len(self.leans):
            self.best = total, firing, region
            return
        lean = self.leans[k]
        branches = [(0.0, [], region - lean.fires), (lean.points, [lean.loaded], region & lean.fires)]
        for points, fired, where in sorted(branches, key=lambda branch: -branch[0]):
            if where:
                self._from(k + 1, total + points, [*firing, *fired], where)
