"""A file's rules as the engine meets them, a row each; files of one rule each, the form of 0.1, are read as well."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from recommender.errors import PackError
from recommender.models.knowledge.rule import (
    TASKS,
    Advice,
    AdviceEffect,
    All,
    Caution,
    CautionEffect,
    Comparison,
    Condition,
    Goal,
    GoalEffect,
    Lean,
    LeanEffect,
    Limit,
    LimitEffect,
    Rule,
)
from recommender.models.knowledge.written_rule import (
    GoalRow,
    LimitRow,
    RuleFile,
    WrittenCaution,
    WrittenGoal,
    WrittenLimit,
    WrittenRule,
)
from recommender.packs.located import all_problems
from recommender.text import shorten

KEY = "rule"
"""What every file of rules has: [[rule]], several times."""
_MODELS: dict[str, type[Limit | Goal | Lean | Caution | Advice]] = {
    "limit": Limit,
    "goal": Goal,
    "lean": Lean,
    "caution": Caution,
    "advice": Advice,
}
_EFFECT = frozenset(
    field.alias or name
    for effect in (LimitEffect, GoalEffect, LeanEffect, CautionEffect, AdviceEffect)
    for name, field in effect.model_fields.items()
)
_LIKEWISE = frozenset(["because", "basis", "numbers", "examples", "history", "formerly"])


def is_old_form(data: dict[str, Any]) -> bool:
    """Whether a file holds one rule alone, as in 0.1."""
    return KEY not in data and not {"id", "kind", "when", "effect"}.isdisjoint(data)


def rules_of(data: dict[str, Any], file: str) -> tuple[tuple[bool, tuple[Rule, ...]], list[PackError]]:
    """Whether a file is of the old form, its rules, and every problem of those that cannot be read."""
    old = is_old_form(data)
    rules, problems = _old(data, file) if old else _topic(data, file)
    return (old, rules), problems


def _topic(data: dict[str, Any], file: str) -> tuple[tuple[Rule, ...], list[PackError]]:
    entries = data.get(KEY)
    if set(data) != {KEY} or not isinstance(entries, list) or not all(isinstance(entry, dict) for entry in entries):
        return (), all_problems(RuleFile, data, file, PackError)[1]
    rules: list[Rule] = []
    problems: list[PackError] = []
    for place, entry in enumerate(entries, 1):
        written, wrong = all_problems(WrittenRule, entry, file, PackError)
        if wrong:
            problems += (_of_rule(problem, entry, place) for problem in wrong)
        else:
            rules += expanded(written)
    return tuple(rules), problems


def _old(data: dict[str, Any], file: str) -> tuple[tuple[Rule, ...], list[PackError]]:
    rule, problems = all_problems(Rule, data, file, PackError)
    if rule is None:
        for problem in problems:  # its file says which rule it is
            problem.rule = id_ if isinstance(id_ := data.get("id"), str) else None
        return (), problems
    if rule.kind == "caution" and rule.effect.short is not None:
        rule = rule.model_copy(update={"safety": True})
    return (rule,), []


def _of_rule(problem: PackError, entry: dict[str, Any], place: int) -> PackError:
    """The problem told of the rule, or of its row, by id."""
    id_ = entry.get("id")
    rule = shorten(id_).strip("'\"") if isinstance(id_, str) else f"rule {place}"
    key = problem.key if problem.key != "file" else None
    parts = (key or "").split(".")
    if parts[0] == "row" and len(parts) > 1 and parts[1].isdigit():
        row = entry["row"][int(parts[1])]
        task = row.get("task") if isinstance(row, dict) else None
        rule += f"/{shorten(task).strip(chr(39))}" if isinstance(task, str) else f", row {int(parts[1]) + 1}"
        key = ".".join(parts[2:]) or None
    return problem.located(rule, key)


def expanded(written: WrittenRule) -> Iterator[Rule]:
    """One rule for each row, or the rule itself."""
    if isinstance(written, WrittenGoal | WrittenLimit) and written.row is not None:
        for row in written.row:
            yield _rule(written, row)
    else:
        yield _rule(written, None)


def _rule(written: WrittenRule, row: GoalRow | LimitRow | None) -> Rule:
    """A rule, or a row of it, which says what it does not leave to the rule."""
    own: dict[str, Any] = {} if row is None else _said(row)
    said = {**_said(written), **own}
    tasks = (row.task,) if row is not None else written.tasks
    effect = {key: value for key, value in said.items() if key in _EFFECT}
    if isinstance(written, WrittenLimit):
        effect.pop("short", None)
    found: dict[str, Any] = {
        "id": written.id if row is None else f"{written.id}/{row.task}",
        "title": said["title"],
        "kind": written.kind,
        "status": written.status,
        "when": condition_of(tasks, said.get("when")),
        "tasks": tasks or (),
        "effect": effect,
        **{key: value for key, value in said.items() if key in _LIKEWISE},
    }
    if isinstance(written, WrittenLimit | WrittenCaution) and written.safety:
        found["safety"] = True
    if isinstance(written, WrittenLimit) and written.short is not None:
        found["short"] = written.short
    return _MODELS[written.kind].model_validate(found)


def _said(model: Any) -> dict[str, Any]:
    """What is stated in a rule or row, by its keys."""
    fields = type(model).model_fields
    stated = ((fields[name].alias or name, getattr(model, name)) for name in fields if name in model.model_fields_set)
    return {key: value for key, value in stated if value is not None}


def condition_of(tasks: Sequence[str] | None, when: Condition | None) -> Condition:
    """Any of the tasks, and the condition beside them; with neither, always."""
    if tasks is None:
        return All(all=()) if when is None else when
    named = {"field": TASKS, "has": tasks[0]} if len(tasks) == 1 else {"field": TASKS, "in": tasks}
    asked = Comparison.model_validate(named)
    if when is None:
        return asked
    return All(all=(asked, *(when.all if isinstance(when, All) else (when,))))
