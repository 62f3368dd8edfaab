"""Whatever stands in a stream of briefs, every row comes out as one row, and nothing but an InputError is raised."""

from __future__ import annotations

import csv
import io
import json
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from recommender.engine.batch.rows import SweepRow, read_rows
from recommender.errors import InputError
from recommender.models.brief import Brief

TASKS = ["food-prep", "prying"]
NAMES = ["id", "title", "tasks.food-prep", "steel.grade", "owner.gear", "blade.height_mm", "wishes.grind"]
# CSV keeps no NUL and no lone surrogate, and a lone carriage return ends a line to some.
cells = st.text(st.characters(exclude_characters="\r\0", exclude_categories=["Cs"]), max_size=12)
leaves = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8)
anything = st.recursive(leaves, lambda inner: st.lists(inner) | st.dictionaries(st.text(max_size=8), inner))


def read(raw: bytes, kind: Any = None) -> list[SweepRow]:
    return list(read_rows(io.BytesIO(raw), TASKS, Brief(), kind))


@given(st.binary(max_size=400), st.sampled_from(["csv", "jsonl", None]))
def test_any_bytes_are_rows_or_an_input_error(raw: bytes, kind: Any) -> None:
    for start in (b"", b"title,id\n", b"{"):
        try:
            rows = read(start + raw, kind)
        except InputError:
            continue
        assert [row.number for row in rows] == list(range(1, len(rows) + 1))
        assert all(isinstance(row.asked, (Brief, InputError)) for row in rows)
        assert all(row.end <= len(start + raw) for row in rows)


@given(st.lists(st.lists(cells, min_size=len(NAMES), max_size=len(NAMES)), max_size=5))
def test_no_record_of_a_csv_is_lost(records: list[list[str]]) -> None:
    written = io.StringIO()
    csv.writer(written).writerows([NAMES, *records])
    rows = read(written.getvalue().encode())
    assert [row.number for row in rows] == list(range(1, len(records) + 1))


@given(st.lists(anything, max_size=5))
def test_no_line_of_json_is_lost(values: list[Any]) -> None:
    rows = read("".join(json.dumps(value) + "\n" for value in values).encode(), "jsonl")
    assert [row.line for row in rows] == list(range(1, len(values) + 1))


@given(st.lists(st.sampled_from(['"', '""', "a", ",", '"a"', 'a"']), max_size=6).map("".join), st.integers(0, 3))
def test_a_bad_record_costs_no_good_one(bad: str, place: int) -> None:
    """Good records hold no quote, so that only the bad one can open one; the good ones are found by their ids."""
    good = [f"{k},name" for k in range(3)]
    lines = [*good[:place], bad, *good[place:]]
    rows = read(("id,title\n" + "\n".join(lines) + "\n").encode())
    assert [row.id for row in rows if row.id in ("0", "1", "2") and row.asked == Brief(title="name")] == ["0", "1", "2"]
    assert len(rows) == len(good) + bool(bad)
