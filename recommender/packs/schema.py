"""JSON Schema (draft 2020-12) of every kind of file, for editors: what the models accept, as TOML writes it.

Not in it, as no schema can say it: that numbers stand in order (low, likely, high; from and to that differ), that a
table's file is named after its id, and that no number is nan.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from pydantic import BaseModel, TypeAdapter

from recommender.models.brief import Brief
from recommender.models.docstrings import attribute_docstrings
from recommender.models.knowledge.tables import Gear, Material, Steel, Task
from recommender.models.knowledge.written_rule import RuleFile
from recommender.models.workshop.shop import Shop
from recommender.packs.knowledge import PackInfo
from recommender.packs.located import models_of

DIALECT = "https://json-schema.org/draft/2020-12/schema"
KINDS: dict[str, Any] = {
    "rule": RuleFile,
    "pack": PackInfo,
    "task": Task,
    "steel": Steel,
    "gear": Gear,
    "material": Material,
    "brief": Brief,
    "shop": Shop,
}
Schema = dict[str, Any]


def schema_of(kind: str) -> Schema:
    """The schema of one kind of file; names of tasks, fields, metrics are any text (`schema_names` fills them in)."""
    model = KINDS[kind]
    found = _as_toml(TypeAdapter(model).json_schema(by_alias=True))
    for part in _reachable(model):
        _describe(found["$defs"].get(part.__name__, {}) if part is not model else found, part)
    return {"$schema": DIALECT, "title": f"Bevelwright {kind}", **found}


def _as_toml(schema: Schema) -> Schema:
    """Without what pydantic adds for others: null, which TOML does not have, titles made of names, discriminators."""
    out: Schema = {}
    for key, value in schema.items():
        if key in ("title", "discriminator") or (key == "default" and value is None):
            continue
        if key in ("properties", "$defs"):
            out[key] = {name: _as_toml(part) for name, part in value.items()}
        elif isinstance(value, dict):
            out[key] = _as_toml(value)
        elif isinstance(value, list):
            out[key] = [_as_toml(part) if isinstance(part, dict) else part for part in value if part != _NULL]
        else:
            out[key] = value
    if len(out.get("anyOf", ())) == 1:
        (only,) = out.pop("anyOf")
        out = {**only, **out}
    return out


_NULL = {"type": "null"}


def _reachable(kind: Any) -> Iterator[type[BaseModel]]:
    waiting, seen = models_of(kind), set()
    while waiting:
        model = waiting.pop()
        if model not in seen:
            seen.add(model)
            waiting += [part for field in model.model_fields.values() for part in models_of(field.annotation)]
            yield model


def _describe(schema: Schema, model: type[BaseModel]) -> None:
    words = attribute_docstrings(model)
    for name, field in model.model_fields.items():
        if name in words:
            schema["properties"][field.alias or name]["description"] = words[name]
