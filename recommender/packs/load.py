"""Pack folders to knowledge: pack.toml, rules/*.toml, tables/{tasks,materials,gear,steels}/*.toml."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from importlib.resources.abc import Traversable
from itertools import pairwise
from typing import Any

from recommender.errors import PackError
from recommender.models.knowledge.tables import Gear, Material, Steel, Task
from recommender.packs.checked_files import Check, CheckedFiles
from recommender.packs.cross_checks import cross_problems, name_problems
from recommender.packs.fields import fields
from recommender.packs.knowledge import Knowledge, LoadedRule, Overruled, PackInfo
from recommender.packs.located import all_problems
from recommender.packs.written_rules.rule_files import rules_of
from recommender.text import plural

TABLES = {"tasks": Task, "materials": Material, "gear": Gear, "steels": Steel}


@dataclass(frozen=True)
class Pack:
    """One pack as read, before it meets others."""

    info: PackInfo
    tables: Mapping[str, Mapping[str, Any]]
    """Kind -> id -> table."""
    rules: tuple[LoadedRule, ...]
    """By their first ids; drafts left out."""
    digest: str = ""
    """Of its files' names and contents."""


@dataclass(frozen=True)
class Reading:
    """A pack as far as it can be read."""

    pack: Pack
    drafts: tuple[LoadedRule, ...]
    unread: frozenset[str]
    """Names of files and rules that cannot be read: there is something of that id, and nobody knows what."""


def read_pack(folder: Traversable) -> Pack:
    """Read a pack's folder. Raises PackError, located."""

    def refuse(problems: Sequence[PackError]) -> None:
        first, *others = problems
        if others:
            first.args = (f"{first.args[0]} (and {plural(len(others), 'more problem')})",)
        raise first

    return read_through(folder, refuse).pack


def read_through(folder: Traversable, note: Callable[[Sequence[PackError]], None]) -> Reading:
    """Read a pack's folder; the problems of each file are noted, and all the rest is read all the same."""
    unread: set[str] = set()
    files = CheckedFiles(folder)

    def read(kind: str, check: Check, entry: Traversable, file: str) -> Any:
        try:
            found, problems = files.read(kind, check, _bytes_of(entry, file), file)
        except PackError as problem:
            found, problems = None, [problem]
        if problems:
            unread.update(problem.rule or entry.name.removesuffix(".toml") for problem in problems)
            note(problems)
        return found

    def read_tables(kind: str, model: Any) -> Iterator[Any]:
        for entry, file in _toml_files(folder, "tables", kind):
            found = read(kind, partial(_one, model), entry, file)
            if found is not None:
                _note_any(_named_after_file(found.id, entry, file), note)
                yield found

    def read_rules() -> Iterator[LoadedRule]:
        for entry, file in _toml_files(folder, "rules"):
            old_form, rules = read("rules", rules_of, entry, file) or (False, ())
            for rule in rules:
                if old_form:
                    _note_any(_named_after_file(rule.id, entry, file), note)
                yield LoadedRule(rule, info.id, file, old_form)

    info = read("pack", partial(_one, PackInfo), folder / "pack.toml", f"{folder.name}/pack.toml")
    if info is None:
        info = PackInfo.model_construct(id=folder.name, title=folder.name, version="?", usual_steels={})
    tables = {kind: {table.id: table for table in read_tables(kind, model)} for kind, model in TABLES.items()}
    # By their first ids: what goes by order, such as draws of weights and ties, stays where one is renamed;
    # with the ending of a file, which they had in the order of 0.1.
    rules = sorted(read_rules(), key=lambda loaded: f"{loaded.first_id}.toml")
    _note_any(_told_twice(rules), note)
    active = tuple(loaded for loaded in rules if loaded.rule.status == "active")
    drafts = tuple(loaded for loaded in rules if loaded.rule.status == "draft")
    files.keep()
    return Reading(Pack(info, tables, active, files.digest), drafts, frozenset(unread))


def _one(model: Any, data: dict[str, Any], file: str) -> tuple[Any, list[PackError]]:
    return all_problems(model, data, file, PackError)


def _note_any(problems: Iterable[PackError], note: Callable[[Sequence[PackError]], None]) -> None:
    found = list(problems)
    if found:
        note(found)


def _told_twice(rules: Sequence[LoadedRule]) -> Iterator[PackError]:
    """Rules of one pack with the same id, in two files or in one."""
    for one, other in pairwise(sorted(rules, key=lambda loaded: loaded.rule.id)):
        if one.rule.id == other.rule.id:
            problem = "is there twice" if one.file == other.file else f"is in {one.file} too"
            expected = "an id, or a task, of its own"
            yield PackError(problem, file=other.file, rule=other.rule.id, key="id", expected=expected)


def layered(packs: Iterable[Pack], *, grinds: Iterable[str], metrics: Iterable[str]) -> Knowledge:
    """Lay packs over each other, the last on top, and check them with the grinds and the metrics. Raises PackError.

    A rule, row or table of a later pack replaces one of the same id, or of one that it had before; `switch_off` takes
    rules of earlier packs out, with all their rows.
    """
    knowledge = Knowledge()
    for problem in lay(packs, knowledge):
        raise problem
    for problem in cross_problems(knowledge, fields(knowledge, grinds, metrics)):
        raise problem
    return knowledge


def lay(packs: Iterable[Pack], knowledge: Knowledge) -> Iterator[PackError]:
    """Lay packs over what is there, and tell what does not go; all the rest is laid."""
    packs = list(packs)
    for place, pack in enumerate(packs):
        file = f"{pack.info.id}/pack.toml"
        if pack.info.id in {info.id for info in knowledge.packs}:
            yield PackError(f"there is a pack {pack.info.id} already", file=file, key="id", expected="an id of its own")
        knowledge.packs.append(pack.info)
        knowledge.digests[pack.info.id] = pack.digest
        _lay_tables(pack, knowledge)
        for off in pack.info.switch_off:
            found = knowledge.rules_called(off.id)
            if not found and (whose := _where_it_counts(off.id, packs[place:])):
                expected = "a rule of a pack below this one"
                yield PackError(f"{off.id} is {whose}", file=file, key="switch_off", expected=expected)
            elif not found:
                yield from name_problems(off.id, (*knowledge.rules, *knowledge.renamed), file, "switch_off")
            for gone in found:
                del knowledge.rules[gone.rule.id]
                knowledge.overruled.append(
                    Overruled("rules", gone.rule.id, gone.pack, pack.info.id, "switched off", gone.rule, off.because)
                )
        for loaded in pack.rules:
            _lay_rule(loaded, knowledge)
        knowledge.renamed.update((was, loaded.rule.id) for loaded in pack.rules for was in loaded.rule.formerly)
    if not any(info.defaults for info in knowledge.packs):
        yield PackError("no pack states defaults", expected="a [defaults] table in a pack.toml")


def _where_it_counts(id_: str, packs: Sequence[Pack]) -> str:
    """Whose rule that is which a pack, the first of some, cannot switch off."""
    own, *later = packs
    if any(id_ in (r.rule.id, *r.rule.formerly) for r in own.rules):
        return "a rule of this pack itself: take it out, or make it a draft"
    above = next((p.info for p in later if any(id_ in (r.rule.id, *r.rule.formerly) for r in p.rules)), None)
    if above is None:
        return ""
    back = {off.id for off in above.switch_off} & {r.rule.id for r in own.rules}
    turn = ", which switches off a rule of this one in turn" if back else ""
    return f"a rule of {above.id}, which lies over this pack{turn}"


def _lay_rule(loaded: LoadedRule, knowledge: Knowledge) -> None:
    """Lay a rule over what is there: in the place of one of its id, of a former id of its own, or of its rows."""
    rule = loaded.rule
    now = knowledge.renamed.get(rule.id)
    if now is not None and rule.id not in knowledge.rules:
        # It replaces a rule that has another id by now, and goes on under that.
        rule = rule.model_copy(update={"id": now, "formerly": (*rule.formerly, rule.id)})
        loaded = replace(loaded, rule=rule)
    family, row = rule.id.partition("/")[::2]
    replaced = [rule.id] if rule.id in knowledge.rules else []
    if row:
        replaced += [family] if family in knowledge.rules else []
    else:
        replaced += [id_ for id_ in knowledge.rules if id_.startswith(f"{rule.id}/")]
    for id_ in replaced:
        before = knowledge.rules[id_]
        if before.pack != loaded.pack:
            knowledge.overruled.append(Overruled("rules", id_, before.pack, loaded.pack, "replaced", before.rule))
        if id_ != rule.id:
            del knowledge.rules[id_]
    knowledge.rules[rule.id] = loaded


def _lay_tables(pack: Pack, knowledge: Knowledge) -> None:
    for kind, tables in pack.tables.items():
        store: dict[str, Any] = getattr(knowledge, kind)
        for id_, table in tables.items():
            before = knowledge.pack_of.get((kind, id_))
            if isinstance(table, Task) and table.usual_blade is None and id_ in store:
                # One written before there were usual blades: goals of packs below go on being measured by theirs.
                table = table.model_copy(update={"usual_blade": store[id_].usual_blade})
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
