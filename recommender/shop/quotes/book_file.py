"""The file of a quote book: how it is opened, what has to be in it, and what is said where it cannot be used."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from recommender.errors import BevelwrightError, InputError
from recommender.side_effects import side_effect
from recommender.text import clean

FIRST_VERSION = 1
VERSION = 2
"""Of the tables. A book stays at the first, which 0.1 reads too, until it holds what 0.1 would get wrong: a quote that
lies under another number than its documents show, or one that is superseded. A later one is refused untouched."""
APPLICATION_ID = 0x42657677
"""Marks the file as a quote book of ours."""
WAIT_SECONDS = 30.0
"""For another process to finish writing."""
MOST_BYTES = 50_000_000
"""Of one value: a damaged length would otherwise be taken for memory."""

TABLES = """
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
IDENTITIES = """
CREATE TABLE IF NOT EXISTS identities (
    number INTEGER NOT NULL,
    revision INTEGER NOT NULL,
    identity TEXT NOT NULL UNIQUE,
    content TEXT NOT NULL,
    printed TEXT NOT NULL,
    PRIMARY KEY (number, revision)
)
"""
"""Came after 0.1, which passes it over: a quote without a line here is known by its content."""
NAMES = ("history", "quotes", "times")


class BookFile:
    """A file that a quote book is, or is to be, kept in. Every method raises InputError, in one line."""

    def __init__(self, path: Path) -> None:
        self.path = path

    @property
    def shown(self) -> str:
        """Its name in a message."""
        return clean(str(self.path), one_line=True)

    @property
    def sidecars(self) -> list[Path]:
        """What SQLite may have left beside it."""
        # Beside the file itself: a link to it has none.
        real = Path(os.path.realpath(self.path))
        return [real.with_name(real.name + ending) for ending in ("-journal", "-wal", "-shm")]

    def refuse_as_output(self, path: Path) -> None:
        """Refuse to write to the book or to what belongs to it, by whatever name. Raises InputError."""
        real = Path(os.path.realpath(path))
        same = real in (Path(os.path.realpath(self.path)), *self.sidecars)
        if not same and path.exists() and self.path.exists():
            same = os.path.samefile(path, self.path)
        if same:
            raise InputError(
                "that is the quote book itself", file=clean(str(path), one_line=True), expected="another file"
            )

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection | None]:
        """The book to read; None where there is none yet."""
        with self.naming_it():
            if not self.path.exists() or self.path.stat().st_size == 0:
                yield None
                return
            with closing(self.opened("rw")) as db:
                yield db if self.version(db) else None

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """The book in one transaction, kept whole or not at all."""
        with self.naming_it():
            before = self.path.stat() if self.path.exists() else None
            if before is not None and before.st_size:
                # Whatever is not ours, or of a later version, is found out without a write.
                with closing(self.opened("rw")) as db:
                    self.version(db)
            self.path.parent.mkdir(parents=True, exist_ok=True)
            with closing(self.opened("rwc")) as db:
                try:
                    db.execute("PRAGMA synchronous = EXTRA")
                    db.execute("BEGIN IMMEDIATE")
                    if before is not None and not os.path.samestat(before, self.path.stat()):
                        raise InputError("the quote book was replaced meanwhile", file=self.shown, expected="once more")
                    if not self.version(db):
                        _create(db)
                    db.execute(IDENTITIES)
                    yield db
                    side_effect()
                    db.execute("COMMIT")
                except BaseException:
                    if db.in_transaction:
                        db.execute("ROLLBACK")
                    raise

    def opened(self, mode: str) -> sqlite3.Connection:
        """Open the file, to write too: only so does SQLite undo what a killed process left half-done, even to read."""
        uri = f"{self.path.absolute().as_uri()}?mode={mode}"
        db = sqlite3.connect(uri, uri=True, timeout=WAIT_SECONDS, isolation_level=None)
        # Text that is no text any more is shown as such: it hides neither its row nor the others.
        db.text_factory = lambda raw: raw.decode("utf-8", "replace")
        db.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, MOST_BYTES)
        db.execute("PRAGMA trusted_schema = OFF")
        db.execute("PRAGMA cell_size_check = ON")
        return db

    def version(self, db: sqlite3.Connection) -> int:
        """Of the tables in the file; 0 where it is empty. Raises InputError for what is not ours or too new."""
        mark, version, pages = (
            int(db.execute(f"PRAGMA {name}").fetchone()[0]) for name in ("application_id", "user_version", "page_count")
        )
        things = db.execute("SELECT type, name FROM sqlite_master WHERE name NOT LIKE 'sqlite_%'").fetchall()
        if mark == APPLICATION_ID and version > VERSION:
            raise InputError(
                f"written by a newer Bevelwright (book version {version})",
                file=self.shown,
                expected=f"a book of version {VERSION} at most; it was left untouched",
            )
        if not things and pages <= 1 and not version:
            return 0
        tables = {name for kind, name in things if kind == "table"}
        if things and mark != APPLICATION_ID and not tables >= set(NAMES):
            raise InputError("no quote book", file=self.shown, expected="a book that Bevelwright has made")
        if mark != APPLICATION_ID or version < FIRST_VERSION or not tables >= set(NAMES):
            raise self.unusable("its first page is damaged")
        # A view in place of a table could go on for ever, a trigger write what nobody asked for.
        if any(kind not in ("table", "index") for kind, _ in things):
            raise InputError("no quote book", file=self.shown, expected="tables alone, without triggers and views")
        return version

    def unusable(self, cause: object) -> InputError:
        """The line for a book that cannot be used."""
        return InputError(
            f"the quote book cannot be used ({clean(str(cause), one_line=True)})",
            file=self.shown,
            expected="room on the disk and a sound book (`book restore`); nothing of this was saved",
        )

    @contextmanager
    def naming_it(self) -> Iterator[None]:
        """Whatever SQLite or the system refuses, in one line."""
        try:
            yield
        except BevelwrightError:
            raise
        except sqlite3.Error as cause:
            raise self.unusable(cause) from None
        except OSError as cause:
            raise InputError(
                f"the quote book cannot be used ({cause.strerror})", file=self.shown, expected="a file of yours"
            ) from None


def _create(db: sqlite3.Connection) -> None:
    for statement in filter(str.strip, TABLES.split(";")):
        db.execute(statement)
    db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    db.execute(f"PRAGMA user_version = {FIRST_VERSION}")


def raise_version(db: sqlite3.Connection) -> None:
    """Keep earlier versions from a book with what they would get wrong."""
    db.execute(f"PRAGMA user_version = {VERSION}")
