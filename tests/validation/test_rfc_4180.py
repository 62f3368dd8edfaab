"""CSV is read and written as RFC 4180 says (Y. Shafranovich, October 2005, section 2; known from memory)."""

from __future__ import annotations

import csv
import io

from recommender.drawing.text.workshop.sweep_csv import COLUMNS, csv_line, header
from recommender.engine.batch.rows import SweepRow, read_rows
from recommender.errors import InputError
from recommender.models.answer.sweep import Swept
from recommender.models.brief import Brief


def read(text: str) -> list[SweepRow]:
    return list(read_rows(io.BytesIO(text.encode()), ["food-prep"], Brief(), "csv"))


def titles(text: str) -> list[str | None]:
    return [row.asked.title for row in read(text) if isinstance(row.asked, Brief)]


def test_rule_1_and_2_records_end_in_crlf_the_last_may_not() -> None:
    assert titles("title\r\naaa\r\nbbb\r\n") == ["aaa", "bbb"]
    assert titles("title\r\naaa\r\nbbb") == ["aaa", "bbb"]


def test_rule_4_every_record_has_as_many_fields_as_the_header() -> None:
    rows = read("id,title\r\n1,aaa\r\n2\r\n3,bbb,ccc\r\n4,ddd\r\n")
    assert [isinstance(row.asked, InputError) for row in rows] == [False, True, True, False]


def test_rule_5_fields_may_be_in_quotes() -> None:
    assert titles('title,"tasks.food-prep"\r\n"aaa","1"\r\nbbb,1\r\n') == ["aaa", "bbb"]


def test_rule_6_line_breaks_quotes_and_commas_stand_inside_quotes() -> None:
    rows = read('title,id\r\n"b \r\nbb, with",2\r\nccc,3\r\n')
    assert [(row.number, row.line, row.id) for row in rows] == [(1, 2, "2"), (2, 4, "3")]
    assert isinstance(rows[0].asked, Brief)
    assert rows[0].asked.title is not None
    assert rows[0].asked.title.split() == ["b", "bb,", "with"]


def test_rule_7_a_quote_inside_quotes_is_doubled() -> None:
    assert titles('title\r\n"b""bb"\r\n') == ['b"bb']


def test_what_is_written_ends_in_crlf_and_has_one_cell_a_column() -> None:
    swept = Swept(row=1, line=2, id='a "b", c', outcome="bad input", error="x, y")
    text = header() + csv_line(swept)
    assert text.count("\r\n") == text.count("\n") == 2
    assert '"a ""b"", c"' in text
    names, cells = csv.reader(io.StringIO(text, newline=""))
    assert tuple(names) == COLUMNS
    assert len(cells) == len(COLUMNS)
    assert dict(zip(names, cells, strict=True))["id"] == 'a "b", c'
