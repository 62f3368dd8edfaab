"""Pack folders to knowledge: pack.toml, rules/*.toml, tables/{tasks,materials,gear,steels}/*.toml."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from importlib.resources.abc import Traversable
from typing import Any

from recommender.errors import PackError
from recommender.models.knowledge.rule import Rule
from recommender.models.knowledge.tables import Gear, Material, Steel, Task
from recommender.packs.checked_files import CheckedFiles
from recommender.packs.cross_checks import cross_problems, name_problems
from recommender.packs.fields import fields
from recommender.packs.knowledge import Knowledge, LoadedRule, Overruled, PackInfo

TABLES = {"tasks": Task, "materials": Material, "gear": Gear, "steels": Steel}


@dataclass(frozen=True)
class Pack:
    """One pack as read, before it meets others."""

    info: PackInfo
    tables: Mapping[str, Mapping[str, Any]]
    """Kind -> id -> table."""
    rules: tuple[LoadedRule, ...]
    """Drafts left out."""


@dataclass(frozen=True)
class Reading:
    """A pack as far as it can be read."""

    pack: Pack
    drafts: tuple[LoadedRule, ...]
    unread: frozenset[str]
    """Names of the files that cannot be read: there is something of that id, and nobody knows what."""


def read_pack(folder: Traversable) -> Pack:
    """Read a pack's folder. Raises PackError, located."""

    def refuse(problem: PackError) -> None:
        raise problem

    return read_through(folder, refuse).pack


def read_through(folder: Traversable, note: Callable[[PackError], None]) -> Reading:
    """Read a pack's folder; each file that cannot be read is noted, and the others are read all the same."""
    unread = set()
    files = CheckedFiles(folder)

    def read(kind: str, model: Any, entry: Traversable, file: str) -> Any:
        try:
            return files.read(kind, model, _bytes_of(entry, file), file)
        except PackError as problem:
            unread.add(entry.name.removesuffix(".toml"))
            note(problem)

    def read_all(model: Any, *parts: str) -> Iterator[tuple[Any, str]]:
        for entry, file in _toml_files(folder, *parts):
            if (found := read(parts[-1], model, entry, file)) is not None:
                for problem in _named_after_file(found.id, entry, file):
                    note(problem)
                yield found, file

    info = read("pack", PackInfo, folder / "pack.toml", f"{folder.name}/pack.toml") or PackInfo.model_construct(
        id=folder.name, title=folder.name, version="?", usual_steels={}
    )
    tables = {kind: {table.id: table for table, _ in read_all(model, "tables", kind)} for kind, model in TABLES.items()}
    rules = [LoadedRule(rule, info.id, file) for rule, file in read_all(Rule, "rules")]
    active = tuple(loaded for loaded in rules if loaded.rule.status == "active")
    drafts = tuple(loaded for loaded in rules if loaded.rule.status == "draft")
    files.keep()
    return Reading(Pack(info, tables, active), drafts, frozenset(unread))


def layered(packs: Iterable[Pack], *, grinds: Iterable[str], metrics: Iterable[str]) -> Knowledge:
    """Lay packs over each other, the last on top, and check them with the grinds and the metrics. Raises PackError.

    A rule or table of a later pack replaces one of the same id; `switch_off` takes rules of earlier packs out.
    """
    knowledge = Knowledge()
    for problem in lay(packs, knowledge):
        raise problem
    for problem in cross_problems(knowledge, fields(knowledge, grinds, metrics)):
        raise problem
    return knowledge


def lay(packs: Iterable[Pack], knowledge: Knowledge) -> Iterator[PackError]:
    """Lay packs over what is there, and tell what does not go; all the rest is laid."""
    for pack in packs:
        file = f"{pack.info.id}/pack.toml"
        if pack.info.id in {info.id for info in knowledge.packs}:
            yield PackError(f"there is a pack {pack.info.id} already", file=file, key="id", expected="an id of its own")
        knowledge.packs.append(pack.info)
        _lay_tables(pack, knowledge)
        for id_ in pack.info.switch_off:
            yield from name_problems(id_, knowledge.rules, file, "switch_off")
            gone = knowledge.rules.pop(id_, None)
            if gone is not None:
                knowledge.overruled.append(Overruled("rules", id_, gone.pack, pack.info.id, "switched off"))
        for loaded in pack.rules:
            id_ = loaded.rule.id
            if id_ in knowledge.rules:
                before = knowledge.rules[id_].pack
                knowledge.overruled.append(Overruled("rules", id_, before, pack.info.id, "replaced"))
            knowledge.rules[id_] = loaded
    if not any(info.defaults for info in knowledge.packs):
        yield PackError("no pack states defaults", expected="a [defaults] table in a pack.toml")


def _lay_tables(pack: Pack, knowledge: Knowledge) -> None:
    for kind, tables in pack.tables.items():
        store: dict[str, Any] = getattr(knowledge, kind)
        for id_, table in tables.items():
            before = knowledge.pack_of.get((kind, id_))
            if before is not None:
                knowledge.overruled.append(Overruled(kind, id_, before, pack.info.id, "replaced"))
            knowledge.pack_of[kind, id_] = pack.info.id
            store[id_] = table


def _toml_files(folder: Traversable, *parts: str) -> list[tuple[Traversable, str]]:
    place = folder
    for part in parts:
        place = place / part
    if not place.is_dir():
        return []
    found = sorted((e for e in place.iterdir() if e.name.endswith(".toml")), key=lambda e: e.name)
    return [(entry, "/".join((folder.name, *parts, entry.name))) for entry in found]


def _bytes_of(entry: Traversable, file: str) -> bytes:
    try:
        return entry.read_bytes()
    except OSError as cause:
        raise PackError(f"cannot be read ({cause.strerror})", file=file, expected="a readable file") from None


def _named_after_file(id_: str, entry: Traversable, file: str) -> Iterator[PackError]:
    if entry.name != f"{id_}.toml":
        yield PackError(f"{id_!r} does not match the file's name", file=file, key="id", expected=entry.name[:-5])
