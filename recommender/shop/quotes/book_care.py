"""What keeps a quote book safe: looking through it, copying it, and putting a copy in the place of a damaged one."""

from __future__ import annotations

import errno
import itertools
import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from datetime import date
from pathlib import Path

from recommender.errors import InputError
from recommender.models.workshop.book import Damaged, Kept
from recommender.models.workshop.quote import NEXT, Quote, named
from recommender.shop.quotes.book_file import BookFile
from recommender.shop.quotes.book_rows import (
    DamagedError,
    all_events,
    all_identities,
    all_rows,
    all_times,
    damaged_lists,
    kept_at,
)
from recommender.shop.quotes.quote_checks import check_quote
from recommender.shop.quotes.stored_quote import read_quote
from recommender.side_effects import side_effect
from recommender.text import clean

try:
    import fcntl
except ImportError:  # no POSIX system
    fcntl = None  # type: ignore[assignment]

WRITER_BYTE = 0x40000001
"""The byte that SQLite locks before it writes ("RESERVED"; the lock-byte page of its file format)."""
MOST_LINES = 20
"""Of what SQLite finds."""


def findings(db: sqlite3.Connection) -> Iterator[Damaged]:
    """Everything in a book that is not as it has to be."""
    yield from (Damaged("file", line) for line in _unsound(db))
    yield from damaged_lists(db)
    identities, events, times = all_identities(db), all_events(db), all_times(db)
    rows = all_rows(db)
    for row in rows:
        try:
            kept = kept_at(db, row, identities, events, times)
            quote = read_quote(kept.data, "")
            check_quote(quote, "")
            yield from _at_odds(kept, quote)
        except (DamagedError, InputError) as cause:
            yield Damaged(f"quote {row.name}", str(cause))
    there = {(row.number, row.revision) for row in rows}
    noted = {*events, *((time.number, time.revision) for time in times)}
    for number, revision in sorted((key for key in noted - there), key=str):
        yield Damaged("history and times", f"lines of a quote {number}.{revision} that is not there")
    for number, revision in sorted((key for key in there if isinstance(key[1], int)), key=str):
        if revision > 1 and (number, revision - 1) not in there:
            yield Damaged(f"quote {number}", f"revision {revision} is there without {revision - 1}")


def _at_odds(kept: Kept, quote: Quote) -> Iterator[Damaged]:
    """Where what the list shows of a quote is not what it says itself."""
    entry = kept.entry
    grind = quote.answer.proposal.grind_label if quote.answer.proposal else ""
    own = {
        "made": quote.made.isoformat(),
        "valid_until": quote.valid_until.isoformat(),
        "customer": quote.order.customer,
        "reference": quote.order.reference,
        "title": quote.title,
        "grind": grind,
        "currency": quote.price.currency,
        "total": str(quote.price.total),
    }
    odd = [name for name, value in own.items() if clean(value) != getattr(entry, name)]
    if (entry.printed or entry.name) != named(quote.number, quote.revision):
        odd.append("number")
    if odd:
        yield Damaged(f"quote {entry.name}", f"the list has another {' and '.join(odd)} than its documents")
    if entry.status not in NEXT:
        yield Damaged(f"quote {entry.name}", f"{entry.status} is no status")
    last = kept.history[-1].status if kept.history else "empty"
    if last != entry.status:
        yield Damaged(f"quote {entry.name}", f"it is {entry.status}, but its history ends with {last}")


def _unsound(db: sqlite3.Connection) -> list[str]:
    """What SQLite finds wrong with a file."""
    try:
        lines = [str(line) for (line,) in db.execute(f"PRAGMA integrity_check({MOST_LINES})")]
    except sqlite3.DatabaseError as cause:
        return [str(cause)]
    return [] if lines == ["ok"] else lines


def backup(book: BookFile, to: Path) -> int:
    """Copy a book to a new file, page by page, and call it a backup once it is found sound; gives how many quotes."""
    book.refuse_as_output(to)
    if os.path.lexists(to):
        raise InputError("there is a file already", file=clean(str(to), one_line=True), expected="a name that is free")
    with _beside(to) as beside, book.reading() as db:
        if db is None:
            raise InputError("there is no quote book yet", file=book.shown, expected="a book with quotes to back up")
        return _copied(db, beside, book)


def restore(book: BookFile, copy: BookFile) -> list[Path]:
    """Put a copy in a book's place; what was there is set aside with all that belongs to it. Gives where it now lies.

    Nothing of the book is read: it need not open. One that another process is writing to is left alone.
    """
    book.refuse_as_output(copy.path)
    with book.naming_it():
        book.path.parent.mkdir(parents=True, exist_ok=True)
    # A link to the book stays one.
    target = Path(os.path.realpath(book.path))
    with _beside(target) as beside:
        with copy.reading() as db:
            if db is None:
                raise InputError("no backup of a quote book", file=copy.shown, expected="what `book backup` writes")
            _copied(db, beside, copy)
        return _set_aside(book, target)


def _copied(db: sqlite3.Connection, to: Path, source: BookFile) -> int:
    """Copy an open book; raises InputError where the copy is not sound."""
    with closing(sqlite3.connect(to, isolation_level=None)) as copy:
        copy.execute("PRAGMA synchronous = EXTRA")
        db.backup(copy)
        wrong = _unsound(copy)
        count: int = 0 if wrong else copy.execute("SELECT COUNT(*) FROM quotes").fetchone()[0]
    if wrong:
        raise InputError(
            f"damaged ({clean(wrong[0], one_line=True)}), so it is no backup",
            file=source.shown,
            expected="a sound book: `book check` says what is wrong",
        )
    return count


@contextmanager
def _beside(to: Path) -> Iterator[Path]:
    """A file to write beside another name, which it gets at the end if that is free then."""
    beside = to.with_name(f".{to.name[:80]}.{os.getpid()}.part")
    try:
        with BookFile(to).naming_it():
            beside.touch(exist_ok=False)
            yield beside
            with beside.open("rb+") as handle:
                os.fsync(handle.fileno())
            side_effect()
            try:
                os.link(beside, to)
            except FileExistsError:
                raise
            except OSError:  # a file system without links
                beside.rename(to)
    finally:
        with suppress(OSError):
            beside.unlink(missing_ok=True)


def _set_aside(book: BookFile, target: Path) -> list[Path]:
    """Rename a book and what belongs to it to a name that is free; gives the new names."""
    parts = {path.name.removeprefix(target.name): path for path in (target, *book.sidecars)}
    with book.naming_it(), _not_in_use(book):
        aside, moved = _free(target, tuple(parts)), []
        for ending, path in parts.items():
            if os.path.lexists(path):
                side_effect()
                moved.append(path.rename(aside.with_name(aside.name + ending)))
    return moved


def _free(target: Path, endings: tuple[str, ...]) -> Path:
    """A name for what is set aside today, under which nothing lies yet."""
    start = f"{target.stem}-set-aside-{date.today().isoformat()}"
    names = (f"{start}{'' if count == 1 else f'-{count}'}{target.suffix}" for count in itertools.count(1))
    asides = (target.with_name(name) for name in names)
    return next(
        aside for aside in asides if not any(os.path.lexists(aside.with_name(aside.name + end)) for end in endings)
    )


@contextmanager
def _not_in_use(book: BookFile) -> Iterator[None]:
    """Keep other processes from writing to a book. Raises InputError where one does.

    The lock is SQLite's own, taken without SQLite, which would undo what a killed process left half-done and delete its
    journal. Where there is no such lock, the system itself does not rename a file that is open.
    """
    if fcntl is None or not book.path.exists():
        yield
        return
    with book.path.open("rb+") as handle:
        try:
            fcntl.lockf(handle, fcntl.LOCK_EX | fcntl.LOCK_NB, 1, WRITER_BYTE)
        except OSError as cause:
            if cause.errno not in (errno.EACCES, errno.EAGAIN):
                raise
            raise InputError(
                "another process is writing to the quote book", file=book.shown, expected="that it has ended"
            ) from None
        yield
