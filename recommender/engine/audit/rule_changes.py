"""How two loaded sets of packs differ, change by change, and one of them with a single change taken back."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from typing import Any, Literal, get_args

from recommender.engine.intake.case import Case
from recommender.models.knowledge.rules_diff import Change
from recommender.models.knowledge.tables import UsualBlade
from recommender.packs.knowledge import Knowledge, LoadedRule

_STORES: dict[str, str] = {
    "rule": "rules",
    "task": "tasks",
    "material": "materials",
    "gear": "gear",
    "steel": "steels",
}
Kind = Literal["rule", "task", "material", "gear", "steel"]


def changes(old: Knowledge, new: Knowledge) -> list[Change]:
    """Every rule and table that is not the same in both, and the defaults; a rule by its data, wherever it stands."""
    found = [c for kind in get_args(Kind) for c in _of_kind(kind, _named_as(old, new, kind), _store(new, kind))]
    if _defaults(old) != _defaults(new):
        found.append(Change(kind="defaults", id="defaults", how="changed", moves=True))
    return found


def _store(knowledge: Knowledge, kind: str) -> Mapping[str, Any]:
    store: Mapping[str, Any] = getattr(knowledge, _STORES[kind])
    return store


def _named_as(old: Knowledge, new: Knowledge, kind: str) -> Mapping[str, Any]:
    """What the old packs have, by the ids that it has in the new ones."""
    store = _store(old, kind)
    return (
        store
        if kind != "rule"
        else {id_ if id_ in new.rules else new.renamed.get(id_, id_): r for id_, r in store.items()}
    )


def _of_kind(kind: Kind, old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[Change]:
    for id_ in sorted({*old, *new}):
        then, now = old.get(id_), new.get(id_)
        if _data(then) != _data(now):
            how: Literal["added", "removed", "changed"] = (
                "added" if then is None else "removed" if now is None else "changed"
            )
            yield Change(kind=kind, id=id_, how=how, moves=kind != "rule" or _acts(then) != _acts(now))


def _data(entry: Any) -> Any:
    return entry.rule.model_dump(exclude={"id", "formerly"}) if isinstance(entry, LoadedRule) else entry


def _acts(loaded: LoadedRule | None) -> Any:
    """What of a rule moves a blade: nothing of words."""
    if loaded is None or loaded.rule.kind in ("caution", "advice"):
        return None
    return loaded.rule.kind, loaded.rule.when, loaded.rule.effect


def _defaults(knowledge: Knowledge) -> Any:
    """What briefs that leave something open are answered for."""
    return knowledge.defaults, {task: steel for pack in knowledge.packs for task, steel in pack.usual_steels.items()}


def without(new: Knowledge, old: Knowledge, change: Change) -> Knowledge:
    """The new packs with one change taken back."""
    if change.kind == "defaults":
        return dataclasses.replace(new, packs=old.packs)
    before, store = _named_as(old, new, change.kind), dict(_store(new, change.kind))
    store.pop(change.id, None)
    if change.id in before:
        store[change.id] = before[change.id]
    parts: dict[str, Any] = {_STORES[change.kind]: store}
    return dataclasses.replace(new, **parts)


def _usual_blades(case: Case) -> list[UsualBlade]:
    """Those that a brief's blades are measured against."""
    return [usual for load in case.resolved.tasks if (usual := load.task.usual_blade) is not None]


def concerns(change: Change, case: Case) -> bool:
    """Whether a change can move any blade of a brief: a rule that the brief does not rule out, a table that it uses."""
    resolved = case.resolved
    match change.kind:
        case "rule":
            return any(r.rule.id == change.id for r in (*case.rules.goals, *case.rules.leans, *case.rules.limits))
        case "task":
            return change.id in resolved.task_ids
        case "material":
            return any(load.material.id == change.id for load in resolved.tasks)
        case "gear":
            own = {gear.id for gear in resolved.gear}
            return change.id in own.union(*(usual.gear for usual in _usual_blades(case)))
        case "steel":
            return change.id in {resolved.steel.id, *(usual.steel for usual in _usual_blades(case))}
        case "defaults":
            return True
