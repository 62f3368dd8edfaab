"""A pack of one rule a file, the form of 0.1, turned into files of topics; nothing that the rules say changes."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from recommender.errors import PackError
from recommender.files import read_file, write_whole
from recommender.models.knowledge.rule import TASKS, Rule
from recommender.packs.located import MAX_BYTES, parse_toml
from recommender.packs.sources import named_packs
from recommender.packs.written_rules.rule_files import rules_of
from recommender.packs.written_rules.rule_writer import topic_text
from recommender.text import clean

_COMMENT = re.compile(r"\"\"\".*?\"\"\"|'''.*?'''|\"(?:[^\"\\\n]|\\.)*\"|'[^'\n]*'|(\#[^\n]*)", re.DOTALL)
_EVERY_BLADE = "design.apex_included_deg"
"""What stood for "always": every blade has an edge."""


@dataclass(frozen=True)
class Converted:
    """What became of a pack's files."""

    rules: int
    before: tuple[str, ...]
    """Files of one rule each, which are gone."""
    after: tuple[str, ...]


def convert_pack(place: str) -> Converted:
    """Turn the files of one rule each in a pack's folder into topics, named by the first word of their ids.

    Each rule is read back and compared before any file is touched; comments go with their rules. Raises PackError.
    """
    (folder, *more) = named_packs([place])
    if more:
        shown = clean(place, one_line=True)
        raise PackError("holds several packs", file=shown, expected="the folder of one pack, with a pack.toml in it")
    old: dict[Path, Rule] = {}
    entries: dict[str, dict[str, Any]] = {}
    comments: dict[str, list[str]] = {}
    kept: set[str] = set()
    for path in sorted((folder / "rules").glob("*.toml")):
        name = clean(f"{folder.name}/rules/{path.name}", one_line=True)
        raw = read_file(path, MAX_BYTES, "rules as TOML")
        data = parse_toml(raw, name, PackError)
        (is_old, rules), problems = rules_of(data, name)
        if problems:
            raise problems[0]
        if not is_old:
            kept.add(path.name)
            continue
        (old[path],) = rules
        entries[rules[0].id] = as_written(data)
        comments[rules[0].id] = [m[1].rstrip() for m in _COMMENT.finditer(raw.decode("utf-8")) if m[1]]
    topics = {
        folder / "rules" / _free(topic, kept): topic_text([entries[id_] for id_ in ids], comments)
        for topic, ids in _topics(entries).items()
    }
    _compare(old.values(), topics)
    for path, text in topics.items():
        write_whole(path, text.encode())
    for path in old:
        if path not in topics:
            path.unlink()
    return Converted(len(old), tuple(path.name for path in old), tuple(path.name for path in topics))


def _topics(ids: Iterable[str]) -> Mapping[str, list[str]]:
    found: dict[str, list[str]] = defaultdict(list)
    for id_ in sorted(ids):
        found[re.split(r"[-._]", id_)[0]].append(id_)
    return found


def _free(topic: str, taken: set[str]) -> str:
    name = f"{topic}.toml"
    return name if name not in taken else f"{topic}-more.toml"


def as_written(data: Mapping[str, Any]) -> dict[str, Any]:
    """A rule of the old form as an entry of a topic.

    >>> as_written({"id": "a", "when": {"field": "brief.tasks", "has": "prying"}, "effect": {"points": 1.0}})
    {'id': 'a', 'tasks': ['prying'], 'points': 1.0}
    """
    out = {key: data[key] for key in ("id", "title", "kind") if key in data}
    if data.get("status") == "draft":
        out["status"] = "draft"
    condition = condition_keys(data["when"])
    out |= condition
    effect = dict(data["effect"])
    if effect.get("audience") == "everyone":
        del effect["audience"]
    if "short" in effect:
        out["safety"] = True
    out |= effect
    if "because" in data:
        out["because"] = data["because"]
    if "basis" in data:
        usual = {"citation": "", "known": "memory"}
        out["basis"] = {key: value for key, value in data["basis"].items() if usual.get(key) != value}
    if "when" in condition and "examples" in data:
        out["examples"] = data["examples"]
    return out


def condition_keys(when: Mapping[str, Any]) -> dict[str, Any]:
    """A condition as `tasks`, `always` or `when`, or tasks with what has to hold besides.

    >>> condition_keys({"all": [{"field": "brief.tasks", "has": "prying"}, {"field": "metric.x", "gt": 1}]})
    {'tasks': ['prying'], 'when': {'field': 'metric.x', 'gt': 1}}
    """
    parts = list(when["all"]) if set(when) == {"all"} else [when]
    asked = [tasks for part in parts if (tasks := _tasks(part)) is not None]
    others = [part for part in parts if _tasks(part) is None]
    if all(map(_is_every_blade, others)):
        others = []
    if len(asked) > 1:  # one of these and one of those: no list of tasks says it
        return {"when": dict(when)}
    out: dict[str, Any] = {"tasks": asked[0]} if asked else {}
    if others:
        out["when"] = others[0] if len(others) == 1 else {"all": others}
    return out or {"always": True}


def _tasks(part: Mapping[str, Any]) -> list[str] | None:
    """The tasks of which a condition asks for any and for nothing else."""
    if part.get("field") == TASKS and set(part) == {"field", "has"}:
        return [part["has"]]
    if part.get("field") == TASKS and set(part) == {"field", "in"}:
        return list(part["in"])
    if set(part) == {"any"}:
        found = [_tasks(each) for each in part["any"]]
        return [task for tasks in found for task in tasks or ()] if all(found) else None
    return None


def _is_every_blade(part: Mapping[str, Any]) -> bool:
    return part.get("field") == _EVERY_BLADE and set(part) == {"field", "gt"} and part["gt"] == 0


def _compare(old: Iterable[Rule], topics: Mapping[Path, str]) -> None:
    """Raise PackError where a rule that was written does not say what it said before."""
    written: dict[str, Rule] = {}
    for path, text in topics.items():
        (_, rules), problems = rules_of(parse_toml(text.encode(), path.name, PackError), path.name)
        if problems:
            raise problems[0]
        written |= {rule.id: rule for rule in rules}
    for rule in old:
        again = written[rule.id]
        said = [each.model_dump(exclude={"when", "tasks", "examples"}) for each in (rule, again)]
        asked = [condition_keys(each.when.model_dump(by_alias=True, exclude_none=True)) for each in (rule, again)]
        if said[0] != said[1] or asked[0] != asked[1] or (again.examples and again.examples != rule.examples):
            raise PackError(f"{rule.id} cannot be converted", expected="a rule that reads back as it was")
