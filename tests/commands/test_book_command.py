"""`book` on the command line: what it names, shows, says beforehand and never writes over.

Source: the contracts in the charter; each of these went wrong once.
"""

from __future__ import annotations

import io
import json
import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import date, timedelta
from pathlib import Path
from typing import NamedTuple

import pytest

from recommender.cli import main
from recommender.models.brief import Brief
from recommender.models.workshop.quote import Order, Quote
from recommender.service import with_settings
from recommender.shop.quotes.quote_book import Book

BRIEF = "tasks.game-dressing=1"


class Done(NamedTuple):
    """What a command gave."""

    code: int
    out: str
    err: str


@pytest.fixture(scope="module")
def quote(service, ask, shop) -> Quote:
    brief = with_settings(Brief(), [BRIEF])
    return service.workshop.quote(brief, ask(BRIEF), Order(customer="Ann"), shop, date.today())(1, 1)


@pytest.fixture
def book(quote: Quote, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Book:
    """Quotes 1, 2 and 2.2, made today."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    book = Book(tmp_path / "b.sqlite3")
    for number in (None, None, 2):
        book.add(lambda n, r: quote.model_copy(update={"number": n, "revision": r}), number=number)
    return book


@pytest.fixture
def run(book: Book, capsys: pytest.CaptureFixture[str]) -> Callable[..., Done]:
    def command(*argv: object) -> Done:
        capsys.readouterr()
        code = main(["book", *(str(part) for part in argv), "--book", str(book.file)])
        out = capsys.readouterr()
        return Done(code, out.out, out.err)

    return command


def change(book: Book, statement: str) -> None:
    with closing(sqlite3.connect(book.file)) as raw:
        raw.execute(statement)
        raw.commit()


def test_a_number_with_several_revisions_shows_them(run) -> None:
    done = run("show", 2)
    assert (done.code, done.err) == (0, "")
    assert "2.1" in done.out
    assert "2.2" in done.out
    assert "  1 " not in done.out
    listed = json.loads(run("show", 2, "--json").out)
    assert [(entry["number"], entry["revision"]) for entry in listed] == [(2, 1), (2, 2)]
    for part in ("accept", "reprint", "compare"):
        assert "one of 2.1, 2.2" in run(part, 2).err


def test_accepting_says_what_it_supersedes(run, book: Book) -> None:
    assert run("accept", "2.2").out == "Quote 2.2 is accepted.\nIts other revisions: 2.1 superseded.\n"
    assert [entry.name for entry in book.entries(status="superseded")] == ["2"]
    assert "superseded" in run("list", "--status", "superseded").out


def set_clock(monkeypatch: pytest.MonkeyPatch, days: int) -> None:
    """Let that many days go by."""

    class Clock(date):
        @classmethod
        def today(cls) -> date:
            return date.fromordinal(day.toordinal())

    day = date.today() + timedelta(days=days)
    monkeypatch.setattr("datetime.date", Clock)


DOUBTS = [(-1, "The clock says"), (0, ""), (800, "was valid until")]


@pytest.mark.parametrize(("days", "said"), DOUBTS)
def test_doubts_are_said_before_a_quote_is_accepted_anyway(run, monkeypatch, days: int, said: str) -> None:
    set_clock(monkeypatch, days)
    done = run("accept", 1, "--anyway")
    assert (done.code, done.out) == (0, "Quote 1 is accepted.\n")
    assert said in done.err
    assert bool(done.err) == bool(said)


def test_a_script_accepts_past_validity_but_not_by_a_clock_that_runs_backwards(run, book, monkeypatch) -> None:
    with monkeypatch.context() as patch:
        set_clock(patch, -1)
        done = run("accept", 1)
        assert (done.code, done.out, done.err.count("\n")) == (2, "", 1)
        assert "not accepted: The clock says" in done.err
        assert "--anyway" in done.err
        assert book.entries(status="accepted") == []
        assert run("send", 1).code == 0
    set_clock(monkeypatch, 800)
    done = run("accept", 1)
    assert done.code == 0
    assert "was valid until" in done.err


@pytest.mark.parametrize(("days", "said"), DOUBTS)
@pytest.mark.parametrize("typed", ["y", "YES", "", "n", "what?"])
def test_on_a_terminal_a_doubt_is_asked_about(run, book, monkeypatch, typed: str, days: int, said: str) -> None:
    set_clock(monkeypatch, days)
    asked = io.StringIO(typed + "\n")
    asked.isatty = lambda: True  # type: ignore[method-assign]
    monkeypatch.setattr("sys.stdin", asked)
    monkeypatch.setattr("sys.stderr.isatty", lambda: True, raising=False)
    done = run("accept", 1)
    agreed = not said or typed.lower() in ("y", "yes")
    assert done.code == (0 if agreed else 2)
    assert ("Accept it all the same? [y/N]" in done.err) == bool(said)
    assert said in done.err
    assert [entry.name for entry in book.entries(status="accepted")] == (["1"] if agreed else [])


def test_list_show_and_export_name_what_is_damaged_and_give_the_rest(run, book: Book, tmp_path: Path) -> None:
    change(
        book, "UPDATE quotes SET total = 'much' || char(27) || '[2J', currency = char(27) || '[31m' WHERE number = 1"
    )
    for arguments in (("list",), ("list", "--json"), ("show", "2.2"), ("export", "--csv", "e", "--whole", "w")):
        done = run(*arguments)
        assert done.code == 0, done
        assert "quote 1" in done.err
        assert "\x1b" not in done.out + done.err
    assert (tmp_path / "e").read_text().count("\n") == 3
    whole = json.loads((tmp_path / "w").read_text())
    assert whole["left_out"] == ["quote 1"]
    assert len(whole["quotes"]) == 2
    done = run("check")
    assert done.code == 1
    assert "quote 1: its total is no amount" in done.out
    assert "quote 1 cannot be read" in run("show", 1).err


def test_an_escape_in_a_stored_document_is_not_printed(run, book: Book) -> None:
    change(book, "DELETE FROM identities")
    change(book, "UPDATE quotes SET quote = replace(quote, 'Ann', 'A\\u001b[2Jnn')")
    done = run("reprint", 1)
    assert "A\ufffd\\[2Jnn" in done.out, "Markdown's own bracket is escaped"
    assert "\x1b" not in done.out + run("show", 1).out + run("list").out


@pytest.mark.parametrize("kind", ["--csv", "--json", "--whole"])
def test_an_export_never_replaces_the_book(run, book: Book, tmp_path: Path, kind: str) -> None:
    before = book.file.read_bytes()
    (tmp_path / "link").symlink_to(book.file)
    for to in (book.file, "b.sqlite3", "./b.sqlite3-journal", "link"):
        done = run("export", kind, to)
        assert (done.code, done.out) == (2, "")
        assert "that is the quote book itself" in done.err
    assert book.file.read_bytes() == before
    assert "written twice" in run("export", kind, "e", "--json" if kind != "--json" else "--csv", "./e").err
    assert sorted(path.name for path in tmp_path.iterdir()) == ["b.sqlite3", "link"]


def test_a_whole_book_goes_to_another_machine(run, book: Book, tmp_path: Path) -> None:
    run("send", 1)
    run("time", 1, "primary=30")
    assert "wrote 3 quotes to w" in run("export", "--whole", "w").out
    assert "--whole FILE alone" in run("export", "--json", "j").out
    there = Book(tmp_path / "there.sqlite3")
    for file, said in (("w", "3 quotes taken in, 0 there already."), ("j", "0 quotes taken in, 3 there already.")):
        assert main(["book", "import", file, "--book", str(there.file)]) == 0, said
    assert there.everything() == book.everything()
    change(there, "UPDATE quotes SET status = 'draft'")
    run("import", "w")
    there.file.unlink()
    there.add(lambda n, r: book.quote(2, 1)[0].model_copy(update={"number": n, "revision": r, "title": "another"}))
    assert main(["book", "export", "--whole", "t", "--book", str(there.file)]) == 0
    done = run("import", "t")
    assert "1 quote taken in, 0 there already." in done.out
    assert "Quote 1 is 3 here" in done.out
    shown = json.loads(run("show", 3, "--json").out)
    assert (shown["number"], shown["printed_as"]) == (3, {"number": 1, "revision": 1})
    assert "Its documents call it 1" in run("show", 3).out


def test_backup_check_and_restore(run, book: Book, tmp_path: Path) -> None:
    assert run("check").out == "3 quotes can be listed, 0 faults found.\n"
    assert run("backup", "copy").out == "Backed up 3 quotes to copy, found sound.\n"
    assert "there is a file already" in run("backup", "copy").err
    assert "that is the quote book itself" in run("backup", "b.sqlite3").err
    book.file.write_bytes(b"\0" * 9000)
    for part in (("list",), ("check",), ("backup", "new")):
        done = run(*part)
        assert done.code == 2
        assert done.err.count("\n") == 1
        assert "`book restore`" in done.err
    done = run("restore", "copy")
    assert done.code == 0, done.err
    aside = next(path for path in tmp_path.iterdir() if "set-aside" in path.name)
    assert f"Set aside: {aside}" in done.out
    assert aside.read_bytes() == b"\0" * 9000
    assert run("check").out == "3 quotes can be listed, 0 faults found.\n"
