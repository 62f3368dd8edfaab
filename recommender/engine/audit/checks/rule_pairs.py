"""What can be wrong with rules beside each other: limits that exclude each other, rules that repeat others."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterator, Sequence
from contextlib import suppress
from functools import reduce
from itertools import chain, combinations, islice
from operator import and_, or_

from recommender.engine.audit.checks.domains import Domains, of_brief
from recommender.engine.audit.checks.probe import shut_out_by
from recommender.engine.audit.checks.witness import brief_in, case_of
from recommender.engine.search.blade_form import speaks_of_form
from recommender.models.knowledge.rule import GoalEffect, LeanEffect, LimitEffect, WordsEffect, fields_of
from recommender.packs.condition_boxes import TooManyBoxesError
from recommender.packs.findings import RuleFinding
from recommender.packs.knowledge import LoadedRule

_MOST_SUSPECTS = 40
"""Sets of limits that are tried on blades: a pack in which more exclude each other has enough to put right."""
_MOST_LISTS = 30
"""Limits with lists of values that are also taken three at a time: bounds exclude each other in pairs or not at all."""
Group = list[LoadedRule]


def together(worlds: Domains) -> Iterator[RuleFinding]:
    """Everything that is wrong with rules beside each other."""
    suspects = chain.from_iterable(_suspects(limits, worlds) for limits in _grouped(worlds, _target, least=1))
    for limits in islice(suspects, _MOST_SUSPECTS):
        yield from _excluding(limits, worlds)
    for rules in _grouped(worlds, _comparable):
        yield from _repeating(rules, worlds)
    for rules in _grouped(worlds, _text):
        yield from _same_words(rules, worlds)


def _grouped(worlds: Domains, key_of: Callable[[LoadedRule, Domains], Hashable | None], least: int = 2) -> list[Group]:
    """Rules with the same key, where there are so many."""
    groups: dict[Hashable, Group] = defaultdict(list)
    for loaded in worlds.rules:
        key = key_of(loaded, worlds)
        if key is not None:
            groups[key].append(loaded)
    return [group for group in groups.values() if len(group) >= least]


def _target(loaded: LoadedRule, worlds: Domains) -> str | None:
    """What a limit bounds."""
    effect = loaded.rule.effect
    if not isinstance(effect, LimitEffect):
        return None
    return worlds.target(loaded, f"metric.{effect.metric}" if effect.metric else str(effect.field))


def _comparable(loaded: LoadedRule, worlds: Domains) -> Hashable | None:
    """What rules have in common of which one may make another superfluous."""
    match loaded.rule.effect:
        case LimitEffect():
            return _target(loaded, worlds)
        case GoalEffect(metric=metric, of_usual=ratio, from_=low, to=high):
            return worlds.target(loaded, f"metric.{metric}"), ratio, low, high
        case LeanEffect(points=points):
            return "lean", points
        case _:
            return None


def _text(loaded: LoadedRule, worlds: Domains) -> Hashable | None:
    effect = loaded.rule.effect
    return " ".join(effect.text.casefold().split()) if isinstance(effect, WordsEffect) else None


def _suspects(limits: Group, worlds: Domains) -> Iterator[Group]:
    """The smallest sets of limits that no value keeps, whose conditions can hold together."""
    lists = [r for r in limits if isinstance(r.rule.effect, LimitEffect) and r.rule.effect.in_ is not None]
    triples = combinations(lists, 3) if len(lists) <= _MOST_LISTS else iter(())
    found: list[set[str]] = []
    for rules in chain(combinations(limits, 1), combinations(limits, 2), triples):
        ids = set(_named(rules))
        with suppress(TooManyBoxesError):
            if any(smaller <= ids for smaller in found) or reduce(and_, map(worlds.kept, rules)):
                continue
            if reduce(and_, map(worlds.fires, rules)):
                found.append(ids)
                yield list(rules)


def _excluding(limits: Group, worlds: Domains) -> Iterator[RuleFinding]:
    """Limits that no value keeps, shown on a brief and on blades; those on a blade's form on the brief alone."""
    region = reduce(and_, map(worlds.fires, limits))
    found = brief_in(region, worlds, limits)
    if found is None:
        return
    settings, box = found
    every, subject = False, "no form of a blade"
    if not any(speaks_of_form(r, worlds.registry) for r in limits):
        shut = shut_out_by(case_of(settings, worlds, limits), limits)
        if not shut.out:
            return
        every = shut.passed == 0 and all(of_brief(f) for r in limits for f in fields_of(r.rule.when))
        subject = "no blade" if every else "no blade of which it is asked"
    bounds = ", ".join(f"{r.rule.id} wants {_bounds(r)}" for r in limits)
    yield RuleFinding(
        "nothing-passes" if every else "limits-exclude",
        _named(limits[::-1]),
        limits[-1].file,
        f"{subject} passes: no value of {_target(limits[0], worlds)} keeps {_listed(limits)}",
        f"{bounds}; so it is where {box.words}",
        settings,
    )


def _bounds(loaded: LoadedRule) -> str:
    effect = loaded.rule.effect
    assert isinstance(effect, LimitEffect)
    parts = [
        *([f"at least {effect.min:g}"] if effect.min is not None else []),
        *([f"at most {effect.max:g}"] if effect.max is not None else []),
        *([f"one of {', '.join(map(str, effect.in_))}"] if effect.in_ is not None else []),
    ]
    return " and ".join(parts)


def _repeating(rules: Group, worlds: Domains) -> Iterator[RuleFinding]:
    """Rules that are the same as an earlier one, and rules that others make superfluous."""
    left: Group = []
    for loaded in rules:
        with suppress(TooManyBoxesError):
            same = next((r for r in left if r.rule.effect == loaded.rule.effect and _same(r, loaded, worlds)), None)
            if same is None:
                left.append(loaded)
                continue
            says = f"fires on the same facts as {same.rule.id} and does the same"
            yield RuleFinding("duplicate", _named([loaded, same]), loaded.file, says)
    reported: set[frozenset[str]] = set()
    for loaded in left:
        with suppress(TooManyBoxesError):
            stronger = [r for r in left if r is not loaded and _as_strong(r, loaded, worlds)]
            by = _covering(loaded, stronger, worlds) if worlds.fires(loaded) else []
            ids = _named([loaded, *by])
            if by and frozenset(ids) not in reported:
                reported.add(frozenset(ids))
                yield _implied(loaded, by)


def _same(one: LoadedRule, other: LoadedRule, worlds: Domains) -> bool:
    a, b = worlds.fires(one), worlds.fires(other)
    return bool(a) and a <= b and b <= a


def _as_strong(one: LoadedRule, other: LoadedRule, worlds: Domains) -> bool:
    """Whether a rule does at least what another of its group does, wherever both fire."""
    return not isinstance(one.rule.effect, LimitEffect) or worlds.kept(one) <= worlds.kept(other)


def _covering(loaded: LoadedRule, others: Group, worlds: Domains) -> Group:
    """A rule that fires wherever one does, or else several that do so together."""
    mine = worlds.fires(loaded)
    single = next((r for r in others if mine <= worlds.fires(r)), None)
    if single is not None:
        return [single]
    if not isinstance(loaded.rule.effect, LimitEffect):
        return []
    meeting = [r for r in others if mine & worlds.fires(r)]
    return meeting if mine <= reduce(or_, map(worlds.fires, meeting), worlds.space.nothing) else []


def _implied(loaded: LoadedRule, by: Group) -> RuleFinding:
    fires = f"{_listed(by)} {'fires' if len(by) == 1 else 'together fire'}"
    if isinstance(loaded.rule.effect, LimitEffect):
        says = f"shuts out nothing: wherever it fires, {fires}, as strict or stricter"
        proof = "; ".join(f"{r.rule.id} wants {_bounds(r)}" for r in (loaded, *by))
    else:
        says, proof = f"counts twice: wherever it fires, {fires} to the same effect", ""
    return RuleFinding("implied", _named([loaded, *by]), loaded.file, says, proof)


def _same_words(rules: Group, worlds: Domains) -> Iterator[RuleFinding]:
    first = rules[0]
    for loaded in rules[1:]:
        with suppress(TooManyBoxesError):
            if _same(first, loaded, worlds):
                says = f"fires on the same facts as {first.rule.id} and says the same"
                yield RuleFinding("duplicate", _named([loaded, first]), loaded.file, says)
                continue
        yield RuleFinding("same-words", _named([loaded, first]), loaded.file, f"says the same words as {first.rule.id}")


def _named(rules: Sequence[LoadedRule]) -> tuple[str, ...]:
    return tuple(loaded.rule.id for loaded in rules)


def _listed(rules: Sequence[LoadedRule]) -> str:
    return " and ".join(_named(rules))
