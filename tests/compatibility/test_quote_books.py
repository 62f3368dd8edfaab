"""A quote book of an earlier version is listed, shown, reprinted, revised, compared, exported and imported.

Source: the files in `tests/fixtures`, written by those versions and never made anew.
"""

from __future__ import annotations

import csv
import importlib.metadata
import io
import json
import sqlite3
import zlib
from decimal import Decimal
from pathlib import Path
from typing import Any

import pypdf
import pytest


def one_a_currency(held) -> dict[str, dict]:
    """A quote in each currency: what is asked anew takes seconds."""
    return {quote["price"]["currency"]: {"name": name, **quote} for name, quote in held.quotes.items()}


def test_list(held, book: Path, answered) -> None:
    then, now = held.json("book/list.json"), json.loads(answered("book", "list", "--book", book, "--json"))
    assert len(then) == len(now) > 5
    for old, new in zip(then, now, strict=True):
        assert {name: new[name] for name in old} == old
    text = answered("book", "list", "--book", book)
    for entry in then:
        assert f"{Decimal(entry['total']):,} {entry['currency']}" in text
        assert entry["customer"] in text


def test_every_status_and_revision_is_in_the_book(held) -> None:
    """What the fixture has to hold, or the rest of this file shows little."""
    quotes = held.quotes.values()
    assert {quote["status"] for quote in quotes} == {"draft", "sent", "accepted", "declined", "done"}
    assert {quote["revision"] for quote in quotes} >= {1, 2}
    assert {quote["price"]["currency"] for quote in quotes} >= {"EUR", "JPY"}
    assert {quote["answer"]["proposal"]["side"] for quote in quotes} >= {"both", "left"}
    assert any(Decimal(quote["price"]["deposit"]) for quote in quotes)
    assert {quote["answer"]["proposal"]["grind"] for quote in quotes} >= {
        "chisel",
        "compound",
        "saber-hollow",
        "scandi",
    }


def test_show(held, book: Path, answered) -> None:
    histories = held.json("book/history.json")
    for name, then in held.quotes.items():
        now = json.loads(answered("book", "show", name, "--book", book, "--json"))
        assert now.pop("history") == histories[name]
        assert now == then, f"quote {name} as it was stored"
        text = answered("book", "show", name, "--book", book)
        for amount in (
            then["price"]["total"],
            then["price"]["net"],
            *(line["amount"] for line in then["price"]["lines"]),
        ):
            assert f"{Decimal(amount):,}" in text
        for event in histories[name]:
            assert f"{event['status']} {event['day']}" in text


def test_reprint_byte_for_byte(held, book: Path, answered, tmp_path: Path) -> None:
    for name in held.quotes:
        files = {kind: tmp_path / f"{kind}.md" for kind in ("quote", "care")}
        answered("book", "reprint", name, "--book", book, "--document", files["quote"], "--care", files["care"])
        for kind, file in files.items():
            assert file.read_bytes() == (held.folder / "book" / "documents" / f"{kind}-{name}.md").read_bytes()
        assert answered("book", "reprint", name, "--book", book) == held.text(f"book/documents/quote-{name}.md")


def printed(file: Path) -> list[tuple[str, list[float]]]:
    """Text and size of every page."""
    return [(page.extract_text(), [float(side) for side in page.mediabox]) for page in pypdf.PdfReader(file).pages]


def test_reprint_as_pdf(held, book: Path, answered, tmp_path: Path) -> None:
    """Byte for byte where all that writes PDFs is of the same version; the same pages with the same words elsewhere."""
    then = held.json("printed-with.json")
    now = {name: importlib.metadata.version(name) for name in then if name != "zlib"} | {
        "zlib": zlib.ZLIB_RUNTIME_VERSION
    }
    files = sorted((held.folder / "book" / "documents").glob("*.pdf"))
    assert files
    for file in files:
        kind, _, name = file.stem.partition("-")
        paper = "letter" if printed(file)[0][1][2:] == [612, 792] else "a4"
        again = tmp_path / file.name
        answered(
            "book",
            "reprint",
            name,
            "--book",
            book,
            f"--{'document' if kind == 'quote' else kind}",
            again,
            "--paper",
            paper,
        )
        assert printed(again) == printed(file)
        if now == then:
            assert again.read_bytes() == file.read_bytes()


def _of_keys(new: Any, old: Any) -> Any:
    """What a table says under the keys that another has: those added since are left out."""
    return {key: _of_keys(new[key], value) for key, value in old.items()} if isinstance(old, dict) else new


def test_revise(held, book: Path, answered) -> None:
    shops = {"JPY": ("--shop", held.folder / "shops" / "yen.toml"), "EUR": ()}
    for currency, old in one_a_currency(held).items():
        said = answered("book", "revise", old["name"], "--book", book, "--pieces", "4", *shops[currency])
        revision = sum(quote["number"] == old["number"] for quote in held.quotes.values()) + 1
        new = json.loads(answered("book", "show", f"{old['number']}.{revision}", "--book", book, "--json"))
        assert f"quote {old['number']}.{revision}" in said
        assert new["status"] == "draft"
        assert new["price"]["currency"] == currency
        assert new["order"] == old["order"] | {"pieces": 4}
        assert _of_keys(new["brief"], old["brief"]) == old["brief"]
        kept = json.loads(answered("book", "show", f"{old['number']}.{old['revision']}", "--book", book, "--json"))
        kept.pop("history")
        assert {"name": old["name"], **kept} == old, "the earlier stays as it was"


def test_compare(held, book: Path, run) -> None:
    for old in one_a_currency(held).values():
        done = run("book", "compare", old["name"], "--book", book, "--json")
        assert (done.code, done.err) == (0, "")
        found = json.loads(done.out)
        assert all(difference["then"] != difference["now"] for difference in found)
        said = {difference["label"]: difference["then"] for difference in found}
        assert said.get("total", old["price"]["total"]) == old["price"]["total"]
        assert said.get("grind", old["answer"]["proposal"]["grind_label"]) == old["answer"]["proposal"]["grind_label"]


def test_status_and_times_go_on(held, book: Path, answered) -> None:
    quotes = held.quotes
    sent = next(name for name, quote in quotes.items() if quote["status"] == "sent")
    assert "accepted" in answered("book", "accept", sent, "--book", book)
    accepted = next(name for name, quote in quotes.items() if quote["status"] == "accepted")
    answered("book", "time", accepted, "primary=30", "--book", book)
    fitted = json.loads(answered("shop", "fit", "--book", book, "--json"))
    with sqlite3.connect(book) as raw:
        noted = raw.execute("SELECT COUNT(*) FROM times").fetchone()[0]
    raw.close()
    assert sum(rate["jobs"] for rate in fitted) == noted > 1


def test_export(held, book: Path, answered, tmp_path: Path) -> None:
    json_file, csv_file = tmp_path / "export.json", tmp_path / "export.csv"
    answered("book", "export", "--book", book, "--json", json_file, "--csv", csv_file)
    assert json.loads(json_file.read_bytes()) == held.json("book/export.json.gz")
    then, now = (
        list(csv.DictReader(io.StringIO(text))) for text in (held.text("book/export.csv"), csv_file.read_text())
    )
    assert len(then) == len(now)
    for old, new in zip(then, now, strict=True):
        assert {column: new[column] for column in old} == old


def test_import_into_an_empty_book(held, book: Path, answered, tmp_path: Path) -> None:
    held_file, again, empty = tmp_path / "held.json", tmp_path / "again.json", tmp_path / "empty.sqlite3"
    held_file.write_text(json.dumps(held.json("book/export.json.gz")), encoding="utf-8")
    count = len(held.quotes)
    assert f"{count} quotes taken in, 0 there already" in answered("book", "import", held_file, "--book", empty)
    assert f"0 quotes taken in, {count} there already" in answered("book", "import", held_file, "--book", empty)
    assert f"0 quotes taken in, {count} there already" in answered("book", "import", held_file, "--book", book)
    answered("book", "export", "--book", empty, "--json", again)
    first = tmp_path / "first.json"
    answered("book", "export", "--book", book, "--json", first)
    assert again.read_bytes() == first.read_bytes()
    for name in held.quotes:
        assert answered("book", "reprint", name, "--book", empty) == held.text(f"book/documents/quote-{name}.md")


@pytest.mark.parametrize("part", ["list", "show"])
def test_reading_changes_no_byte(held, book: Path, answered, part: str) -> None:
    before = book.read_bytes()
    answered("book", part, *(["1"] if part == "show" else []), "--book", book)
    assert book.read_bytes() == before
