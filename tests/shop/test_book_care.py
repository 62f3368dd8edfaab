"""What is damaged is named and hides nothing else; a backup is sound; a restored book's past is set aside, whole.

Source: SQLite's documentation of its file format, of `PRAGMA integrity_check`, `trusted_schema`, `cell_size_check`,
and of hot journals.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest

from recommender.errors import InputError
from recommender.models.brief import Brief
from recommender.models.workshop.quote import Order, Quote
from recommender.service import with_settings
from recommender.shop.quotes.book_file import APPLICATION_ID
from recommender.shop.quotes.quote_book import Book
from recommender.shop.quotes.quote_exchange import whole_data

BRIEF = "tasks.game-dressing=1"
DAY = date(2026, 3, 1)
PAGE = 4096


@pytest.fixture(scope="module")
def kept(service, ask, shop, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book of four, the third with a second revision that was sent, and times noted for the first."""
    brief = with_settings(Brief(), [BRIEF])
    quote: Quote = service.workshop.quote(brief, ask(BRIEF), Order(customer="Ann"), shop, DAY)(1, 1)
    book = Book(tmp_path_factory.mktemp("kept") / "quotes.sqlite3")
    for number in (None, None, None, None, 3):
        book.add(lambda n, r: quote.model_copy(update={"number": n, "revision": r}), number=number)
    book.move((3, 2), "sent", DAY)
    book.took((1, None), {"primary": 30.0}, DAY)
    return book.file


@pytest.fixture
def book(kept: Path, tmp_path: Path) -> Book:
    return Book(Path(shutil.copy(kept, tmp_path / "quotes.sqlite3")))


def change(book: Book, *statements: str) -> None:
    with closing(sqlite3.connect(book.file)) as raw:
        for statement in statements:
            raw.execute(statement)
        raw.commit()


def names(book: Book) -> list[str]:
    return [entry.name for entry in book.entries(newest_first=False)]


ALL = ["1", "2", "3", "3.2", "4"]


def test_a_sound_book_has_no_fault(book: Book) -> None:
    before = book.file.read_bytes()
    assert book.check() == []
    assert book.damaged() == []
    assert book.file.read_bytes() == before
    assert Book(book.file.with_name("none")).check() == []


def test_an_empty_file_is_named(book: Book) -> None:
    """SQLite takes it for a database; nobody else can tell it from a book that has lost everything."""
    book.file.write_bytes(b"")
    assert book.entries() == []
    assert [each.name for each in (*book.damaged(), *book.check(), *book.everything()[1])] == ["file"] * 3


@pytest.mark.parametrize(
    ("statement", "listed"),
    [
        ("UPDATE quotes SET total = 'much'", False),
        ("UPDATE quotes SET total = '1E+999999999'", False),
        ("UPDATE quotes SET total = x'00ff'", False),
        ("UPDATE quotes SET made = 5", False),
        ("UPDATE quotes SET valid_until = '2026-02-30'", False),
        ("UPDATE quotes SET customer = zeroblob(9)", False),
        ("UPDATE quotes SET currency = 'EUR' || char(27) || '[31m' || 'xxxxxxx'", False),
        ("UPDATE quotes SET revision = 'first'", False),
        ("UPDATE quotes SET number = -2", False),
        ("UPDATE quotes SET customer = char(27) || '[31mred'", True),
        ("UPDATE quotes SET total = '1.00'", True),
        ("UPDATE quotes SET status = 'sold'", True),
        ("UPDATE quotes SET quote = substr(quote, 1, 1000)", True),
        ("UPDATE quotes SET quote = NULL", None),
        ("UPDATE quotes SET quote = 7", True),
        ("UPDATE quotes SET quote = x'ff'", True),
        ('UPDATE quotes SET quote = replace(quote, \'"total":"\', \'"total":"9\')', True),
        ("UPDATE quotes SET quote = '[' || quote || ']'", True),
    ],
)
def test_one_damaged_quote_hides_no_other(book: Book, statement: str, listed: bool | None) -> None:
    """It is named by `check` in any case, and by `damaged` where it is not listed."""
    if listed is None:
        with pytest.raises(sqlite3.IntegrityError):
            change(book, f"{statement} WHERE number = 2")
        return
    change(book, f"{statement} WHERE number = 2")
    others = [name for name in ALL if name != "2"]
    assert [name for name in names(book) if name != "2"] == others
    assert ("2" in names(book)) == listed
    assert bool(book.damaged()) == (not listed)
    assert any("2" in each.name for each in book.check())
    whole, damaged = book.everything()
    assert {each.entry.name for each in whole} >= set(others)
    assert len(whole) + len(damaged) == len(ALL)
    for name in others:
        number, _, revision = name.partition(".")
        assert book.quote(int(number), int(revision or 1))[1].name == name
    assert "\x1b" not in str(book.entries()) + str(book.damaged()) + str(book.check())


def test_a_quote_that_is_not_what_was_stored_is_not_shown_as_one(book: Book) -> None:
    """Two flipped bits that leave good JSON: n and m differ in two."""
    change(book, "UPDATE quotes SET quote = replace(quote, 'Ann', 'Anm') WHERE number = 4")
    for attempt in (lambda: book.quote(4), lambda: book.documents(4)):
        with pytest.raises(InputError, match=r"quote 4 cannot be read \(it is not what was stored"):
            attempt()
    assert [each.name for each in book.everything()[1]] == ["quote 4"]
    assert "quote 4" in [each.name for each in book.check()]


def test_a_revision_is_added_where_another_lost_its_number(book: Book) -> None:
    change(book, "UPDATE quotes SET revision = 'first' WHERE number = 3 AND revision = 1")
    quote = book.quote(3, 2)[0]
    assert book.add(lambda n, r: quote.model_copy(update={"number": n, "revision": r}), number=3).name == "3.3"


def test_lists_beside_the_quotes(book: Book) -> None:
    change(
        book,
        "UPDATE history SET day = 'once' WHERE number = 1",
        "INSERT INTO times VALUES (9, 1, '2026-03-01', 'primary', 3)",
        "INSERT INTO times VALUES (1, 1, '2026-03-01', 'primary', 9e999)",
    )
    assert [(each.name, each.reason) for each in book.damaged()] == [
        ("history", "1 of its lines cannot be read"),
        ("times", "1 of its lines cannot be read"),
    ]
    assert [t.minutes for t in book.times()] == [30.0, 3.0]
    assert names(book) == ALL
    assert any("9.1 that is not there" in each.reason for each in book.check())


def pages_of(book: Book, name: str) -> list[int]:
    """The pages of a table or index, from SQLite's own account of them."""
    with closing(sqlite3.connect(book.file)) as raw:
        try:
            return [row[0] for row in raw.execute("SELECT pageno FROM dbstat WHERE name = ?", (name,))]
        except sqlite3.OperationalError:
            root = raw.execute("SELECT rootpage FROM sqlite_master WHERE name = ?", (name,)).fetchone()
            return [root[0]]


@pytest.mark.parametrize("name", ["sqlite_autoindex_quotes_1", "history", "times", "identities"])
def test_a_lost_page_hides_no_quote(book: Book, name: str) -> None:
    raw = bytearray(book.file.read_bytes())
    for page in pages_of(book, name):
        raw[(page - 1) * PAGE : page * PAGE] = b"\xff" * PAGE
    book.file.write_bytes(raw)
    assert names(book) == ALL
    assert {each.entry.name for each in book.everything()[0]} == set(ALL)
    assert book.quote(3, 2)[0].revision == 2
    assert book.check()


def test_a_gap_between_revisions(book: Book) -> None:
    change(book, "DELETE FROM quotes WHERE number = 3 AND revision = 1")
    assert book.quote(3, 2)[0].revision == 2
    assert book.quote(3)[0].revision == 2
    with pytest.raises(InputError, match=r"no revision 1; expected one of 3\.2"):
        book.quote(3, 1)
    assert any("revision 2 is there without 1" in each.reason for each in book.check())
    assert whole_data(*book.everything())["left_out"] == []


@pytest.mark.parametrize(
    "statement",
    [
        "CREATE TRIGGER more AFTER INSERT ON history BEGIN DELETE FROM quotes; END",
        "CREATE VIEW mine AS SELECT * FROM quotes",
        "PRAGMA user_version = 0",
        "PRAGMA application_id = 7",
        "DROP TABLE history",
    ],
)
def test_a_book_that_is_not_as_it_is_made_is_refused(book: Book, statement: str) -> None:
    """Above all it is never taken for an empty one, to be written over."""
    change(book, statement)
    before = book.file.read_bytes()
    for attempt in (book.entries, book.check, lambda: book.move((1, None), "sent", DAY)):
        with pytest.raises(InputError) as told:
            attempt()
        assert "\n" not in str(told.value)
    assert book.file.read_bytes() == before


def test_how_the_file_is_opened(book: Book) -> None:
    def values(db: sqlite3.Connection) -> list[int]:
        pragmas = ("application_id", "synchronous", "trusted_schema", "cell_size_check")
        return [db.execute(f"PRAGMA {pragma}").fetchone()[0] for pragma in pragmas]

    with book.store.writing() as db:
        assert values(db) == [APPLICATION_ID, 3, 0, 1], "3 is EXTRA"
    with book.store.reading() as db:
        assert values(db)[2:] == [0, 1]


# Backup and restore


def test_a_backup_is_the_book(book: Book, tmp_path: Path) -> None:
    to = tmp_path / "backup.sqlite3"
    assert book.backup(to) == 5
    assert Book(to).everything() == book.everything()
    assert Book(to).check() == []
    assert sorted(path.name for path in tmp_path.iterdir()) == ["backup.sqlite3", "quotes.sqlite3"]


def test_a_damaged_book_makes_no_backup(book: Book, tmp_path: Path) -> None:
    raw = bytearray(book.file.read_bytes())
    raw[3 * PAGE : 4 * PAGE] = b"\xff" * PAGE
    book.file.write_bytes(raw)
    with pytest.raises(InputError, match=r"damaged|cannot be used"):
        book.backup(tmp_path / "backup.sqlite3")
    assert [path.name for path in tmp_path.iterdir()] == ["quotes.sqlite3"]


@pytest.mark.parametrize("ending", ["", "-journal", "-wal", "-shm"])
@pytest.mark.parametrize("by", ["name", "link", "relative"])
def test_nothing_is_written_over_the_book(book: Book, tmp_path: Path, monkeypatch, ending: str, by: str) -> None:
    monkeypatch.chdir(tmp_path)
    to = book.file.with_name(book.file.name + ending)
    if by == "link":
        (tmp_path / "link").symlink_to(to)
        to = tmp_path / "link"
    elif by == "relative":
        to = Path("..") / tmp_path.name / to.name
    before = book.file.read_bytes()
    for attempt in (lambda: book.backup(to), lambda: book.store.refuse_as_output(to)):
        with pytest.raises(InputError, match="that is the quote book itself"):
            attempt()
    assert book.file.read_bytes() == before


def test_a_hard_link_to_the_book_is_the_book(book: Book, tmp_path: Path) -> None:
    os.link(book.file, tmp_path / "other")
    for attempt in (lambda: book.backup(tmp_path / "other"), lambda: book.restore(tmp_path / "other")):
        with pytest.raises(InputError, match="that is the quote book itself"):
            attempt()


def test_a_backup_never_takes_a_name_that_is_taken(book: Book, tmp_path: Path) -> None:
    (tmp_path / "letter").write_text("Dear Ann")
    with pytest.raises(InputError, match="there is a file already"):
        book.backup(tmp_path / "letter")
    assert (tmp_path / "letter").read_text() == "Dear Ann"
    with pytest.raises(InputError):
        book.backup(tmp_path / "no" / "folder")
    with pytest.raises(InputError, match="no quote book yet"):
        Book(tmp_path / "none").backup(tmp_path / "backup")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["letter", "quotes.sqlite3"]


def damages() -> Iterator[tuple[str, Callable[[bytes], bytes]]]:
    yield "sound", lambda raw: raw
    yield "no database", lambda raw: b"shopping list" * 400
    yield "cut", lambda raw: raw[: len(raw) // 2 + 100]
    yield "no first page", lambda raw: bytes(PAGE) + raw[PAGE:]
    yield "empty", lambda raw: b""


@pytest.mark.parametrize(("damage"), [damage for _, damage in damages()], ids=[name for name, _ in damages()])
def test_a_restored_book_is_the_backup_and_nothing_is_lost(book: Book, tmp_path: Path, damage) -> None:
    book.backup(tmp_path / "backup")
    wanted, damaged = book.everything(), damage(book.file.read_bytes())
    book.file.write_bytes(damaged)
    beside = {"-journal": b"half a journal", "-wal": b"w", "-shm": b"s"}
    for ending, content in beside.items():
        (tmp_path / f"quotes.sqlite3{ending}").write_bytes(content)
    aside = book.restore(tmp_path / "backup")
    assert book.everything() == wanted
    assert book.check() == []
    assert aside[0].read_bytes() == damaged
    assert {path.name.removeprefix(aside[0].name): path.read_bytes() for path in aside[1:]} == beside
    there = {path.name for path in tmp_path.iterdir()}
    assert there == {"backup", "quotes.sqlite3", *(path.name for path in aside)}
    assert len(book.restore(tmp_path / "backup")) == 1, "the second on a day has a name of its own"
    assert aside[0].read_bytes() == damaged


def test_what_is_set_aside_can_still_be_read_and_merged(book: Book, tmp_path: Path) -> None:
    """The way that `book restore` names: what was quoted since the backup comes back by export and import."""
    book.backup(tmp_path / "backup")
    quote = book.quote(1)[0]
    book.add(lambda n, r: quote.model_copy(update={"number": n, "revision": r, "title": "since"}))
    change(book, "UPDATE quotes SET quote = 'x' WHERE number = 2")
    (aside,) = book.restore(tmp_path / "backup")
    assert names(book) == ALL
    assert Book(aside).entries()[0].title == "since"
    assert len(Book(aside).everything()[0]) == 5


@pytest.mark.parametrize("content", [b"", b"no database" * 999, None])
def test_what_is_no_backup_restores_nothing(book: Book, tmp_path: Path, content: bytes | None) -> None:
    backup, before = tmp_path / "backup", book.file.read_bytes()
    if content is not None:
        backup.write_bytes(content)
    with pytest.raises(InputError) as told:
        book.restore(backup)
    assert str(backup) in str(told.value)
    assert book.file.read_bytes() == before
    assert {path.name for path in tmp_path.iterdir()} <= {"backup", "quotes.sqlite3"}


def test_a_damaged_backup_restores_nothing(book: Book, tmp_path: Path) -> None:
    book.backup(tmp_path / "backup")
    raw = bytearray((tmp_path / "backup").read_bytes())
    raw[3 * PAGE : 4 * PAGE] = b"\xff" * PAGE
    (tmp_path / "backup").write_bytes(raw)
    before = book.file.read_bytes()
    with pytest.raises(InputError, match="so it is no backup"):
        book.restore(tmp_path / "backup")
    assert book.file.read_bytes() == before


def test_a_book_that_is_written_to_is_not_replaced(book: Book, tmp_path: Path) -> None:
    book.backup(tmp_path / "backup")
    write = "import sqlite3, sys; raw = sqlite3.connect(sys.argv[1], isolation_level=None)"
    write += "; raw.execute('BEGIN IMMEDIATE'); print('writing', flush=True); input()"
    with subprocess.Popen(
        [sys.executable, "-c", write, book.file], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as other:
        assert other.stdout.readline() == "writing\n"
        with pytest.raises(InputError, match="another process is writing"):
            book.restore(tmp_path / "backup")
        other.communicate("\n")
    assert names(book) == ALL
    assert {path.name for path in tmp_path.iterdir()} == {"backup", "quotes.sqlite3"}
    book.restore(tmp_path / "backup")


def test_a_writer_notices_that_the_book_was_replaced(book: Book, tmp_path: Path, monkeypatch) -> None:
    """It had opened the file before: what it wrote would lie in what was set aside, and nobody would know."""
    book.backup(tmp_path / "backup")
    opened, first = book.store.opened, []

    def replaced_after(mode: str) -> sqlite3.Connection:
        db = opened(mode)
        if mode == "rwc" and not first:
            first.append(True)
            Book(book.file).restore(tmp_path / "backup")
        return db

    monkeypatch.setattr(book.store, "opened", replaced_after)
    with pytest.raises(InputError, match="was replaced meanwhile"):
        book.move((1, None), "sent", DAY)
    assert book.move((1, None), "sent", DAY).status == "sent"
