"""The record: its briefs are those that are asked, and a line that does not come out is named."""

from __future__ import annotations

from pathlib import Path

import pytest

from . import record
from .briefs import IMPOSSIBLE, SCENARIOS, briefs_in
from .checkout import ComparisonError
from .figures import Figures
from .papers import PAPERS, PROGRAM, items_of

FOLDER = Path(__file__).parents[2] / "scenarios"
BLADE = Figures("convex", "17.5", "35", "0.3", "3.2", "72.5", "165.22 EUR")


def test_every_brief_has_a_name_of_its_own_and_papers():
    briefs = briefs_in(FOLDER)
    assert len({brief.name for brief in briefs}) == len(briefs)
    assert sum(brief.section != SCENARIOS for brief in briefs) >= 120
    items = {item.name: item for item in items_of(briefs)}
    for brief in briefs:
        assert ("recommend" if brief.section == IMPOSSIBLE else "quote") in items[brief.name].commands
    assert {name for item in items.values() for name in item.commands} >= set(PAPERS)


def test_the_record_has_a_line_for_every_brief():
    asked = {brief.name for brief in briefs_in(FOLDER)} | {PROGRAM}
    assert set(record.read(record.FILE.read_text(encoding="utf-8"))) == asked


def test_a_record_reads_as_written():
    rows = [record.Row("hunter", BLADE, {"quote": "0123456789"}), record.Row("none", Figures(), {"recommend": "ab"})]
    assert list(record.read(record.written(rows)).values()) == rows


def test_another_record_is_refused():
    with pytest.raises(ComparisonError, match="columns"):
        record.read("brief\tgrind\n")


def test_a_line_that_does_not_come_out_is_named():
    known = {"hunter": record.Row("hunter", BLADE, {"quote": "aa", "life": "bb"})}
    assert list(record.not_reproduced(known, [known["hunter"]])) == []
    assert list(record.not_reproduced(known, [record.Row("hunter", BLADE, {"life": "bb"})])) == []
    now = record.Row("hunter", BLADE._replace(points="71"), {"quote": "ac", "life": "bb"})
    (line,) = record.not_reproduced(known, [now])
    assert line.startswith("hunter: convex")
    assert "72.5 points" in line
    assert "71 points" in line
    assert line.endswith("; quote")
    assert list(record.not_reproduced(known, [record.Row("cook", BLADE, {})])) == ["cook: not in the record"]


def test_a_fingerprint_forgives_the_last_digits_and_nothing_else():
    fields = {"points": {"total": 72.123456789}, "rules": ["a", 1, True, None]}
    assert record.fingerprint(fields) == record.fingerprint({**fields, "points": {"total": 72.1234567890001}})
    for other in (72.123457, 72.1234578, "72.123456789", None):
        assert record.fingerprint(fields) != record.fingerprint({**fields, "points": {"total": other}})
