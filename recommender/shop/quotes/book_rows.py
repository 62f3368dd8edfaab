"""Rows of a quote book, each read by itself: what is damaged is named and never hides the others."""

from __future__ import annotations

import json
import math
import sqlite3
from collections.abc import Iterator
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any, NamedTuple

from recommender.models.workshop.book import Damaged, Entry, Event, Identity, Kept, Time
from recommender.models.workshop.quote import named
from recommender.shop.quotes.stored_quote import content_id
from recommender.text import clean

COLUMNS = "number, revision, made, valid_until, status, customer, reference, title, grind, currency, total"
MOST_NUMBER = 999_999_999
"""Of quotes and revisions, as the command line takes them."""
MOST_DIGITS = 15
"""Of a total, before the point."""
_BY_INDEX, _BY_TABLE = "ORDER BY number", "NOT INDEXED ORDER BY rowid"
Key = tuple[int, int]
"""Number and revision in the book."""


class DamagedError(Exception):
    """What of a stored quote cannot be made out."""


class Row(NamedTuple):
    """Where a quote lies in the file."""

    rowid: int
    number: Any
    revision: Any

    @property
    def name(self) -> str:
        """How it is called, or where it lies if even that is damaged."""
        if _counts(self.number) and _counts(self.revision):
            return named(self.number, self.revision)
        return f"in row {self.rowid}"


def all_rows(db: sqlite3.Connection) -> list[Row]:
    """Every quote's place in the book, by number and revision; damaged pages hide only what is on them.

    The index and the table are read, the table from both ends: each may know rows that the others have lost. Raises
    DatabaseError where none of them gives a single one.
    """
    found: dict[int, Row] = {}
    lost: sqlite3.DatabaseError | None = None
    for order in (_BY_INDEX, _BY_TABLE, f"{_BY_TABLE} DESC"):
        try:
            for row in db.execute(f"SELECT rowid, number, revision FROM quotes {order}"):
                found[row[0]] = Row(*row)
            if order == _BY_TABLE:
                break
        except sqlite3.DatabaseError as cause:
            lost = cause
    if lost is not None and not found:
        raise lost
    return sorted(found.values(), key=lambda row: (not _counts(row.number), str(type(row.number)), *_order(row)))


def _order(row: Row) -> tuple[Any, ...]:
    return (row.number, row.revision if _counts(row.revision) else 0) if _counts(row.number) else (row.rowid,)


def rows_of(db: sqlite3.Connection, number: int) -> list[Row]:
    """The revisions of a quote."""
    found: list[Row] = []
    try:
        rows = db.execute("SELECT rowid, number, revision FROM quotes WHERE number = ? ORDER BY revision", (number,))
        found = [Row(*row) for row in rows]
    except sqlite3.DatabaseError:
        pass
    return found or [row for row in all_rows(db) if row.number == number]


def entry_at(db: sqlite3.Connection, row: Row, identities: dict[Key, Identity]) -> Entry:
    """A quote as the list shows it. Raises DamagedError."""
    try:
        values = db.execute(f"SELECT {COLUMNS} FROM quotes WHERE rowid = ?", (row.rowid,)).fetchone()
    except sqlite3.DatabaseError as cause:
        raise DamagedError(str(cause)) from None
    if values is None:
        raise DamagedError("its page is lost")
    entry = Entry(*values)
    for name in ("number", "revision"):
        if not _counts(getattr(entry, name)):
            raise DamagedError(f"its {name} is none")
    if (entry.number, entry.revision) != (row.number, row.revision):
        raise DamagedError("the index has another number for it")
    for name, value in entry._asdict().items():
        if name not in ("number", "revision", "printed") and not isinstance(value, str):
            raise DamagedError(f"its {name} is no text")
    for name in ("made", "valid_until"):
        _day(getattr(entry, name), name)
    try:
        total = Decimal(entry.total)
    except InvalidOperation:
        total = Decimal("NaN")
    if not total.is_finite() or total.adjusted() > MOST_DIGITS:
        raise DamagedError("its total is no amount")
    if len(entry.currency) > 10 or len(entry.status) > 20:
        raise DamagedError("its currency or its status is none")
    shown: dict[str, Any] = {name: clean(value) for name, value in entry._asdict().items() if isinstance(value, str)}
    identity = identities.get((entry.number, entry.revision))
    shown["printed"] = identity.printed if identity else ""
    return entry._replace(**shown)


def stored_at(db: sqlite3.Connection, row: Row) -> dict[str, Any]:
    """A quote's JSON as it lies in the book. Raises DamagedError."""
    try:
        raw = db.execute("SELECT CAST(quote AS BLOB) FROM quotes WHERE rowid = ?", (row.rowid,)).fetchone()
        data = json.loads(((raw and raw[0]) or b"").decode("utf-8"))
    except sqlite3.DatabaseError as cause:
        raise DamagedError(str(cause)) from None
    except (ValueError, RecursionError) as cause:
        raise DamagedError(f"no JSON: {cause}") from None
    if not isinstance(data, dict):
        raise DamagedError("no JSON object")
    return data


def sound_and_damaged(db: sqlite3.Connection) -> tuple[list[Entry], list[Damaged]]:
    """Every quote that can be listed, and the others by name."""
    sound, damaged, identities = [], [], all_identities(db)
    for row in all_rows(db):
        try:
            sound.append(entry_at(db, row, identities))
        except DamagedError as cause:
            damaged.append(Damaged(f"quote {row.name}", str(cause)))
    return sound, damaged


def verified_at(db: sqlite3.Connection, row: Row, identities: dict[Key, Identity]) -> dict[str, Any]:
    """A quote's JSON, as it was stored. Raises DamagedError."""
    data, identity = stored_at(db, row), identities.get((row.number, row.revision))
    if identity is not None and content_id(data) != identity.content:
        raise DamagedError("it is not what was stored")
    return data


def kept_at(
    db: sqlite3.Connection,
    row: Row,
    identities: dict[Key, Identity],
    events: dict[Key, list[Event]],
    times: list[Time],
) -> Kept:
    """All that there is of a quote. Raises DamagedError."""
    entry, data = entry_at(db, row, identities), verified_at(db, row, identities)
    key = (entry.number, entry.revision)
    identity = identities[key].identity if key in identities else content_id(data)
    its = tuple(time for time in times if (time.number, time.revision) == key)
    return Kept(entry, data, identity, tuple(events.get(key, ())), its)


def all_identities(db: sqlite3.Connection) -> dict[Key, Identity]:
    """What every quote is known by, of those that came into the book since there are identities."""
    found: dict[Key, Identity] = {}
    try:
        for number, revision, *rest in db.execute(
            "SELECT number, revision, identity, content, printed FROM identities NOT INDEXED"
        ):
            if all(isinstance(text, str) for text in rest):
                found[(number, revision)] = Identity(*(clean(text, one_line=True) for text in rest))
    except sqlite3.DatabaseError:
        pass  # an older book has none; what is damaged is told by `damaged_lists`
    return found


def all_events(db: sqlite3.Connection) -> dict[Key, list[Event]]:
    """What became of every quote, and when, as far as it can be read."""
    found: dict[Key, list[Event]] = {}
    for number, revision, day, status in _readable(db, "history", "number, revision, day, status"):
        if _is_day(day) and isinstance(status, str):
            found.setdefault((number, revision), []).append(Event(day, clean(status, one_line=True)))
    return found


def all_times(db: sqlite3.Connection) -> list[Time]:
    """All times noted, the first first, as far as they can be read."""
    rows = _readable(db, "times", "number, revision, day, work, minutes")
    return [Time(*row) for row in rows if _is_time(row)]


def damaged_lists(db: sqlite3.Connection) -> Iterator[Damaged]:
    """Which of what is noted beside the quotes is damaged."""
    for table, columns, sound in (
        ("history", "number, revision, day, status", lambda row: _is_day(row[2]) and isinstance(row[3], str)),
        ("times", "number, revision, day, work, minutes", _is_time),
    ):
        try:
            lost = sum(not sound(row) for row in db.execute(f"SELECT {columns} FROM {table}"))
            if lost:
                yield Damaged(table, f"{lost} of its lines cannot be read")
        except sqlite3.DatabaseError as cause:
            yield Damaged(table, f"not all of it can be read ({cause})")
    for order in (_BY_INDEX, _BY_TABLE):
        try:
            db.execute(f"SELECT COUNT(number) FROM (SELECT number FROM quotes {order})").fetchone()
        except sqlite3.DatabaseError as cause:
            yield Damaged("quotes", f"some may be missing ({cause})")
    try:
        if db.execute("SELECT COUNT(*) FROM sqlite_master WHERE name = 'identities'").fetchone()[0]:
            db.execute("SELECT COUNT(printed) FROM identities NOT INDEXED").fetchone()
    except sqlite3.DatabaseError as cause:
        yield Damaged("identities", f"not all of them can be read ({cause})")


def _readable(db: sqlite3.Connection, table: str, columns: str) -> Iterator[tuple[Any, ...]]:
    """The lines of a table up to the first page that cannot be read, then those behind it."""
    rows: dict[int, tuple[Any, ...]] = {}
    for order in ("", "DESC"):
        try:
            for rowid, *row in db.execute(f"SELECT rowid, {columns} FROM {table} ORDER BY rowid {order}"):
                rows[rowid] = tuple(row)
            break
        except sqlite3.DatabaseError:
            continue
    return iter([rows[rowid] for rowid in sorted(rows)])


def _counts(value: object) -> bool:
    return isinstance(value, int) and 1 <= value <= MOST_NUMBER


def _is_time(row: tuple[Any, ...]) -> bool:
    *_, day, work, minutes = row
    sound = isinstance(minutes, (int, float)) and math.isfinite(minutes) and minutes > 0
    return sound and _is_day(day) and isinstance(work, str)


def _is_day(value: object) -> bool:
    try:
        _day(value, "")
    except DamagedError:
        return False
    return True


def _day(value: object, name: str) -> None:
    try:
        sound = isinstance(value, str) and date.fromisoformat(value).isoformat() == value
    except ValueError:
        sound = False
    if not sound:
        raise DamagedError(f"its {name} is no day")
