"""What pack files say of each other and of fields, checked: every name is known, every value of its field's kind."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from recommender.errors import PackError
from recommender.models.knowledge.rule import All, AnyOf, Comparison, Not
from recommender.packs.facts import Fact
from recommender.packs.fields import TESTS
from recommender.packs.knowledge import Knowledge, LoadedRule
from recommender.text import shorten

MOST_LISTED = 8
"""Values of a field that are all told where one is misspelt; of more the nearest."""
_SHIFTED = re.compile(r"when\.all\.(\d+)(.*)")


def cross_problems(knowledge: Knowledge, known: dict[str, Fact]) -> Iterator[PackError]:
    """Everything that does not fit together, tables first."""
    yield from table_problems(knowledge)
    yield from _essential_problems(knowledge, known)
    yield from usual_grind_problems(knowledge, known)
    words = everyday_words(knowledge)
    for loaded in knowledge.rules.values():
        yield from rule_problems(loaded, known, words)
        yield from usual_goal_problems(loaded, knowledge)


def table_problems(knowledge: Knowledge) -> Iterator[PackError]:
    """What tables and packs name that is not there."""
    for task in knowledge.tasks.values():
        file = f"tables/tasks/{task.id}.toml"
        yield from name_problems(task.material, knowledge.materials, file, "material")
        material = knowledge.materials.get(task.material)
        if task.split and material is not None and material.splits is None:
            expected = "a material with [splits]"
            yield PackError(f"{task.material} does not split", file=file, key="split", expected=expected)
        if (usual := task.usual_blade) is not None:
            yield from name_problems(usual.steel, knowledge.steels, file, "usual_blade.steel")
            for gear in usual.gear:
                yield from name_problems(gear, knowledge.gear, file, "usual_blade.gear")
    for pack in knowledge.packs:
        file = f"{pack.id}/pack.toml"
        for name, steel in pack.usual_steels.items():
            yield from name_problems(name, knowledge.tasks, file, "usual_steels")
            yield from name_problems(steel, knowledge.steels, file, f"usual_steels.{name}")
        if pack.defaults:
            yield from name_problems(pack.defaults.task, knowledge.tasks, file, "defaults.task")
            for gear in pack.defaults.gear:
                yield from name_problems(gear, knowledge.gear, file, "defaults.gear")


def _essential_problems(knowledge: Knowledge, known: Mapping[str, Fact]) -> Iterator[PackError]:
    metrics = [name.removeprefix("metric.") for name in known if name.startswith("metric.")]
    for task in knowledge.tasks.values():
        for k, name in enumerate(task.essentials):
            yield from name_problems(name, metrics, f"tables/tasks/{task.id}.toml", f"essentials.{k}")


def usual_grind_problems(knowledge: Knowledge, known: Mapping[str, Fact]) -> Iterator[PackError]:
    """Grinds of usual blades that nobody knows."""
    grinds = sorted(known["design.grind"].values or ())
    for task in knowledge.tasks.values():
        if task.usual_blade is not None:
            yield from name_problems(
                task.usual_blade.grind, grinds, f"tables/tasks/{task.id}.toml", "usual_blade.grind"
            )


def usual_goal_problems(loaded: LoadedRule, knowledge: Knowledge) -> Iterator[PackError]:
    """A goal against the usual blade of tasks that have none."""
    if loaded.rule.kind == "goal" and loaded.rule.effect.of_usual:
        without = [t for t in sorted(loaded.tasks) if t in knowledge.tasks and knowledge.tasks[t].usual_blade is None]
        if without or not loaded.tasks:
            problem = f"{', '.join(without) or 'no task'} has no usual blade"
            expected = "[usual_blade] in the task's table, or a window without of_usual"
            yield PackError(problem, file=loaded.file, rule=loaded.rule.id, key="of_usual", expected=expected)


def name_problems(name: str, valid: Iterable[str], file: str, key: str) -> Iterator[PackError]:
    """A name that is not among the valid ones."""
    names = list(valid)
    if name not in names:
        yield PackError(f"unknown name {name!r}", file=file, key=key, given=name, valid=names)


def everyday_words(knowledge: Knowledge) -> dict[str, str]:
    """What people call tasks -> their ids."""
    tasks = knowledge.tasks.values()
    return {word.casefold(): task.id for task in tasks for word in (task.label, *task.words)}


def rule_problems(
    loaded: LoadedRule, known: dict[str, Fact], words: Mapping[str, str] | None = None
) -> Iterator[PackError]:
    """What a rule asks or sets that its fields do not know, at the key where its file says so.

    `words`: what people call tasks, by which one that is not known is found.
    """
    for problem in _rule_problems(loaded, known):
        if problem.nearest is None and problem.given is not None:
            problem.nearest = (words or {}).get(problem.given.casefold())
        if loaded.old_form:  # its file says which rule it is
            problem.located(None, problem.key).rule = loaded.rule.id
        else:
            problem.located(loaded.rule.id, _key_in_topic(problem.key or "", loaded))
        yield problem


def _key_in_topic(key: str, loaded: LoadedRule) -> str:
    """What stands under `effect` in a file of one rule stands beside the other keys in a topic; tasks do so too."""
    place = "when.all.0" if isinstance(loaded.rule.when, All) else "when"
    if loaded.rule.tasks and key in (f"{place}.has", f"{place}.in"):
        return "task" if "/" in loaded.rule.id else "tasks"
    if loaded.rule.tasks and (inside := _SHIFTED.match(key)) and isinstance(loaded.rule.when, All):
        # The tasks stand before what the file has under `when`.
        place = f".all.{int(inside[1]) - 1}" if len(loaded.rule.when.all) > 2 else ""
        return f"when{place}{inside[2]}"
    return key.removeprefix("effect.")


def _rule_problems(loaded: LoadedRule, known: dict[str, Fact]) -> Iterator[PackError]:
    rule, file = loaded.rule, loaded.file
    yield from _condition_problems(rule.when, known, file, "when")
    if rule.kind == "goal":
        yield from _metric_problems(rule.effect.metric, known, file)
    if rule.kind == "limit":
        yield from _limit_problems(loaded, known)
    for example in rule.examples:
        for name, value in example.facts.items():
            yield from name_problems(name, known, file, "examples.facts")
            if name in known:
                yield from _fact_problems(known[name], value, file, f"examples.facts.{name}")


def _metric_problems(name: str, known: Mapping[str, Fact], file: str) -> Iterator[PackError]:
    if f"metric.{name}" not in known:
        metrics = [field.removeprefix("metric.") for field in known if field.startswith("metric.")]
        expected = "a figure by its id, as bevelwright metrics lists it"
        yield PackError(
            f"unknown name {name!r}", file=file, key="effect.metric", expected=expected, given=name, valid=metrics
        )


def _limit_problems(loaded: LoadedRule, known: dict[str, Fact]) -> Iterator[PackError]:
    rule, file = loaded.rule, loaded.file
    assert rule.kind == "limit"
    name = f"metric.{rule.effect.metric}" if rule.effect.metric else str(rule.effect.field)
    if rule.effect.metric and name not in known:
        yield from _metric_problems(rule.effect.metric, known, file)
    elif name not in known:
        yield from name_problems(name, known, file, "effect.field")
    elif rule.effect.in_ is not None:
        for value in rule.effect.in_:
            yield from _value_problems(known[name], value, file, "effect.in")
    elif known[name].kind != "number":
        yield PackError(f"{name} is a {known[name].kind}", file=file, key="effect", expected="in = [...] for it")


def _condition_problems(
    condition: All | AnyOf | Not | Comparison, known: dict[str, Fact], file: str, key: str
) -> Iterator[PackError]:
    match condition:
        case All(all=parts) | AnyOf(any=parts):
            joined = "all" if isinstance(condition, All) else "any"
            for k, part in enumerate(parts):
                yield from _condition_problems(part, known, file, f"{key}.{joined}.{k}")
        case Not(not_=part):
            yield from _condition_problems(part, known, file, f"{key}.not")
        case Comparison():
            yield from name_problems(condition.field, known, file, f"{key}.field")
            if condition.field in known:
                for name, value in condition.tests:
                    yield from _test_problems(known[condition.field], name, value, file, f"{key}.{name}")


def _test_problems(field: Fact, test: str, value: Any, file: str, key: str) -> Iterator[PackError]:
    allowed = TESTS[field.kind]
    if test not in allowed:
        expected = "one of " + ", ".join(sorted(allowed))
        yield PackError(f"{test} does not suit {field.name}, a {field.kind}", file=file, key=key, expected=expected)
        return
    for item in value if isinstance(value, tuple) else (value,):
        yield from _value_problems(field, item, file, key)


def _fact_problems(field: Fact, value: Any, file: str, key: str) -> Iterator[PackError]:
    if isinstance(value, list) is not (field.kind == "set"):
        expected = "a list of names" if field.kind == "set" else f"one value: {field.name} is a {field.kind}"
        yield PackError(f"{shorten(value)} does not fit", file=file, key=key, expected=expected)
        return
    for item in value if isinstance(value, list) else [value]:
        yield from _value_problems(field, item, file, key)


def _value_problems(field: Fact, value: Any, file: str, key: str) -> Iterator[PackError]:
    if field.kind == "number" and not _is_number(value):
        yield PackError(f"{shorten(value)} is no number", file=file, key=key, expected=f"a number for {field.name}")
    elif field.kind == "flag" and not isinstance(value, bool):
        yield PackError(f"{shorten(value)} is neither true nor false", file=file, key=key, expected="true or false")
    elif field.kind in ("category", "set") and not isinstance(value, str):
        yield PackError(f"{shorten(value)} is no name", file=file, key=key, expected="text in quotes")
    elif field.values and value not in field.values:
        few = len(field.values) <= MOST_LISTED
        expected = f"one of {', '.join(sorted(field.values))}" if few else None
        yield PackError(
            f"unknown name {value!r}",
            file=file,
            key=key,
            expected=expected,
            given=str(value),
            valid=sorted(field.values),
        )


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and abs(value) < 1e300
