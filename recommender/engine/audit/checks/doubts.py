"""What looks like a slip: windows turned round, near copies, words of a template, values that no blade has."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping
from contextlib import suppress
from itertools import combinations
from typing import Any

from recommender.engine.audit.checks.domains import Domains, of_brief
from recommender.models.base import Model, Quantity, Range
from recommender.models.knowledge.rule import GoalEffect, LeanEffect, LimitEffect, WordsEffect, fields_of
from recommender.packs.condition_boxes import TooManyBoxesError
from recommender.packs.findings import RuleFinding
from recommender.packs.knowledge import LoadedRule
from recommender.packs.written_rules.rule_scaffold import EXAMPLE_NUMBERS, TEMPLATE_WORDS
from recommender.text import shorten

NEAR = 0.1
"""Share of a window by which near copies differ at either end."""
ALIKE = 0.8
"""Share of their words that near copies of texts have in common."""
HEAVIEST = 10.0
_PLAUSIBLE: Mapping[str, tuple[float, float]] = {
    "hardness_hrc": (10.0, 72.0),
    "usual_hrc": (10.0, 72.0),
    "low_hrc": (10.0, 72.0),
    "high_hrc": (10.0, 72.0),
    "edge_thickness_mm": (0.05, 5.0),
    "cut_depth_mm": (0.05, 400.0),
    "stock_thickness_mm": (0.3, 20.0),
    "height_mm": (3.0, 200.0),
    "length_mm": (10.0, 1200.0),
    "per_side_deg": (3.0, 32.0),
    "included_deg": (3.0, 120.0),
}
"""Ending of a name -> what a blade, a steel or a task can have, in the unit that the name ends with."""
_NUMBERED = re.compile(r"\d{3,}")
_NEGATIONS = frozenset({"never", "not", "no", "don't", "always", "only", "do", "without", "must"})
_DENIES = frozenset({"never", "not", "no", "don't", "without"})


def doubts(worlds: Domains) -> Iterator[RuleFinding]:
    """Every slip that can be seen without computing a blade."""
    for loaded in worlds.rules:
        yield from _of_one(loaded, worlds)
    yield from _titles(worlds)
    yield from _of_rows(worlds)
    yield from _of_goals(worlds)
    yield from _of_leans(worlds)
    yield from _of_words(worlds)
    yield from _unguarded(worlds)
    yield from _old_form(worlds)
    yield from _tables(worlds)


def _of_one(loaded: LoadedRule, worlds: Domains) -> Iterator[RuleFinding]:
    rule = loaded.rule
    match rule.effect:
        case GoalEffect(metric=metric, from_=low, to=high, weight=weight):
            better = worlds.registry.metrics[metric].item.better
            if better != "either" and (high > low) is not (better == "higher"):
                says = f"wants {metric} to go from {low:g} to {high:g}, and {better} is better"
                yield _finding("turned-round", loaded, says)
            if weight > HEAVIEST:
                yield _finding("implausible", loaded, f"a weight of {weight:g}: 1 is ordinary, 3 is rare")
        case LeanEffect():
            if all(of_brief(field) for field in fields_of(rule.when)):
                says = "its condition reads nothing of the blade: it gives every blade the same, and moves none"
                yield _finding("moves-nothing", loaded, says)
        case LimitEffect(field=str(field), min=least, max=most):
            for bound in (least, most):
                # Nothing at all, as a bound, is a way to say "none".
                if bound and not _plausible(field, bound):
                    yield _finding("implausible", loaded, _out_of(field, bound))
    for basis in (rule.basis, rule.numbers):
        named = "" if basis is None or basis.level != "published" else basis.citation
        if named and (len(named.split()) < 2 or not _NUMBERED.search(named)):
            says = f"{shorten(named)} has no title, or no year or number to find it by"
            yield _finding("vague-source", loaded, says)
    texts = (rule.because, getattr(rule.effect, "text", ""), getattr(rule.effect, "short", "") or "")
    if any(text in TEMPLATE_WORDS for text in texts):
        yield _finding("template-words", loaded, "says the words of the template")
    example = EXAMPLE_NUMBERS.get(rule.kind)
    if example and all(getattr(rule.effect, key) == value for key, value in example.items()):
        yield _finding("template-words", loaded, "still has the figure and numbers that the template has as an example")


def _plausible(name: str, value: float) -> bool:
    return all(low <= value <= high for ending, (low, high) in _PLAUSIBLE.items() if name.endswith(ending))


def _out_of(name: str, value: float) -> str:
    unit = name.rpartition("_")[2]
    low, high = next(bounds for ending, bounds in _PLAUSIBLE.items() if name.endswith(ending))
    both = f"; {2 * value:g} in all, or was included meant?" if name.endswith("per_side_deg") and value > high else ""
    return f"{name} of {value:g} {unit}: from {low:g} to {high:g} is plausible{both}"


def _titles(worlds: Domains) -> Iterator[RuleFinding]:
    seen: dict[str, LoadedRule] = {}
    for loaded in sorted(worlds.rules, key=worlds.laid):
        first = seen.setdefault(loaded.rule.title.casefold(), loaded)
        if first is not loaded:
            yield _finding("same-title", loaded, f"has the title of {first.rule.id}", first)


def _of_rows(worlds: Domains) -> Iterator[RuleFinding]:
    """Rows of a table of which one alone runs the other way, on a figure that has no better side of its own."""
    tables: dict[str, list[LoadedRule]] = defaultdict(list)
    for loaded in worlds.rules:
        table, row, _ = loaded.rule.id.partition("/")
        if row and isinstance(loaded.rule.effect, GoalEffect):
            tables[table].append(loaded)
    for rows in tables.values():
        ways: dict[bool, list[LoadedRule]] = {True: [], False: []}
        for loaded in rows:
            effect = loaded.rule.effect
            if isinstance(effect, GoalEffect) and worlds.registry.metrics[effect.metric].item.better == "either":
                ways[effect.to > effect.from_].append(loaded)
        alone, others = sorted(ways.values(), key=len)
        if len(alone) == 1 and len(others) > 1:
            effect = alone[0].rule.effect
            assert isinstance(effect, GoalEffect)
            window = f"{effect.metric} to go from {effect.from_:g} to {effect.to:g}"
            says = f"wants {window}, the {len(others)} other rows of its table the other way"
            yield _finding("against-its-table", alone[0], says, *others)


def _of_goals(worlds: Domains) -> Iterator[RuleFinding]:
    """Goals on one metric for one task: opposite ways, near copies; and those that a limit leaves empty."""
    on: dict[str, list[LoadedRule]] = defaultdict(list)
    for loaded in worlds.rules:
        if isinstance(loaded.rule.effect, GoalEffect | LimitEffect) and loaded.rule.effect.metric:
            on[loaded.rule.effect.metric].append(loaded)
    for rules in on.values():
        for one, other in combinations(sorted(rules, key=worlds.laid), 2):
            if _same_tasks(one, other) and _together(one, other, worlds):
                a, b = one.rule.effect, other.rule.effect
                if isinstance(a, GoalEffect) and isinstance(b, GoalEffect):
                    yield from _two_goals(one, a, other, b)
                elif isinstance(a, GoalEffect) and isinstance(b, LimitEffect):
                    yield from _goal_and_limit(one, a, other, b)
                elif isinstance(a, LimitEffect) and isinstance(b, GoalEffect):
                    yield from _goal_and_limit(other, b, one, a)


def _two_goals(one: LoadedRule, a: GoalEffect, other: LoadedRule, b: GoalEffect) -> Iterator[RuleFinding]:
    if (a.to > a.from_) is not (b.to > b.from_):
        yield _finding(
            "pulls-apart", other, f"wants {a.metric} the other way than {one.rule.id}, for the same task", one
        )
        return
    if a.of_usual is not b.of_usual:
        return
    span = max(abs(a.to - a.from_), abs(b.to - b.from_))
    apart = max(abs(a.from_ - b.from_), abs(a.to - b.to))
    if 0 < apart <= NEAR * span:
        says = f"wants nearly what {one.rule.id} wants of {a.metric}, for the same task: it counts twice"
        yield _finding("near-copy", other, says, one)


def _goal_and_limit(goal: LoadedRule, g: GoalEffect, limit: LoadedRule, bound: LimitEffect) -> Iterator[RuleFinding]:
    if not limit.tasks <= goal.tasks or g.of_usual:
        return
    empty = (bound.max is not None and bound.max <= g.from_ < g.to) or (
        bound.min is not None and bound.min >= g.from_ > g.to
    )
    full = (bound.min is not None and bound.min >= g.to > g.from_) or (
        bound.max is not None and bound.max <= g.to < g.from_
    )
    if empty or full:
        word = "none" if empty else "all"
        says = f"what the limit {limit.rule.id} lets through gets {word} of it: it tells no blades apart"
        yield _finding("tells-nothing-apart", goal, says, limit)


def _of_leans(worlds: Domains) -> Iterator[RuleFinding]:
    leans = sorted((r for r in worlds.rules if isinstance(r.rule.effect, LeanEffect)), key=worlds.laid)
    for one, other in combinations(leans, 2):
        with suppress(TooManyBoxesError):
            a, b = worlds.fires(one), worlds.fires(other)
            if a and a <= b and b <= a and one.rule.effect != other.rule.effect:
                opposite = one.rule.effect.points * other.rule.effect.points < 0  # type: ignore[union-attr]
                kind, how = ("pulls-apart", "the other way") if opposite else ("near-copy", "a second time")
                yield _finding(kind, other, f"fires where {one.rule.id} does and leans {how}", one)


def _of_words(worlds: Domains) -> Iterator[RuleFinding]:
    """Cautions and advice that nearly say the same, or the opposite of each other."""
    every = sorted(worlds.rules, key=worlds.laid)
    said = [(r, _words(r.rule.effect.text)) for r in every if isinstance(r.rule.effect, WordsEffect)]
    for (one, a), (other, b) in combinations(said, 2):
        if a == b:  # told as such already
            continue
        mine, theirs = set(a) - _NEGATIONS, set(b) - _NEGATIONS
        if len(mine & theirs) < ALIKE * len(mine | theirs) or not _together(one, other, worlds):
            continue
        if (sum(w in _DENIES for w in a) - sum(w in _DENIES for w in b)) % 2:
            yield _finding("contradicts", other, f"says the opposite of {one.rule.id} in nearly its words", one)
        else:
            yield _finding("same-words", other, f"says nearly the words of {one.rule.id}", one)


def _words(text: str) -> list[str]:
    return re.findall(r"[\w']+", text.casefold())


def _unguarded(worlds: Domains) -> Iterator[RuleFinding]:
    for gone in worlds.knowledge.overruled:
        if gone.unguarded and not gone.because.strip():
            says = f"switches off {gone.id}, which guards people, and gives no reason"
            yield RuleFinding("no-reason", (gone.id,), f"{gone.by}/pack.toml", says)


def _old_form(worlds: Domains) -> Iterator[RuleFinding]:
    for pack in worlds.knowledge.of_old_form:
        says = "holds one rule a file, a form that is read until the next release but one"
        yield RuleFinding("old-form", (), f"{pack}/rules", says)


def _tables(worlds: Domains) -> Iterator[RuleFinding]:
    for kind in ("tasks", "steels", "gear", "materials"):
        for id_, table in getattr(worlds.knowledge, kind).items():
            for name, value in _numbers(table, ""):
                if value and not _plausible(name, value):
                    yield RuleFinding("implausible", (), f"tables/{kind}/{id_}.toml", _out_of(name, value))


def _numbers(value: Any, name: str) -> Iterator[tuple[str, float]]:
    match value:
        case Quantity():
            yield name, value.likely
        case Range():
            yield name, value.low
            yield name, value.high
        case Model():
            for key in type(value).model_fields:
                yield from _numbers(getattr(value, key), key)
        case tuple():
            for each in value:
                yield from _numbers(each, name)
        case bool() | str() | None:
            return
        case int() | float():
            yield name, float(value)


def _same_tasks(one: LoadedRule, other: LoadedRule) -> bool:
    return bool(one.tasks & other.tasks) or not (one.tasks or other.tasks)


def _together(one: LoadedRule, other: LoadedRule, worlds: Domains) -> bool:
    """Whether some facts let both fire; where that is not known, they are not blamed."""
    try:
        return bool(worlds.fires(one) & worlds.fires(other))
    except TooManyBoxesError:
        return False


def _finding(id_: str, loaded: LoadedRule, says: str, *others: LoadedRule) -> RuleFinding:
    return RuleFinding(id_, (loaded.rule.id, *(other.rule.id for other in others)), loaded.file, says)
