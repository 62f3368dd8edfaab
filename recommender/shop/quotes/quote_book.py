"""The quote book: one SQLite file, in which quotes are frozen as given and only their status moves on."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from datetime import date
from itertools import groupby
from operator import attrgetter
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import uuid4

from recommender.errors import InputError
from recommender.folders import user_folder
from recommender.models.workshop.book import Damaged, Doubt, Entry, Event, Identity, Kept, TakenIn, Time
from recommender.models.workshop.quote import NEXT, Documents, Quote, Status, named, same_customer
from recommender.shop.quotes.book_care import backup, findings, restore
from recommender.shop.quotes.book_file import BookFile, raise_version
from recommender.shop.quotes.book_rows import (
    COLUMNS,
    MOST_NUMBER,
    DamagedError,
    Key,
    Row,
    all_events,
    all_identities,
    all_rows,
    all_times,
    damaged_lists,
    entry_at,
    kept_at,
    rows_of,
    sound_and_damaged,
    stored_at,
    verified_at,
)
from recommender.shop.quotes.quote_checks import check_numbers
from recommender.shop.quotes.stored_quote import Stored, content_id, passed_over, read_documents, read_quote
from recommender.text import clean

if TYPE_CHECKING:  # only an import loads it
    from recommender.shop.quotes.quote_exchange import ExportedName, ExportedQuotes

FILE = "quotes.sqlite3"
OPEN: frozenset[Status] = frozenset({"draft", "sent", "accepted"})
"""What another revision supersedes once it is accepted."""


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
        self.store = BookFile(self.file)

    # Quotes come in

    def add(self, make: Callable[[int, int], Quote], *, number: int | None = None, renamed: bool = False) -> Quote:
        """Put a quote in: `make` gets its number and revision; with a number, the next revision of that one.

        Raises InputError for a revision that names another customer, unless that is the same one `renamed`.
        """
        with self.store.writing() as db:
            name = self._next_name(db, number)
            quote = make(*name)
            if not renamed:
                self._refuse_other_customer(db, quote)
            _put_in(db, name, quote)
        return quote

    def next_name(self, number: int | None = None) -> Key:
        """Number and revision that a new quote would get, or with a number its next revision."""
        with self.store.reading() as db:
            return (number or 1, 1) if db is None else self._next_name(db, number)

    def add_as_named(self, quote: Quote) -> bool:
        """Put a quote in under the name that it was written with; False where that is not the next one any more.

        Raises InputError for a revision that names another customer.
        """
        name = (quote.number, quote.revision)
        with self.store.writing() as db:
            free = name == self._next_name(db, None if quote.revision == 1 else quote.number)
            if free:
                self._refuse_other_customer(db, quote)
                _put_in(db, name, quote)
        return free

    def customers(self, number: int) -> set[str]:
        """Who is named in the revisions of a quote."""
        return {entry.customer for entry in self.revisions(number) if entry.customer}

    def _refuse_other_customer(self, db: sqlite3.Connection, quote: Quote) -> None:
        """Raise InputError where a revision names another customer than every one before it that names any."""
        named_before: list[str] = []
        for row in rows_of(db, quote.number) if quote.revision > 1 else ():
            with suppress(DamagedError):
                named_before.append(entry_at(db, row, {}).customer)
        named_before = [customer for customer in named_before if customer]
        if named_before and not any(same_customer(quote.order.customer, customer) for customer in named_before):
            raise InputError(
                f"quote {quote.number} is for {named_before[-1]}, not for {quote.order.customer}: nothing is saved",
                file=self.store.shown,
                expected="the same customer (--renamed where only the name is written otherwise), or a new quote",
            )

    def _next_name(self, db: sqlite3.Connection, number: int | None) -> Key:
        if number is None:
            return _free_number(_taken(db)), 1
        revisions = (row.revision for row in self._rows(db, number))
        return number, max((k for k in revisions if isinstance(k, int)), default=0) + 1

    def take_in(self, quotes: ExportedQuotes) -> TakenIn:
        """Put quotes of another book in as they are, all or none.

        A known one stays as it is here; the others keep their number, or get a new one where it is taken: their
        documents stay as they are, and they are found by the number on those too.
        """
        renamed: list[tuple[str, str]] = []
        otherwise: list[tuple[str, str, str]] = []
        new = 0
        with self.store.writing() as db:
            known, taken = _Known(db), _taken(db)
            for number, revisions in groupby(quotes.names, key=attrgetter("number")):
                names = list(revisions)
                found = [known.row_of(name, self.store.shown) for name in names]
                home = next((row.number for row in found if row is not None), number)
                if not any(found) and number in taken:
                    home = _free_number([*taken, *(name.number for name in quotes.names)])
                its = taken.setdefault(home, set())
                for name, row in zip(names, found, strict=True):
                    if row is not None:
                        otherwise += _otherwise(db, row, name)
                        continue
                    revision = max(its) + 1 if name.revision in its else name.revision
                    its.add(revision)
                    _take_in(db, (home, revision), quotes.quote(name), name.content)
                    new += 1
                    if (home, revision) != (number, name.revision):
                        renamed.append((name.name, named(home, revision)))
        return TakenIn(new, len(quotes) - new, tuple(renamed), tuple(otherwise))

    # Quotes are read

    def entries(self, *, words: str = "", status: str | None = None, newest_first: bool = True) -> list[Entry]:
        """Quotes that hold every word given (in number, customer, reference, title, grind), and have that status."""
        with self.store.reading() as db:
            found = [] if db is None else sound_and_damaged(db)[0]
        wanted = words.casefold().split()
        found = [entry for entry in found if status in (None, entry.status) and _holds(entry, wanted)]
        return found[::-1] if newest_first else found

    def damaged(self) -> list[Damaged]:
        """What cannot be listed. Everything else can; `check` looks at every quote as a whole."""
        with self.store.reading() as db:
            return self._empty() if db is None else [*sound_and_damaged(db)[1], *damaged_lists(db)]

    def revisions(self, number: int) -> list[Entry]:
        """The revisions of a quote, the first first."""
        return [entry for entry in self.entries(newest_first=False) if entry.number == number]

    def quote(self, number: int, revision: int | None = None) -> tuple[Quote, Entry, list[Event]]:
        """A quote with its status and what became of it; a revision need not be named where there is but one."""
        kept = self.as_stored(number, revision)
        with self._readable(kept.entry.name):
            quote = read_quote(kept.data, "")
            check_numbers(quote, "")
        return quote, kept.entry, list(kept.history)

    def as_stored(self, number: int, revision: int | None = None) -> Kept:
        """A quote as it lies in the book, with what became of it: also what is unknown here."""
        with self.store.reading() as db:
            row = self._row(db, number, revision)
            assert db is not None
            with self._readable(row.name):
                return kept_at(db, row, all_identities(db), all_events(db), all_times(db))

    def everything(self) -> tuple[list[Kept], list[Damaged]]:
        """Every quote as it lies in the book, the first number first, and what is damaged besides."""
        kept: list[Kept] = []
        with self.store.reading() as db:
            if db is None:
                return [], self._empty()
            damaged = list(damaged_lists(db))
            identities, events, times = all_identities(db), all_events(db), all_times(db)
            for row in all_rows(db):
                try:
                    kept.append(kept_at(db, row, identities, events, times))
                except DamagedError as cause:
                    damaged.append(Damaged(f"quote {row.name}", str(cause)))
        return kept, damaged

    def documents(self, number: int, revision: int | None = None) -> Documents:
        """A quote's documents as they were given: nothing else of it has to be readable any more."""
        with self.store.reading() as db:
            row = self._row(db, number, revision)
            assert db is not None
            with self._readable(row.name):
                return read_documents(verified_at(db, row, all_identities(db)), "")

    def passed_over(self, number: int, revision: int | None = None) -> list[str]:
        """What was asked in a quote that this version does not know: keys of its brief and its order, dotted."""
        quote, _, _ = self.quote(number, revision)
        data = self.as_stored(number, revision).data
        asked = {name: data[name] for name in ("brief", "order")}
        return list(passed_over(asked, quote.model_dump(mode="json", include=set(asked))))

    @contextmanager
    def _readable(self, name: str) -> Iterator[None]:
        """Whatever does not fit in what is stored, in one line that names the quote."""
        try:
            yield
        except (InputError, DamagedError) as cause:
            expected = "a quote of this Bevelwright; `book reprint` needs its documents alone"
            raise InputError(
                f"quote {name} cannot be read ({cause})", file=self.store.shown, expected=expected
            ) from None

    # What becomes of them

    def doubts(self, name: tuple[int, int | None], status: Status, day: date) -> list[Doubt]:
        """What speaks against giving a quote that status on that day: it is said before it is done."""
        with self.store.reading() as db:
            row = self._row(db, *name)
            assert db is not None
            with self._readable(row.name):
                entry = entry_at(db, row, {})
            history = all_events(db).get((entry.number, entry.revision), [])
        doubts = []
        if status == "accepted" and day.isoformat() > entry.valid_until:
            doubts.append(Doubt(f"Quote {entry.name} was valid until {entry.valid_until}.", of_clock=False))
        last = max(history, key=lambda event: event.day, default=None)
        if last is not None and day.isoformat() < last.day:
            then = f"quote {entry.name} became {last.status} on {last.day}"
            doubts.append(Doubt(f"The clock says {day.isoformat()}, but {then}.", of_clock=True))
        return doubts

    def move(self, name: tuple[int, int | None], status: Status, day: date) -> Entry:
        """Give a quote its next status; its name is number and revision, None where there is but one.

        Accepting one revision supersedes the others; taking that back gives them the status that they had.
        Raises InputError for a status that may not follow.
        """
        with self.store.writing() as db:
            row = self._row(db, *name)
            with self._readable(row.name):
                entry = entry_at(db, row, all_identities(db))
            if status not in NEXT.get(entry.status, ()):
                after = " or ".join(NEXT.get(entry.status, ()))
                raise InputError(
                    f"quote {entry.name} is {entry.status} and cannot become {status}",
                    expected=after or "a revision of it: nothing follows",
                )
            _become(db, row, status, day)
            for other in rows_of(db, entry.number):
                if other.rowid != row.rowid:
                    _follow(db, other, (entry.status, status), day)
        return entry._replace(status=status)

    def took(self, name: tuple[int, int | None], minutes: dict[str, float], day: date) -> Entry:
        """Note how long pieces of an order's work took; 0 takes back what was noted of one."""
        with self.store.writing() as db:
            row = self._row(db, *name)
            with self._readable(row.name):
                entry = entry_at(db, row, all_identities(db))
            key = (entry.number, entry.revision)
            gone = [(*key, work) for work, spent in minutes.items() if not spent]
            db.executemany("DELETE FROM times WHERE number = ? AND revision = ? AND work = ?", gone)
            rows = [(*key, day.isoformat(), work, spent) for work, spent in minutes.items() if spent]
            db.executemany("INSERT INTO times VALUES (?, ?, ?, ?, ?)", rows)
        return entry

    def times(self) -> list[Time]:
        """All times noted, the first first."""
        with self.store.reading() as db:
            return [] if db is None else all_times(db)

    # The file

    def check(self) -> list[Damaged]:
        """Everything in the book that is not as it has to be, each quote looked at as a whole."""
        with self.store.reading() as db:
            return self._empty() if db is None else list(findings(db))

    def backup(self, to: Path) -> int:
        """Copy the book to a new file; it is called a backup once SQLite has found it sound. Gives how many quotes."""
        return backup(self.store, to)

    def restore(self, backup: Path) -> list[Path]:
        """Put a backup in the book's place, sound or not; gives where the book and what belongs to it now lie."""
        return restore(self.store, BookFile(backup))

    def _empty(self) -> list[Damaged]:
        """Name a file that is there and empty: a first quote was not saved to the end, or all of them are lost."""
        return [Damaged("file", "there is nothing in it")] if self.file.exists() else []

    # Which quote is meant

    def _rows(self, db: sqlite3.Connection | None, number: int) -> list[Row]:
        rows = [] if db is None else rows_of(db, number)
        if not rows:
            raise InputError(
                f"there is no quote {number}", file=self.store.shown, expected="a number that `book list` shows"
            )
        return rows

    def _row(self, db: sqlite3.Connection | None, number: int, revision: int | None) -> Row:
        rows = self._rows(db, number)
        names = [f"{row.number}.{row.revision}" for row in rows]
        if revision is None and len(rows) > 1:
            raise InputError(f"quote {number} has {len(rows)} revisions", expected=f"one of {', '.join(names)}")
        found = [row for row in rows if revision in (None, row.revision)]
        if not found:
            last = rows[-1].revision
            expected = f"1 to {last}" if len(rows) == last else f"one of {', '.join(names)}"
            raise InputError(f"quote {number} has no revision {revision}", file=self.store.shown, expected=expected)
        return found[0]


def _taken(db: sqlite3.Connection) -> dict[int, set[int]]:
    """Revisions of every number. Raises DatabaseError where some may be missing: nothing may be given twice."""
    taken: dict[int, set[int]] = {}
    for number, revision in db.execute("SELECT number, revision FROM quotes ORDER BY number"):
        if isinstance(number, int) and isinstance(revision, int):
            taken.setdefault(number, set()).add(revision)
    return taken


def _free_number(taken: Iterable[int]) -> int:
    """The number after the last, or the first gap where none can follow that."""
    last = max(taken := {0, *taken})
    return last + 1 if last < MOST_NUMBER else next(k for k in range(1, MOST_NUMBER) if k not in taken)


class _Known:
    """Quotes of a book by what they are known by: their identity, or their content where they have none of their own.

    Two that say the same but have each an identity of its own are two.
    """

    def __init__(self, db: sqlite3.Connection) -> None:
        self.by_identity: dict[str, tuple[Row, str]] = {}
        self.by_content: dict[str, tuple[Row, bool]] = {}
        identities = all_identities(db)
        for row in all_rows(db):
            known = identities.get((row.number, row.revision))
            if known is not None:
                self.by_identity[known.identity] = row, known.content
                self.by_content[known.content] = row, known.identity != known.content
            else:
                with suppress(DamagedError):
                    self.by_content[content_id(stored_at(db, row))] = row, False

    def row_of(self, quote: ExportedName, file: str) -> Row | None:
        """Where a quote lies in the book, if it does. Raises InputError for another one with its identity."""
        row, its = self.by_identity.get(quote.identity, (None, ""))
        if row is not None:
            if its != quote.content:
                raise InputError(
                    f"quote {row.name} has the identity of another quote {quote.name}",
                    file=file,
                    expected="an identity for each quote",
                )
            return row
        row, own = self.by_content.get(quote.content, (None, False))
        return None if own and quote.identity not in ("", quote.content) else row


def _otherwise(db: sqlite3.Connection, row: Row, quote: ExportedName) -> Iterator[tuple[str, str, str]]:
    """Name a known quote whose status is another here."""
    status = db.execute("SELECT status FROM quotes WHERE rowid = ?", (row.rowid,)).fetchone()[0]
    if status != quote.status:
        yield row.name, quote.status, clean(str(status), one_line=True)


def _put_in(db: sqlite3.Connection, name: Key, quote: Quote) -> None:
    """Put a new quote in as a draft."""
    stored = quote.model_dump_json()
    identity = Identity(str(uuid4()), content_id(json.loads(stored)), "")
    _insert(db, name, quote, "draft", stored, identity)
    _note(db, name, quote.made.isoformat(), "draft")


def _insert(db: sqlite3.Connection, key: Key, quote: Quote, status: str, stored: str, identity: Identity) -> None:
    """Put a quote in under a number and revision."""
    grind = quote.answer.proposal.grind_label if quote.answer.proposal else ""
    of_order = (quote.order.customer, quote.order.reference)
    days = (quote.made.isoformat(), quote.valid_until.isoformat())
    money = (quote.price.currency, str(quote.price.total))
    row = (*key, *days, status, *of_order, quote.title, grind, *money, stored)
    db.execute(f"INSERT INTO quotes ({COLUMNS}, quote) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", row)
    # A line that lost its quote would stand in the way.
    db.execute("DELETE FROM identities WHERE number = ? AND revision = ?", key)
    db.execute("INSERT INTO identities VALUES (?, ?, ?, ?, ?)", (*key, *identity))


def _take_in(db: sqlite3.Connection, key: Key, stored: Stored, content: str) -> None:
    """Put a quote of another book in, with what became of it there."""
    quote = stored.quote
    there, here = named(quote.number, quote.revision), named(*key)
    identity = Identity(stored.identity or content, content, "" if there == here else there)
    text = json.dumps(stored.data, ensure_ascii=False, separators=(",", ":"))
    _insert(db, key, quote, stored.status, text, identity)
    if identity.printed or stored.status == "superseded":
        raise_version(db)
    for event in stored.history or (Event(quote.made.isoformat(), stored.status),):
        _note(db, key, event.day, event.status)
    times = [(*key, time.day, time.work, time.minutes) for time in stored.times]
    db.executemany("INSERT INTO times VALUES (?, ?, ?, ?, ?)", times)


def _become(db: sqlite3.Connection, row: Row, status: str, day: date) -> None:
    db.execute("UPDATE quotes SET status = ? WHERE rowid = ?", (status, row.rowid))
    _note(db, (row.number, row.revision), day.isoformat(), status)


def _follow(db: sqlite3.Connection, row: Row, change: tuple[str, str], day: date) -> None:
    """What becomes of a quote when another of its revisions goes from one status to the next."""
    status = db.execute("SELECT status FROM quotes WHERE rowid = ?", (row.rowid,)).fetchone()[0]
    if change[1] == "accepted" and status in OPEN:
        _become(db, row, "superseded", day)
        raise_version(db)
    elif change == ("accepted", "sent") and status == "superseded":
        history = [event.status for event in all_events(db).get((row.number, row.revision), ())]
        before = [status for status in history if status in OPEN]
        _become(db, row, before[-1] if before else "draft", day)


def _note(db: sqlite3.Connection, key: Key, day: str, status: str) -> None:
    db.execute("INSERT INTO history VALUES (?, ?, ?, ?)", (*key, day, status))


def _holds(entry: Entry, words: list[str]) -> bool:
    texts = (entry.name, entry.printed, entry.customer, entry.reference, entry.title, entry.grind)
    return all(word in " ".join(texts).casefold() for word in words)
