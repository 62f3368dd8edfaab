"""The quote book: one SQLite file, in which quotes are frozen as given and only their status moves on."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing, contextmanager
from datetime import date
from pathlib import Path
from typing import Any

from recommender.errors import BevelwrightError, InputError
from recommender.folders import user_folder
from recommender.models.workshop.book import Entry, Event, Time
from recommender.models.workshop.quote import NEXT, Documents, Quote, Status
from recommender.shop.quotes.stored_quote import Stored, outside, passed_over, read_documents, read_quote
from recommender.text import clean

FILE = "quotes.sqlite3"
VERSION = 1
"""Of the tables. A book with a later one is refused untouched."""
APPLICATION_ID = 0x42657677
"""Marks the file as a quote book of ours."""
WAIT_SECONDS = 30.0
"""For another process to finish writing."""

_TABLES = """
CREATE TABLE quotes (
    number INTEGER NOT NULL,
    revision INTEGER NOT NULL,
    made TEXT NOT NULL,
    valid_until TEXT NOT NULL,
    status TEXT NOT NULL,
    customer TEXT NOT NULL,
    reference TEXT NOT NULL,
    title TEXT NOT NULL,
    grind TEXT NOT NULL,
    currency TEXT NOT NULL,
    total TEXT NOT NULL,
    quote TEXT NOT NULL,
    PRIMARY KEY (number, revision)
);
CREATE TABLE history (
    number INTEGER NOT NULL,
    revision INTEGER NOT NULL,
    day TEXT NOT NULL,
    status TEXT NOT NULL
);
CREATE TABLE times (
    number INTEGER NOT NULL,
    revision INTEGER NOT NULL,
    day TEXT NOT NULL,
    work TEXT NOT NULL,
    minutes REAL NOT NULL
);
"""
_ROW = "number, revision, made, valid_until, status, customer, reference, title, grind, currency, total"


def own_file() -> Path:
    """Where the book is kept."""
    return user_folder("data") / FILE


class Book:
    """A quote book in a file, made when the first quote goes in.

    Every change is one transaction of SQLite's, written through to the disk: after a kill at any moment it is there
    whole or not at all. Every method raises InputError where the file cannot be used.
    """

    def __init__(self, file: Path | None = None) -> None:
        self.file = file or own_file()

    def add(self, make: Callable[[int, int], Quote], *, number: int | None = None) -> Quote:
        """Put a quote in: `make` gets its number and revision; with a number, the next revision of that one."""
        with self._writing() as book:
            if number is None:
                number, revision = book.execute("SELECT COALESCE(MAX(number), 0) + 1, 1 FROM quotes").fetchone()
            else:
                self._entry(book, number, 1)
                last = "SELECT MAX(revision) + 1 FROM quotes WHERE number = ?"
                revision = book.execute(last, (number,)).fetchone()[0]
            quote = make(number, revision)
            _insert(book, quote, "draft", quote.model_dump_json())
            _note(book, quote.number, quote.revision, quote.made, "draft")
        return quote

    def take_in(self, quotes: Iterable[Stored]) -> int:
        """Put quotes of another book in as they are, all or none, under their numbers; gives how many were new.

        One that is there already, with the same content, stays as it is. Raises InputError for one that is another.
        """
        new = 0
        with self._writing() as book:
            for data, quote, status in quotes:
                there = "SELECT quote FROM quotes WHERE number = ? AND revision = ?"
                row = book.execute(there, (quote.number, quote.revision)).fetchone()
                if row is None:
                    _insert(book, quote, status, json.dumps(data, ensure_ascii=False, separators=(",", ":")))
                    _note(book, quote.number, quote.revision, quote.made, status)
                    new += 1
                elif json.loads(row[0]) != data:
                    taken = f"there is another quote {quote.name} already"
                    raise InputError(taken, file=self._shown, expected="numbers that are free")
        return new

    def entries(self, *, words: str = "", status: str | None = None, newest_first: bool = True) -> list[Entry]:
        """Quotes that hold every word given (in number, customer, reference, title, grind), and have that status."""
        with self._reading() as book:
            if book is None:
                return []
            rows = _entries(book)
        wanted = words.casefold().split()
        found = [entry for entry in rows if status in (None, entry.status) and _holds(entry, wanted)]
        return found[::-1] if newest_first else found

    def quote(self, number: int, revision: int | None = None) -> tuple[Quote, Entry, list[Event]]:
        """A quote with its status and what became of it; a revision need not be named where there is but one."""
        with self._reading() as book:
            entry, data = self._stored(book, number, revision)
            history = self._history(book, entry)
        with self._readable(entry):
            return read_quote(data, ""), entry, history

    def as_stored(self, number: int, revision: int | None = None) -> tuple[Entry, dict[str, Any], list[Event]]:
        """A quote as it lies in the book, its status in it, with what became of it: also what is unknown here."""
        with self._reading() as book:
            return self._whole(book, number, revision)

    def everything(self) -> list[tuple[Entry, dict[str, Any], list[Event]]]:
        """Every quote as it lies in the book, the oldest first."""
        with self._reading() as book:
            entries = [] if book is None else _entries(book)
            return [self._whole(book, entry.number, entry.revision) for entry in entries]

    def _whole(
        self, book: sqlite3.Connection | None, number: int, revision: int | None
    ) -> tuple[Entry, dict[str, Any], list[Event]]:
        entry, data = self._stored(book, number, revision)
        return entry, {**outside(data), "status": entry.status}, self._history(book, entry)

    def passed_over(self, number: int, revision: int | None = None) -> list[str]:
        """What was asked in a quote that this version does not know: keys of its brief and its order, dotted."""
        quote, _, _ = self.quote(number, revision)
        _, data, _ = self.as_stored(number, revision)
        asked = {name: data[name] for name in ("brief", "order")}
        return list(passed_over(asked, quote.model_dump(mode="json", include=set(asked))))

    def _history(self, book: sqlite3.Connection | None, entry: Entry) -> list[Event]:
        assert book is not None
        day_by_day = "SELECT day, status FROM history WHERE number = ? AND revision = ? ORDER BY rowid"
        return [Event(*row) for row in book.execute(day_by_day, (entry.number, entry.revision))]

    def documents(self, number: int, revision: int | None = None) -> Documents:
        """A quote's documents as they were given: nothing else of it has to be readable any more."""
        with self._reading() as book:
            entry, data = self._stored(book, number, revision)
        with self._readable(entry):
            return read_documents(data, "")

    def _stored(
        self, book: sqlite3.Connection | None, number: int, revision: int | None
    ) -> tuple[Entry, dict[str, Any]]:
        entry = self._entry(book, number, revision)
        assert book is not None
        key = (entry.number, entry.revision)
        raw: str = book.execute("SELECT quote FROM quotes WHERE number = ? AND revision = ?", key).fetchone()[0]
        with self._readable(entry):
            data = json.loads(raw)
            if not isinstance(data, dict):
                raise ValueError("no JSON object")
        return entry, data

    @contextmanager
    def _readable(self, entry: Entry) -> Iterator[None]:
        """Whatever does not fit in what is stored, in one line that names the quote."""
        try:
            yield
        except (InputError, ValueError) as cause:
            expected = "a quote of this Bevelwright; `book reprint` needs its documents alone"
            raise InputError(
                f"quote {entry.name} cannot be read ({cause})", file=self._shown, expected=expected
            ) from None

    def move(self, name: tuple[int, int | None], status: Status, day: date) -> Entry:
        """Give a quote its next status; its name is number and revision, None where there is but one.

        Raises InputError for a status that may not follow.
        """
        with self._writing() as book:
            entry = self._entry(book, *name)
            if status not in NEXT[entry.status]:
                after = " or ".join(NEXT[entry.status])
                raise InputError(
                    f"quote {entry.name} is {entry.status} and cannot become {status}",
                    expected=after or "a revision of it: nothing follows",
                )
            key = (entry.number, entry.revision)
            book.execute("UPDATE quotes SET status = ? WHERE number = ? AND revision = ?", (status, *key))
            _note(book, *key, day, status)
        return entry._replace(status=status)

    def took(self, name: tuple[int, int | None], minutes: dict[str, float], day: date) -> Entry:
        """Note how long pieces of an order's work took; 0 takes back what was noted of one."""
        with self._writing() as book:
            entry = self._entry(book, *name)
            key = (entry.number, entry.revision)
            gone = [(*key, work) for work, spent in minutes.items() if not spent]
            book.executemany("DELETE FROM times WHERE number = ? AND revision = ? AND work = ?", gone)
            rows = [(*key, day.isoformat(), work, spent) for work, spent in minutes.items() if spent]
            book.executemany("INSERT INTO times VALUES (?, ?, ?, ?, ?)", rows)
        return entry

    def times(self) -> list[Time]:
        """All times noted, the first first."""
        with self._reading() as book:
            if book is None:
                return []
            return [Time(*row) for row in book.execute("SELECT * FROM times ORDER BY rowid")]

    @property
    def _shown(self) -> str:
        return clean(str(self.file), one_line=True)

    def _entry(self, book: sqlite3.Connection | None, number: int, revision: int | None) -> Entry:
        rows: list[Entry] = []
        if book is not None:
            found = book.execute(f"SELECT {_ROW} FROM quotes WHERE number = ? ORDER BY revision", (number,))
            rows = [Entry(*row) for row in found]
        if not rows:
            raise InputError(
                f"there is no quote {number}", file=self._shown, expected="a number that `book list` shows"
            )
        if revision is None and len(rows) > 1:
            names = [f"{row.number}.{row.revision}" for row in rows]
            raise InputError(f"quote {number} has {len(rows)} revisions", expected=f"one of {', '.join(names)}")
        if revision is None:
            return rows[0]
        if not 1 <= revision <= len(rows):
            raise InputError(
                f"quote {number} has no revision {revision}", file=self._shown, expected=f"1 to {len(rows)}"
            )
        return rows[revision - 1]

    @contextmanager
    def _reading(self) -> Iterator[sqlite3.Connection | None]:
        """The book to read; None where there is none yet."""
        with self._told():
            if not self.file.exists() or self.file.stat().st_size == 0:
                yield None
                return
            book = self._opened("rw")
            try:
                yield book if self._version(book) else None
            finally:
                book.close()

    @contextmanager
    def _writing(self) -> Iterator[sqlite3.Connection]:
        """The book in one transaction, kept whole or not at all."""
        with self._told():
            if self.file.exists() and self.file.stat().st_size:
                # Whatever is not ours, or of a later version, is found out without a write.
                with closing(self._opened("rw")) as book:
                    self._version(book)
            self.file.parent.mkdir(parents=True, exist_ok=True)
            book = self._opened("rwc")
            try:
                book.execute("PRAGMA synchronous = FULL")
                book.execute("BEGIN IMMEDIATE")
                if not self._version(book):
                    _create(book)
                yield book
                book.execute("COMMIT")
            except BaseException:
                if book.in_transaction:
                    book.execute("ROLLBACK")
                raise
            finally:
                book.close()

    def _opened(self, mode: str) -> sqlite3.Connection:
        """Open the file, to write too: only so does SQLite undo what a killed process left half-done, even to read."""
        uri = f"{self.file.absolute().as_uri()}?mode={mode}"
        return sqlite3.connect(uri, uri=True, timeout=WAIT_SECONDS, isolation_level=None)

    def _version(self, book: sqlite3.Connection) -> int:
        """Of the tables in the file; 0 where it is empty. Raises InputError for what is not ours or too new."""
        mark, version = (
            int(book.execute(f"PRAGMA {name}").fetchone()[0]) for name in ("application_id", "user_version")
        )
        if mark != APPLICATION_ID and book.execute("SELECT COUNT(*) FROM sqlite_master").fetchone()[0]:
            raise InputError("no quote book", file=self._shown, expected="a book that Bevelwright has made")
        if version > VERSION:
            raise InputError(
                f"written by a newer Bevelwright (book version {version})",
                file=self._shown,
                expected=f"a book of version {VERSION}; it was left untouched",
            )
        return version

    @contextmanager
    def _told(self) -> Iterator[None]:
        """Whatever SQLite or the system refuses, in one line."""
        try:
            yield
        except BevelwrightError:
            raise
        except sqlite3.DatabaseError as cause:
            expected = "room on the disk and a sound book; nothing of this was saved"
            raise InputError(f"the quote book cannot be used ({cause})", file=self._shown, expected=expected) from None
        except OSError as cause:
            raise InputError(
                f"the quote book cannot be used ({cause.strerror})", file=self._shown, expected="a file of yours"
            ) from None


def _create(book: sqlite3.Connection) -> None:
    for statement in filter(str.strip, _TABLES.split(";")):
        book.execute(statement)
    book.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    book.execute(f"PRAGMA user_version = {VERSION}")


def _insert(book: sqlite3.Connection, quote: Quote, status: Status, stored: str) -> None:
    book.execute(
        f"INSERT INTO quotes ({_ROW}, quote) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            quote.number,
            quote.revision,
            quote.made.isoformat(),
            quote.valid_until.isoformat(),
            status,
            quote.order.customer,
            quote.order.reference,
            quote.title,
            quote.answer.proposal.grind_label if quote.answer.proposal else "",
            quote.price.currency,
            str(quote.price.total),
            stored,
        ),
    )


def _note(book: sqlite3.Connection, number: int, revision: int, day: date, status: str) -> None:
    book.execute("INSERT INTO history VALUES (?, ?, ?, ?)", (number, revision, day.isoformat(), status))


def _entries(book: sqlite3.Connection) -> list[Entry]:
    return [Entry(*row) for row in book.execute(f"SELECT {_ROW} FROM quotes ORDER BY number, revision")]


def _holds(entry: Entry, words: list[str]) -> bool:
    told = " ".join((entry.name, entry.customer, entry.reference, entry.title, entry.grind)).casefold()
    return all(word in told for word in words)
