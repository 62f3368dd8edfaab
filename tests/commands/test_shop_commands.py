"""`worksheet`, `quote`, `book` and `shop` on the command line: a quote's whole way, and errors in one line.

Source: RFC 4180 (comma-separated values: CRLF, quotes doubled) read back by the standard library; the charter's exit
codes.
"""

from __future__ import annotations

import csv
import io
import json
import types
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from recommender.cli import main
from recommender.errors import InputError
from recommender.models.workshop.book import Entry
from recommender.plugin.api import API_VERSION
from recommender.plugin.hooks import hookimpl
from recommender.service import Service
from recommender.shop.quotes.quote_book import Book
from recommender.shop.rates.calibration import Job, fits, least_squares, read_times
from recommender.shop.rates.shop_file import read_shop, shop_of

BRIEF = ("--set", "tasks.food-prep=1", "--set", "owner.gear=bench-stones")


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Nobody's own book and shop."""
    for name in ("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME"):
        monkeypatch.setenv(name, str(tmp_path / "home"))
    monkeypatch.setenv("COLUMNS", "80")
    return tmp_path


@pytest.fixture
def bevelwright(capsys: pytest.CaptureFixture[str]):
    """Run a command; gives exit code, output and errors."""

    def run(*argv: str) -> tuple[int, str, str]:
        try:
            code = main([str(a) for a in argv])
        except SystemExit as stop:
            code = int(stop.code or 0)
        out = capsys.readouterr()
        return code, out.out, out.err

    return run


def answered_with(result: tuple[int, str, str]) -> str:
    code, out, err = result
    assert code == 0, err
    return out


def test_worksheet_prints_its_schema_first(bevelwright) -> None:
    out = answered_with(bevelwright("worksheet", *BRIEF, "--json"))
    assert next(iter(json.loads(out))) == "schema"


def test_nothing_fits(bevelwright, home: Path) -> None:
    impossible = ("--set", "tasks.fine-slicing=1", "--set", "wishes.edge_thickness_mm=0.1", "--set")
    for command in ("quote", "worksheet"):
        code, out, err = bevelwright(
            command, *impossible, "wishes.grind=full-flat", *(["--save"] * (command == "quote"))
        )
        assert (code, out) == (1, "")
        assert err.count("\n") == 1
        assert "nothing fits" in err
    assert not list(home.rglob("*.sqlite3")), "no quote of nothing"


RULE = """id = "slower-wear"
title = "Stouter from now on"
kind = "limit"
status = "active"
when = { all = [{ field = "brief.tasks", has = "food-prep" }] }
effect = { field = "design.edge_angle_per_side_deg", min = 20.0 }
because = "A test that changes its mind."
basis = { level = "estimate", citation = "", known = "memory" }
examples = [
  { facts = { "brief.tasks" = ["food-prep"] }, fires = true },
  { facts = { "brief.tasks" = ["prying"] }, fires = false },
]
"""


def test_a_quote_stays_as_given_when_rules_and_rates_change(bevelwright, home: Path) -> None:
    book, shop = home / "b.sqlite3", home / "shop.toml"
    answered_with(bevelwright("shop", "new", shop))
    given = [home / name for name in ("q.pdf", "q.md", "c.pdf", "c.md")]
    saved = answered_with(
        bevelwright(
            "quote", *BRIEF, "--shop", shop, "--book", book, "--save", "--customer", "Ann", "--handle", "oiled-wood",
            "--document", given[0], "--document", given[1], "--care", given[2], "--care", given[3],
        )
    )  # fmt: skip
    assert "Saved as quote 1" in saved
    before = Book(book).quote(1)[0]
    same = answered_with(bevelwright("book", "compare", "1", "--book", book, "--shop", shop))
    assert "comes out the same" in same

    shop.write_text(shop.read_text().replace("labour_per_hour = 42.00", "labour_per_hour = 50.00"))
    dearer = json.loads(answered_with(bevelwright("book", "compare", "1", "--book", book, "--shop", shop, "--json")))
    changed = {d["label"]: (d["then"], d["now"]) for d in dearer}
    assert "primary grind" in changed
    assert "grind" not in changed
    assert float(changed["total"][1]) > float(changed["total"][0])

    pack = home / "later"
    (pack / "rules").mkdir(parents=True)
    (pack / "pack.toml").write_text('id = "later"\ntitle = "Later"\nversion = "2"\n')
    (pack / "rules" / "slower-wear.toml").write_text(RULE)
    plugin = types.SimpleNamespace(BEVELWRIGHT_API=API_VERSION, packs=hookimpl(lambda: [pack]))
    later = Service(strict=True, plugins={"later": plugin})
    told = {d.label: (d.then, d.now) for d in later.workshop.fresh(before, read_shop(str(shop)))}
    assert float(told["edge angle per side, deg"][0]) < 20 <= float(told["edge angle per side, deg"][1])
    assert float(told["edge angle included, deg"][1]) == 2 * float(told["edge angle per side, deg"][1])
    assert told["pack later"] == ("none", "2")

    again = [home / f"again-{path.name}" for path in given]
    answered_with(
        bevelwright(
            "book", "reprint", "1", "--book", book, "--document", again[0], "--document", again[1],
            "--care", again[2], "--care", again[3],
        )
    )  # fmt: skip
    for then, now in zip(given, again, strict=True):
        assert then.read_bytes() == now.read_bytes(), now.name
    assert answered_with(bevelwright("book", "reprint", "1", "--book", book)) == given[1].read_text()


def test_a_quotes_way_through_the_book(bevelwright, home: Path) -> None:
    book = home / "b.sqlite3"
    answered_with(bevelwright("quote", *BRIEF, "--book", book, "--save", "--customer", "Ann", "--pieces", "2"))
    assert answered_with(bevelwright("book", "send", "1", "--book", book)) == "Quote 1 is sent.\n"
    revised = answered_with(
        bevelwright("book", "revise", "1", "--book", book, "--pieces", "5", "--set", "blade.length_mm=210", "--inches")
    )
    assert "Saved as quote 1.2" in revised
    first, second = (Book(book).quote(1, r)[0] for r in (1, 2))
    assert (first.order.pieces, second.order.pieces) == (2, 5)
    assert second.order.customer == "Ann", "what is not named stays"
    assert second.answer.proposal.blade_length_mm == 210
    assert "8.268 in long" in second.document.model_dump_json(), "210 / 25.4"
    assert " in long" not in first.document.model_dump_json()
    shown = json.loads(answered_with(bevelwright("book", "show", "1.1", "--book", book, "--json")))
    assert next(iter(shown)) == "schema"
    assert shown["status"] == "sent"
    assert [e["status"] for e in shown["history"]] == ["draft", "sent"]
    answered_with(bevelwright("book", "time", "1.2", "primary=40", "edge=30.5", "--book", book))
    assert [(t.work, t.minutes, t.revision) for t in Book(book).times()] == [("primary", 40, 2), ("edge", 30.5, 2)]
    fitted = json.loads(answered_with(bevelwright("shop", "fit", "--book", book, "--json")))
    edge = next(f for f in fitted if f["rate"] == "edge.mm_per_min")
    # Five blades of so many mm of edge in 30.5 min less 5 to set up.
    planned = next(w for w in second.price.work if w.id == "edge")
    assert edge["per_min"] == pytest.approx(5 * planned.amount / 25.5, rel=1e-6)


def test_a_quote_is_not_revised_for_another_customer(bevelwright, home: Path) -> None:
    book = home / "b.sqlite3"
    answered_with(bevelwright("quote", *BRIEF, "--book", book, "--save", "--customer", "Ann"))
    code, out, err = bevelwright("book", "revise", "1", "--book", book, "--customer", "Bo")
    assert (code, out) == (2, "")
    assert err.count("\n") == 1
    assert "quote 1 is for Ann, not for Bo" in err
    assert "--renamed" in err
    assert len(Book(book).entries()) == 1
    named = bevelwright("book", "revise", "1", "--book", book, "--customer", "Anne Lee", "--renamed")
    assert "Saved as quote 1.2" in answered_with(named)


def test_a_document_that_cannot_be_saves_nothing(bevelwright, home: Path) -> None:
    book = home / "b.sqlite3"
    code, _, err = bevelwright("quote", *BRIEF, "--book", book, "--save", "--document", "quote.docx")
    assert code == 2
    assert "quote.docx" in err
    assert not book.exists()
    code, out, err = bevelwright("quote", *BRIEF, "--book", book, "--save", "--document", home / "no" / "q.md")
    assert code == 2
    assert err.count("\n") == 1
    assert "Saved as quote 1" in out, "what is saved is told, whatever becomes of its documents"


CELLS = ["=1+1", "+1", "-1", "@SUM(A1)", 'says "hi", and\nmore', "Ünal Çelik", "a;b,c", "=cmd|' /C calc'!A0"]


def test_export(bevelwright, home: Path) -> None:
    book = home / "b.sqlite3"
    answered_with(bevelwright("quote", *BRIEF, "--book", book, "--save"))
    one = Book(book).quote(1)[0]
    for cell in CELLS:
        order = one.order.model_copy(update={"customer": cell, "reference": cell})
        named = one.model_copy(update={"order": order, "title": cell})
        Book(book).add(lambda n, r, named=named: named.model_copy(update={"number": n, "revision": r}))
    Book(book).move((1, 1), "sent", date(2026, 3, 4))
    Book(book).move((1, 1), "accepted", date(2026, 3, 9))
    Book(book).move((1, 1), "sent", date(2026, 3, 10))  # accepted by mistake
    Book(book).move((1, 1), "accepted", date(2026, 3, 11))
    answered_with(bevelwright("book", "export", "--book", book, "--csv", home / "q.csv", "--json", home / "q.json"))
    raw = (home / "q.csv").read_bytes()
    assert raw.count(b"\r\n") == 10
    rows = list(csv.DictReader(io.StringIO(raw.decode(), newline="")))
    assert list(rows[0]) == [*Entry._fields, "net", "tax", "sent", "accepted", "declined", "done", "superseded"]
    assert [rows[0][step] for step in ("sent", "accepted", "declined", "done")] == ["2026-03-10", "2026-03-11", "", ""]
    assert not any(row[step] for row in rows[1:] for step in ("sent", "accepted", "declined", "done"))
    assert all(Decimal(row["net"]) + Decimal(row["tax"]) == Decimal(row["total"]) for row in rows)
    assert [row["number"] for row in rows] == [str(n) for n in range(1, 10)]
    for row, cell in zip(rows[1:], CELLS, strict=True):
        shown = row["customer"]
        assert shown[0] not in "=+-@\t\r", "a spreadsheet would run it"
        assert shown.removeprefix("'") == cell
        assert row["title"] == row["reference"] == shown
    quotes = json.loads((home / "q.json").read_text())
    assert [q["number"] for q in quotes] == list(range(1, 10))
    assert [q["order"]["customer"] for q in quotes[1:]] == CELLS
    assert all(next(iter(q)) == "schema" for q in quotes)
    assert [q["status"] for q in quotes] == ["accepted"] + 8 * ["draft"]
    assert all(isinstance(line["amount"], str) for line in quotes[0]["price"]["lines"]), "money is no float"


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["book", "lst"], ["nearest: list"]),
        (["book", "list", "--status", "sendt"], ["nearest: sent"]),
        (["book", "show", "1x"], ["'1x'", "12.2"]),
        (["book", "show", "7"], ["no quote 7"]),
        (["book"], ["list, show, send"]),
        (["shop"], ["show, new and fit"]),
        (["book", "export"], ["--csv FILE"]),
        (["quote", "--pieces", "0"], ["pieces"]),
        (["quote", "--pieces", "many"], ["--pieces"]),
        (["quote", "--customer", "x" * 201], ["customer", "at most 200 characters"]),
        (["quote", "--handle", "oiled-wod"], ["nearest: oiled-wood"]),
        (["quote", "--finish", "none"], ["finish", "hand-rubbed"]),
        (["quote", "--book", "b.sqlite3"], ["--save"]),
        (["quote", "--document", "q.odt"], ["q.odt", ".pdf or .md"]),
        (["worksheet", "--shop", "/no/such/shop.toml"], ["/no/such/shop.toml", "shop new"]),
        (["shop", "fit", "--times", "/no/such.csv"], ["/no/such.csv", "rate, amount, minutes"]),
    ],
)
def test_errors_are_one_line(bevelwright, arguments: list[str], told: list[str]) -> None:
    code, out, err = bevelwright(*arguments)
    assert (code, out) == (2, "")
    assert err.count("\n") == 1
    for word in told:
        assert word in err


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("labour_per_hour", "labour_per_hout", ["business.labour_per_hout", "nearest: labour_per_hour"]),
        ('grade = "P240"', 'grade = "p240"', ["grits.2.grade", "nearest: P240"]),
        ('currency = "EUR"', 'currency = "euro"', ["business.currency", "ISO 4217"]),
        ("labour_per_hour = 42.00", "labour_per_hour = -1", ["business.labour_per_hour"]),
        ("labour_per_hour = 42.00", "labour_per_hour = nan", ["business.labour_per_hour", "finite"]),
        ("labour_per_hour = 42.00", "labour_per_hour = 1e99999999999999999999", ["shop.toml"]),
        ("mm_per_min = 16", "mm_per_min = 1e-300", ["edge.mm_per_min", "0.01"]),
        ('id = "parcel"', 'id = "collect"', ["shipping", "collect is there twice"]),
        ("mm2_per_min = 900", "", ["grits.1.mm2_per_min", "missing"]),
        ("\nvalues = ", "\nvals = ", ["unknown key", "values"]),
    ],
)
def test_a_shop_file_that_does_not_fit(bevelwright, home: Path, old: str, new: str, told: list[str]) -> None:
    file = home / "shop.toml"
    answered_with(bevelwright("shop", "new", file))
    raw = file.read_text()
    assert old in raw
    file.write_text(raw.replace(old, new, 1))
    code, out, err = bevelwright("shop", "show", "--shop", file)
    assert (code, out) == (2, "")
    assert err.count("\n") == 1
    assert str(file) in err
    for word in told:
        assert word in err


def test_a_new_shop_is_not_written_over(bevelwright, home: Path) -> None:
    file = home / "shop.toml"
    file.write_text("mine")
    code, _, err = bevelwright("shop", "new", file)
    assert code == 2
    assert "there already" in err
    assert file.read_text() == "mine"
    answered_with(bevelwright("shop", "new"))
    assert "invented" in answered_with(bevelwright("shop", "show"))


def test_money_is_read_as_it_is_written(shop) -> None:
    """0.1 + 0.2 is 0.3 in money; a float in between would make 0.30000000000000004."""
    raw = Path(__file__).parents[2].joinpath("recommender/shop/rates/shop.toml").read_bytes()
    read = shop_of(raw.replace(b"labour_per_hour = 42.00", b"labour_per_hour = 0.1"), "x")
    assert str(read.business.labour_per_hour * 3) == "0.3"
    assert str(shop.business.labour_per_hour) == "42.00"


def times_file(home: Path, text: str) -> str:
    file = home / "times.csv"
    file.write_bytes(text.encode())
    return str(file)


def test_times_from_a_file(home: Path, shop) -> None:
    """minutes = 10 + amount / 400, exactly: set-up and rate come back with no spread."""
    rows = "".join(f"grinding.platen,{a},{10 + a / 400}\r\n" for a in (400, 800, 2000, 4000))
    jobs = read_times(times_file(home, f"\ufeffrate,amount,minutes\r\n{rows}\r\n"), shop)
    assert jobs[0] == Job("grinding.platen", 400, 11)
    (fitted,) = fits(jobs, shop)
    assert fitted.set_up_fitted
    assert fitted.set_up_minutes == pytest.approx(10)
    assert fitted.per_min == pytest.approx(400)
    assert fitted.strays_minutes == pytest.approx(0, abs=1e-9)
    assert (fitted.now_per_min, fitted.now_set_up) == (450, 8)


def test_two_jobs_keep_the_shops_setting_up(shop) -> None:
    """(28 - 8) min for 4500 and (48 - 8) for 9000: 225 a minute through the shop's 8 minutes."""
    (fitted,) = fits([Job("grinding.platen", 4500, 28), Job("grinding.platen", 9000, 48)], shop)
    assert not fitted.set_up_fitted
    assert (fitted.set_up_minutes, fitted.per_min) == (8, pytest.approx(225))
    (single,) = fits([Job("grinding.platen", 4500, 28)], shop)
    assert (single.low, single.high, single.strays_minutes) == (None, None, None)
    (shrinks,) = fits([Job("grinding.platen", 4500, 5)], shop)
    assert shrinks.per_min is None, "done sooner than set up: no rate can be told"


def test_a_line_by_hand() -> None:
    """(0, 1), (1, 3), (2, 5.3): slope 2.15, start 0.95; residuals .05, -.1, .05, so s^2 = 0.015 / 1."""
    line = least_squares([0, 1, 2], [1, 3, 5.3])
    assert (line.slope, line.start) == (pytest.approx(2.15), pytest.approx(0.95))
    assert line.strays == pytest.approx(0.015**0.5)
    assert line.slope_error == pytest.approx((0.015 / 2) ** 0.5)
    assert line.start_error == pytest.approx((0.015 * (1 / 3 + 1 / 2)) ** 0.5)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("rate,amount\n", "columns"),
        ("", "columns"),
        ("rate,amount,minutes\ngrinding.platten,1,1\n", "nearest: grinding.platen"),
        ("rate,amount,minutes\ngrinding.platen,1\n", "row 2"),
        ("rate,amount,minutes\n\ngrinding.platen,-1,2\n", "row 3.amount"),
        ("rate,amount,minutes\ngrinding.platen,1,nan\n", "row 2.minutes"),
        ('rate,amount,minutes\n"grinding', "cannot be read"),
    ],
)
def test_times_that_do_not_fit(home: Path, shop, text: str, told: str) -> None:
    with pytest.raises(InputError) as refused:
        read_times(times_file(home, text), shop)
    assert told in str(refused.value)
    assert "times.csv" in str(refused.value)
