"""The names that are loaded, put into a schema: editors then offer them, and mark a misspelt one."""

from __future__ import annotations

import copy
from collections.abc import Collection, Mapping
from typing import Any

from recommender.models.knowledge.rule import COMPARISONS
from recommender.packs.facts import Fact
from recommender.packs.fields import TESTS
from recommender.packs.knowledge import Knowledge
from recommender.packs.schema import Schema

_TYPES: dict[str, Schema] = {
    "number": {"type": "number"},
    "flag": {"type": "boolean"},
    "category": {"type": "string"},
    "set": {"type": "string"},
}


def with_names(
    schema: Schema, knowledge: Knowledge, known: Mapping[str, Fact], grinds: Collection[str], metrics: Collection[str]
) -> Schema:
    """A schema in which tasks, steels, gear, materials, grinds, fields and metrics are those given."""
    schema = copy.deepcopy(schema)
    parts = {"": schema, **schema.get("$defs", {})}
    tasks, gear = _enum(knowledge.tasks), _enum(knowledge.gear)
    for part, key, names in (
        ("Comparison", "field", _enum(known)),
        ("WrittenGoal", "metric", _enum(metrics)),
        ("WrittenLimit", "metric", _enum(metrics)),
        ("WrittenLimit", "field", _enum(known)),
        ("GoalRow", "task", tasks),
        ("LimitRow", "task", tasks),
        ("", "material", _enum(knowledge.materials)),
        ("Defaults", "task", tasks),
        ("Wishes", "grind", _enum(grinds)),
    ):
        if _has(parts, part, key, "string"):
            parts[part]["properties"][key].update(names)
    if _has(parts, "", "essentials", "array"):
        schema["properties"]["essentials"]["items"].update(_enum(metrics))
    for part in (parts[name] for name in parts if name.startswith("Written")):
        part["properties"]["tasks"]["items"].update(tasks)
    if "Comparison" in parts:
        parts["Comparison"]["allOf"] = _comparisons(known)
        parts["Example"]["properties"]["facts"]["propertyNames"] = _enum(known)
    if "Defaults" in parts:
        parts["Defaults"]["properties"]["gear"]["items"].update(gear)
        schema["properties"]["usual_steels"] = {
            "type": "object",
            "propertyNames": tasks,
            "additionalProperties": _enum(knowledge.steels),
        }
    if "OwnerBrief" in parts:
        one, several = parts["OwnerBrief"]["properties"]["gear"]["anyOf"]
        one.update(gear)
        several["items"].update(gear)
        schema["properties"]["tasks"]["propertyNames"] = tasks
    return schema


def _has(parts: Mapping[str, Any], part: str, key: str, kind: str) -> bool:
    return bool(parts.get(part, {}).get("properties", {}).get(key, {}).get("type") == kind)


def _enum(names: Collection[str]) -> Schema:
    return {"enum": sorted(names)}


def _comparisons(known: Mapping[str, Fact]) -> list[Schema]:
    """For each kind of field which comparisons suit it, and for each field with names of its own which those are."""
    out = []
    for kind, tests in TESTS.items():
        of_kind = [name for name, field in known.items() if field.kind == kind]
        unsuited = {test: False for test in COMPARISONS if test not in tests}
        out.append(_where(of_kind, {**_values(_TYPES[kind], tests), **unsuited}))
    for name, field in known.items():
        if field.values:
            out.append(_where([name], _values(_enum(field.values), TESTS[field.kind])))
    return out


def _values(one: Schema, tests: Collection[str]) -> dict[str, Any]:
    return {test: {"items": one} if test == "in" else one for test in tests}


def _where(fields: Collection[str], then: Mapping[str, Any]) -> Schema:
    return {"if": {"properties": {"field": _enum(fields)}}, "then": {"properties": dict(sorted(then.items()))}}
