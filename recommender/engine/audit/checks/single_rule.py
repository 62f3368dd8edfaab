"""What can be wrong with one rule: its basis, its examples, a condition that never holds."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from functools import reduce
from itertools import combinations
from operator import and_

from recommender.engine.audit.checks.domains import Domains
from recommender.engine.intake.conditions import fires
from recommender.engine.intake.tested_conditions import condition_lines
from recommender.models.knowledge.rule import All, AnyOf, Comparison, Example, GoalEffect, LimitEffect, Not, Rule
from recommender.packs.condition_boxes import Formula, Region, TooManyBoxesError
from recommender.packs.findings import RuleFinding
from recommender.packs.knowledge import LoadedRule

HEAVY = 4.0
"""A goal of this weight or more can settle an answer: none that is shipped weighs so much."""


def alone(loaded: LoadedRule, worlds: Domains) -> Iterator[RuleFinding]:
    """Everything that is wrong with a rule by itself."""
    yield from basis(loaded)
    yield from examples(loaded)
    yield from _condition(loaded, worlds)


def basis(loaded: LoadedRule) -> Iterator[RuleFinding]:
    """A basis that claims more than it shows."""
    rule = loaded.rule
    if not rule.basis.citation:
        if rule.basis.level == "published":
            yield _finding("no-source", loaded, 'its basis is "published", and no source is named')
        elif rule.basis.known == "seen":
            yield _finding("no-source", loaded, "its source was seen, and is not named")
        elif rule.basis.level == "estimate" and (decides := _decides(rule)):
            yield _finding("estimate-decides", loaded, f"{decides} on an estimate without a source")


def _decides(rule: Rule) -> str:
    match rule.effect:
        case GoalEffect(weight=weight) if weight >= HEAVY:
            return f"a goal of weight {weight:g} rests"
        case LimitEffect(field=str(field)):
            return f"a limit on {field} rests"
        case _:
            return ""


def examples(loaded: LoadedRule) -> Iterator[RuleFinding]:
    """Examples with which the rule does not do what they say."""
    for example in loaded.rule.examples:
        if does(loaded.rule, example) is not example.fires:
            facts = ", ".join(f"{name} = {value}" for name, value in example.facts.items()) or "no facts"
            mismatch = ("should fire and does not", "should not fire and does")[not example.fires]
            yield _finding("example-fails", loaded, f"with {facts} it {mismatch}")


def does(rule: Rule, example: Example) -> bool:
    """Whether a rule fires on the facts of an example."""
    facts = {name: frozenset(value) if isinstance(value, list) else value for name, value in example.facts.items()}
    return bool(fires(rule.when, facts.get))


def _condition(loaded: LoadedRule, worlds: Domains) -> Iterator[RuleFinding]:
    when = loaded.rule.when
    with suppress(TooManyBoxesError):
        if not worlds.fires(loaded):
            yield _finding("never-fires", loaded, "its condition can never hold", _why(loaded, when, worlds))
            return
        for part in _dead(loaded, when, worlds.space.everything, worlds):
            dead = f"this can never hold: {_words(part)}"
            yield _finding("dead-alternative", loaded, dead, _why(loaded, part, worlds))
        if isinstance(loaded.rule.effect, LimitEffect) and not worlds.fires(loaded) - worlds.kept(loaded):
            field = loaded.rule.effect.field
            known = worlds.space.known(field) if field in worlds.space.axes_of else ""
            proof = f"the range is {known}" if known else ""
            yield _finding("shuts-out-nothing", loaded, "nothing that can be made breaks it", proof)


def _dead(loaded: LoadedRule, condition: Formula, within: Region, worlds: Domains) -> Iterator[Formula]:
    """Alternatives that never hold where everything beside them does."""
    match condition:
        case All(all=parts):
            regions = [_holds(loaded, part, worlds) for part in parts]
            for k, part in enumerate(parts):
                if isinstance(part, (All, AnyOf)):
                    beside = reduce(and_, [*regions[:k], *regions[k + 1 :]], within)
                    yield from _dead(loaded, part, beside, worlds)
        case AnyOf(any=parts):
            for part in parts:
                if _holds(loaded, part, worlds) & within:
                    yield from _dead(loaded, part, within, worlds)
                else:
                    yield part


def _holds(loaded: LoadedRule, condition: Formula, worlds: Domains) -> Region:
    return worlds.space.region(worlds.plain(loaded, condition))


def _why(loaded: LoadedRule, condition: Formula, worlds: Domains) -> str:
    """The fewest parts of a condition that exclude each other; of one that holds by itself, that the rest does."""
    parts = list(_joined(condition))
    regions = [_holds(loaded, part, worlds) for part in parts]
    for part, region in zip(parts, regions, strict=True):
        if not region:
            return f"nothing fulfils {_words(part)}{_range(part, worlds)}"
    for (a, one), (b, other) in combinations(zip(parts, regions, strict=True), 2):
        if not one & other:
            return f"{_words(a)} excludes {_words(b)}"
    if _holds(loaded, condition, worlds):
        return "what is asked beside it excludes it"
    return f"together they exclude each other: {'; '.join(_words(part) for part in parts)}"


def _range(part: Formula, worlds: Domains) -> str:
    if isinstance(part, Comparison) and part.field in worlds.space.axes_of:
        known = worlds.space.known(part.field)
        return f": the range is {known}" if known else ""
    return ""


def _joined(condition: Formula) -> Iterator[Formula]:
    if isinstance(condition, All):
        for part in condition.all:
            yield from _joined(part)
    else:
        yield condition


def _words(condition: Formula) -> str:
    match condition:
        case Not(not_=part):
            return f"not {_words(part)}"
        case All(all=parts) | AnyOf(any=parts):
            joined = " and " if isinstance(condition, All) else " or "
            return f"({joined.join(_words(part) for part in parts)})"
        case Comparison():
            return condition_lines(condition)[0][1]


def _finding(id_: str, loaded: LoadedRule, says: str, proof: str = "") -> RuleFinding:
    return RuleFinding(id_, (loaded.rule.id,), loaded.file, says, proof)
