"""What an older commit answered, with the ids of today for those that were renamed."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TypeVar

T = TypeVar("T")


def renamed_ids(table: str) -> dict[str, str]:
    """The ids that a table renames: a line each, old and new with a tab between, under a heading.

    >>> renamed_ids("0.1\\ttoday\\na\\tb\\nc\\tc\\n")
    {'a': 'b'}
    """
    lines = (line.split("\t") for line in table.splitlines()[1:])
    return {old: new for old, new in lines if old != new}


def with_new_ids(value: T, ids: Mapping[str, str]) -> T:
    """The same value with the new ids wherever an old one stands as a word, in keys too.

    >>> with_new_ids({"a-b": ["a-b-c", "(a-b)"]}, {"a-b": "x/y"})
    {'x/y': ['a-b-c', '(x/y)']}
    """
    if not ids:
        return value
    word = re.compile(rf"(?<![\w./-])(?:{'|'.join(sorted(map(re.escape, ids), key=len, reverse=True))})(?![\w/-])")

    def renamed(part: object) -> object:
        match part:
            case str():
                return word.sub(lambda found: ids[found[0]], part)
            case dict():
                return {renamed(key): renamed(item) for key, item in part.items()}
            case list():
                return [renamed(item) for item in part]
            case _:
                return part

    return renamed(value)  # type: ignore[return-value]
