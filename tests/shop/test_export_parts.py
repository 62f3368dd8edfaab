"""An export cut into its quotes says what the whole of it says, wherever it is cut while it is read.

Source: RFC 8259, by the standard library's own parser of the whole text.
"""

from __future__ import annotations

import io
import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from recommender.errors import InputError
from recommender.shop.quotes.export_parts import MOST_PART_BYTES, MOST_PARTS, ExportParts
from recommender.shop.quotes.quote_exchange import quotes_of


class InDrops(io.BytesIO):
    """Gives a few bytes at a time, as a pipe or a disk may."""

    def __init__(self, raw: bytes, most: int) -> None:
        super().__init__(raw)
        self._most = most

    def read(self, size: int | None = -1) -> bytes:
        return super().read(self._most)


LEAVES = st.none() | st.booleans() | st.integers() | st.text(alphabet='"\\{}[],:aé\n', max_size=6)
OBJECTS = st.dictionaries(
    st.text(alphabet='"\\{}a', max_size=3),
    st.recursive(LEAVES, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text("a{", max_size=2), inner)),
    max_size=3,
)


@settings(deadline=None)
@given(st.lists(OBJECTS | LEAVES | st.lists(OBJECTS, max_size=2), max_size=4), st.integers(1, 9), st.booleans())
def test_parts_and_what_is_around_them_are_the_whole(items: list[Any], most: int, whole: bool) -> None:
    data = {"schema": "{[", "quotes": items} if whole else items
    parts = ExportParts(InDrops(json.dumps(data, ensure_ascii=False).encode(), most), "x")
    around = json.loads(parts.around)
    cut = [json.loads(parts[place]) for place in range(len(parts))]
    assert cut == [item for item in items if isinstance(item, dict)]
    emptied = [{} if isinstance(item, dict) else item for item in items]
    assert around == ({"schema": "{[", "quotes": emptied} if whole else emptied)


@pytest.mark.parametrize("text", ["[{} {}]", "[{},]", "[{}", "[{]]", '[{"a": 1}, {"a"]', "[{}}]", "[{}]]", '[{"a'])
def test_what_is_no_json_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="line 1"):
        json.loads(text)
    with pytest.raises(InputError, match="cannot be read"):
        quotes_of(text.encode(), "x")


@pytest.mark.parametrize(
    ("raw", "says"),
    [
        (b'[{"a": "' + b"x" * MOST_PART_BYTES + b'"}]', "x: quote 1: too long"),
        (b'[{"a": "' + b"x" * MOST_PART_BYTES, "x: quote 1: too long"),
        (b'[{}, {"a": [' + b"1," * MOST_PART_BYTES + b"1]}]", "x: quote 2: too long"),
        (b'"' + b"x" * MOST_PART_BYTES * 2, "x: too long"),
        (b"[" * MOST_PART_BYTES * 2, "x: too much besides quotes"),
        (b"[" + b"{}," * (MOST_PARTS + 1) + b"{}]", "x: too much in it"),
    ],
)
def test_what_is_too_long_is_refused_before_it_is_parsed(raw: bytes, says: str) -> None:
    with pytest.raises(InputError, match=f"^{says}"):
        ExportParts(io.BytesIO(raw), "x")


@pytest.mark.parametrize("text", ["[1]", "[{}, 1]", "[[{}]]", '[null, {"a": 1}]'])
def test_what_stands_among_quotes_and_is_none_is_named(text: str) -> None:
    with pytest.raises(InputError, match=r"^x: quote \d: .* does not fit"):
        quotes_of(text.encode(), "x")
