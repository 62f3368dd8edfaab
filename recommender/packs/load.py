"""Pack folders to knowledge: pack.toml, rules/*.toml, tables/{tasks,materials,gear,steels}/*.toml."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from importlib.resources.abc import Traversable
from typing import Any

from recommender.errors import PackError
from recommender.models.rule import All, AnyOf, Comparison, Not, Rule
from recommender.models.tables import Gear, Material, Steel, Task
from recommender.packs.fields import TESTS, Field, fields
from recommender.packs.knowledge import Knowledge, LoadedRule, Overruled, PackInfo
from recommender.packs.located import parse_toml, validated

TABLES = {"tasks": Task, "materials": Material, "gear": Gear, "steels": Steel}


@dataclass(frozen=True)
class Pack:
    """One pack as read, before it meets others."""

    info: PackInfo
    tables: Mapping[str, Mapping[str, Any]]
    """Kind -> id -> table."""
    rules: tuple[LoadedRule, ...]
    """Drafts left out."""


def load_packs(folders: Iterable[Traversable], *, grinds: Iterable[str], metrics: Iterable[str]) -> Knowledge:
    """Load packs in order and check them against each other, the grinds and the metrics. Raises PackError."""
    return layered([read_pack(folder) for folder in folders], grinds=grinds, metrics=metrics)


def read_pack(folder: Traversable) -> Pack:
    """Read a pack's folder. Raises PackError, located."""
    info: PackInfo = validated(
        PackInfo, _read(folder / "pack.toml", f"{folder.name}/pack.toml"), f"{folder.name}/pack.toml", PackError
    )
    tables: dict[str, dict[str, Any]] = {}
    for kind, model in TABLES.items():
        store = tables.setdefault(kind, {})
        for entry, file in _toml_files(folder, "tables", kind):
            table = validated(model, _read(entry, file), file, PackError)
            _named_after_file(table.id, entry, file)
            store[table.id] = table
    rules = []
    for entry, file in _toml_files(folder, "rules"):
        rule = validated(Rule, _read(entry, file), file, PackError)
        _named_after_file(rule.id, entry, file)
        if rule.status == "active":
            rules.append(LoadedRule(rule, info.id, file))
    return Pack(info, tables, tuple(rules))


def layered(packs: Iterable[Pack], *, grinds: Iterable[str], metrics: Iterable[str]) -> Knowledge:
    """Lay packs over each other, the last on top, and check them with the grinds and the metrics. Raises PackError.

    A rule or table of a later pack replaces one of the same id; `switch_off` takes rules of earlier packs out.
    """
    knowledge = Knowledge()
    for pack in packs:
        _lay(pack, knowledge)
    if not any(info.defaults for info in knowledge.packs):
        raise PackError("no pack states defaults", expected="a [defaults] table in a pack.toml")
    _cross_check(knowledge, fields(knowledge, grinds, metrics))
    return knowledge


def _lay(pack: Pack, knowledge: Knowledge) -> None:
    file = f"{pack.info.id}/pack.toml"
    if pack.info.id in {info.id for info in knowledge.packs}:
        raise PackError(f"there is a pack {pack.info.id} already", file=file, key="id", expected="an id of its own")
    knowledge.packs.append(pack.info)
    for kind, tables in pack.tables.items():
        store: dict[str, Any] = getattr(knowledge, kind)
        for id_, table in tables.items():
            before = knowledge.pack_of.get((kind, id_))
            if before is not None:
                knowledge.overruled.append(Overruled(kind, id_, before, pack.info.id, "replaced"))
            knowledge.pack_of[kind, id_] = pack.info.id
            store[id_] = table
    for id_ in pack.info.switch_off:
        _known(id_, knowledge.rules, file, "switch_off")
        gone = knowledge.rules.pop(id_)
        knowledge.overruled.append(Overruled("rules", id_, gone.pack, pack.info.id, "switched off"))
    for loaded in pack.rules:
        id_ = loaded.rule.id
        if id_ in knowledge.rules:
            before = knowledge.rules[id_].pack
            knowledge.overruled.append(Overruled("rules", id_, before, pack.info.id, "replaced"))
        knowledge.rules[id_] = loaded


def _toml_files(folder: Traversable, *parts: str) -> list[tuple[Traversable, str]]:
    place = folder
    for part in parts:
        place = place / part
    if not place.is_dir():
        return []
    found = sorted((e for e in place.iterdir() if e.name.endswith(".toml")), key=lambda e: e.name)
    return [(entry, "/".join((folder.name, *parts, entry.name))) for entry in found]


def _read(entry: Traversable, file: str) -> dict[str, Any]:
    try:
        raw = entry.read_bytes()
    except OSError as cause:
        raise PackError(f"cannot be read ({cause.strerror})", file=file, expected="a readable file") from None
    return parse_toml(raw, file, PackError)


def _named_after_file(id_: str, entry: Traversable, file: str) -> None:
    if entry.name != f"{id_}.toml":
        raise PackError(f"{id_!r} does not match the file's name", file=file, key="id", expected=entry.name[:-5])


def _cross_check(knowledge: Knowledge, known: dict[str, Field]) -> None:
    for task in knowledge.tasks.values():
        file = f"tables/tasks/{task.id}.toml"
        _known(task.material, knowledge.materials, file, "material")
        if task.split and knowledge.materials[task.material].splits is None:
            raise PackError(
                f"{task.material} does not split", file=file, key="split", expected="a material with [splits]"
            )
    for pack in knowledge.packs:
        file = f"{pack.id}/pack.toml"
        for name, steel in pack.usual_steels.items():
            _known(name, knowledge.tasks, file, "usual_steels")
            _known(steel, knowledge.steels, file, f"usual_steels.{name}")
        if pack.defaults:
            _known(pack.defaults.task, knowledge.tasks, file, "defaults.task")
            for gear in pack.defaults.gear:
                _known(gear, knowledge.gear, file, "defaults.gear")
    for loaded in knowledge.rules.values():
        _check_rule(loaded, known)


def _known(name: str, valid: Iterable[str], file: str, key: str) -> None:
    names = list(valid)
    if name not in names:
        raise PackError(f"unknown name {name!r}", file=file, key=key, given=name, valid=names)


def _check_rule(loaded: LoadedRule, known: dict[str, Field]) -> None:
    rule, file = loaded.rule, loaded.file
    _check_condition(rule.when, known, file, "when")
    if rule.kind == "goal":
        _known(f"metric.{rule.effect.metric}", known, file, "effect.metric")
    if rule.kind == "limit":
        name = f"metric.{rule.effect.metric}" if rule.effect.metric else str(rule.effect.field)
        _known(name, known, file, "effect.metric" if rule.effect.metric else "effect.field")
        field = known[name]
        if rule.effect.in_ is not None:
            for value in rule.effect.in_:
                _check_value(field, value, file, "effect.in")
        elif field.kind != "number":
            raise PackError(f"{name} is a {field.kind}", file=file, key="effect", expected="in = [...] for it")
    for example in rule.examples:
        for name, value in example.facts.items():
            _known(name, known, file, "examples.facts")
            values = value if isinstance(value, list) else [value]
            for item in values:
                _check_value(known[name], item, file, f"examples.facts.{name}")


def _check_condition(condition: All | AnyOf | Not | Comparison, known: dict[str, Field], file: str, key: str) -> None:
    match condition:
        case All(all=parts):
            for k, part in enumerate(parts):
                _check_condition(part, known, file, f"{key}.all.{k}")
        case AnyOf(any=parts):
            for k, part in enumerate(parts):
                _check_condition(part, known, file, f"{key}.any.{k}")
        case Not(not_=part):
            _check_condition(part, known, file, f"{key}.not")
        case Comparison():
            _known(condition.field, known, file, f"{key}.field")
            field = known[condition.field]
            for name, value in condition.tests:
                _check_test(field, name, value, file, f"{key}.{name}")


def _check_test(field: Field, test: str, value: Any, file: str, key: str) -> None:
    allowed = TESTS[field.kind]
    if test not in allowed:
        raise PackError(
            f"{test} does not suit {field.name}, a {field.kind}",
            file=file,
            key=key,
            expected="one of " + ", ".join(sorted(allowed)),
        )
    for item in value if isinstance(value, tuple) else (value,):
        _check_value(field, item, file, key)


def _check_value(field: Field, value: Any, file: str, key: str) -> None:
    if field.kind == "number" and (isinstance(value, bool) or not isinstance(value, (int, float))):
        raise PackError(f"{value!r} is no number", file=file, key=key, expected=f"a number for {field.name}")
    if field.kind == "flag" and not isinstance(value, bool):
        raise PackError(f"{value!r} is neither true nor false", file=file, key=key, expected="true or false")
    if field.values and value not in field.values:
        raise PackError(f"unknown name {value!r}", file=file, key=key, given=str(value), valid=sorted(field.values))
