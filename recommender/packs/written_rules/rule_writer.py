"""Rules written as a file of rules: TOML that somebody can read aloud."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from recommender.parsing import toml_scalar

WIDTH = 120


def topic_text(rules: Iterable[Mapping[str, Any]], comments: Mapping[str, Iterable[str]] | None = None) -> str:
    """A file of rules: each as its keys and values in their order; comments stand above the rule of an id.

    Rows stand one on a line, their numbers in columns.

    >>> rows = [{"task": "prying", "from": 1.25, "to": 0}, {"task": "fine-slicing", "from": 1.0, "to": 2.5}]
    >>> print(topic_text([{"id": "a", "kind": "goal", "row": rows}]), end="")
    [[rule]]
    id = "a"
    kind = "goal"
    row = [
      { task = "prying",       from = 1.25, to = 0 },
      { task = "fine-slicing", from = 1.0,  to = 2.5 },
    ]
    """
    parts = []
    for rule in rules:
        lines = [*(comments or {}).get(str(rule.get("id")), ()), "[[rule]]", *_lines(rule)]
        parts.append("\n".join(lines) + "\n")
    return "\n".join(parts)


def _lines(table: Mapping[str, Any]) -> Iterator[str]:
    for key, value in table.items():
        if key == "row":
            yield "row = ["
            yield from (f"  {{ {row} }}," for row in _aligned(value))
            yield "]"
        else:
            yield f"{key} = {_value(value, '', len(key) + 3)}"


def _aligned(rows: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    """Rows without their braces; the keys that all begin with stand in columns."""
    cells = [[f"{_key(key)} = {_value(value, '  ', 0)}" for key, value in row.items()] for row in rows]
    columns = 0
    for keys in zip(*rows, strict=False):
        if len(set(keys)) > 1 or keys[0] == "because":
            break
        columns += 1
    widths = [max(len(row[place]) + 1 for row in cells) for place in range(columns)]
    for row in cells:
        *others, last = row
        padded = [f"{cell},".ljust(width) for cell, width in zip(others, widths, strict=False)]
        yield " ".join([*padded, *(f"{cell}," for cell in others[len(padded) :]), last])


def _value(value: Any, indent: str, column: int) -> str:
    """A value from a column on; a list of tables that does not fit a line has one on each."""
    if isinstance(value, list | tuple):
        in_line = f"[{', '.join(_value(item, indent, 0) for item in value)}]"
        if column + len(in_line) <= WIDTH or not any(isinstance(item, Mapping) for item in value):
            return in_line
        inner = indent + "  "
        return "[\n" + "".join(f"{inner}{_value(item, inner, len(inner))},\n" for item in value) + f"{indent}]"
    if isinstance(value, Mapping):
        in_line = ", ".join(f"{_key(key)} = {_value(item, indent, 0)}" for key, item in value.items())
        if column + len(in_line) + 4 > WIDTH:  # a table stands in one line, the lists in it need not
            in_line = ", ".join(f"{_key(key)} = {_value(item, indent, WIDTH)}" for key, item in value.items())
        return f"{{ {in_line} }}" if in_line else "{}"
    return toml_scalar(value) if isinstance(value, bool | str) else str(value)  # numbers as they were written


def _key(key: str) -> str:
    plain = bool(key) and all(char.isascii() and (char.isalnum() or char in "-_") for char in key)
    return key if plain else toml_scalar(key)
