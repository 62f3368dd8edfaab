"""Briefs from TOML text and from ``key=value`` settings."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from recommender.errors import InputError
from recommender.models.brief import Brief
from recommender.models.brief_fields import BRIEF_FIELDS
from recommender.packs.located import parse_toml, validated
from recommender.parsing import toml_scalar
from recommender.text import shorten

MAX_BRIEF_BYTES = 64_000
"""A brief is a page of TOML; longer files can be made to take minutes to parse."""


def read_brief(raw: bytes, file: str) -> Brief:
    """Read a brief from TOML. Raises InputError with file, key, what was expected, nearest name."""
    brief: Brief = validated(Brief, parse_toml(raw, file, most_bytes=MAX_BRIEF_BYTES), file)
    return brief


def with_settings(brief: Brief, settings: Iterable[str], file: str = "--set") -> Brief:
    """Apply ``key=value`` settings to a brief; text is parsed by the field's type, never as TOML.

    Setting any task starts from no tasks. Raises InputError, with where the settings come from as its file.
    """
    data = brief.model_dump(exclude_defaults=True)
    fresh_tasks = True
    for setting in settings:
        key, equals, text = setting.partition("=")
        key, text = key.strip(), text.strip()
        if not equals or not key:
            raise InputError(
                f"{shorten(setting)} does not fit",
                file=file,
                expected="key=value, such as tasks.food-prep=1 or steel.grade=1084",
            )
        path = key.split(".", 1)
        if path[0] == "tasks":
            if fresh_tasks:
                data["tasks"], fresh_tasks = {}, False
            if len(path) == 1 or not path[1]:
                raise InputError("no task named", file=file, key=key, expected="tasks.ID=SHARE")
            data["tasks"][path[1]] = number_or_text(text)
        elif len(path) == 1:
            data[path[0]] = text
        else:
            table = data.setdefault(path[0], {})
            if not isinstance(table, dict):
                raise InputError(f"{path[0]} has no fields", file=file, key=key, given=path[0], valid=_FIELDS)
            table[path[1]] = _by_type(key, text)
    result: Brief = validated(Brief, data, file)
    return result


_FIELDS = sorted(Brief.model_fields)


def number_or_text(text: str) -> float | str:
    """A number where the text is one."""
    try:
        return float(text)
    except ValueError:
        return text


def _by_type(key: str, text: str) -> Any:
    kind = BRIEF_FIELDS[key].type if key in BRIEF_FIELDS else None
    if kind in ("numbers", "names"):
        parts = [part.strip(" \"'") for part in text.strip("[]").split(",") if part.strip()]
        return [number_or_text(part) for part in parts] if kind == "numbers" else parts
    if kind == "flag":
        return {"true": True, "yes": True, "false": False, "no": False}.get(text.lower(), text)
    return text if kind == "text" else number_or_text(text)


def with_tables(brief: Brief, tables: Mapping[str, Any], file: str) -> Brief:
    """Apply tables in the shape of a TOML brief to a brief; null says nothing.

    Naming any task starts from no tasks. Raises InputError.

    >>> whole = with_tables(Brief(tasks={"prying": 1.0}), {"blade": {"height_mm": 30, "length_mm": None}}, "row")
    >>> whole.tasks, whole.blade.height_mm
    ({'prying': 1.0}, 30.0)
    """
    data = brief.model_dump(exclude_defaults=True)
    for key, value in tables.items():
        if key == "tasks" and isinstance(value, Mapping):
            data[key] = {task: share for task, share in value.items() if share is not None} or data.get(key, {})
        elif isinstance(value, Mapping):
            kept = data.get(key, {})
            # A null that covers nothing stays, so that a misspelt name is refused even where it says nothing.
            data[key] = {**kept, **{name: item for name, item in value.items() if item is not None or name not in kept}}
        elif value is not None or key not in Brief.model_fields:
            data[key] = value
    result: Brief = validated(Brief, data, file)
    return result


def brief_toml(brief: Brief) -> str:
    """A brief as TOML, open fields left out: `read_brief` gives the same brief back.

    >>> brief_toml(Brief(title='12" slicer', tasks={"fine-slicing": 1.0}))
    'title = "12\\\\" slicer"\\n\\n[tasks]\\nfine-slicing = 1.0\\n'
    """
    data = brief.model_dump(exclude_none=True)
    plain = [f"{key} = {_toml_value(value)}" for key, value in data.items() if not isinstance(value, dict)]
    tables = [
        "\n".join([f"[{name}]", *(f"{key} = {_toml_value(value)}" for key, value in table.items())])
        for name, table in data.items()
        if isinstance(table, dict) and table
    ]
    return "\n\n".join(["\n".join(plain), *tables] if plain else tables) + "\n"


def _toml_value(value: Any) -> str:
    if isinstance(value, (tuple, list)):
        return "[" + ", ".join(_toml_value(item) for item in value) + "]"
    return toml_scalar(value)
