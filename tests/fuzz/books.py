"""Damaged quote books and hostile exports: each is answered or refused in one line, and nothing is made up.

`cases` gives them without end, the same for the same seed; `run` puts one to every command that reads a book.
"""

from __future__ import annotations

import argparse
import contextlib
import functools
import gzip
import io
import json
import random
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any, Literal, NamedTuple

from recommender.cli import _parser
from recommender.errors import BevelwrightError
from recommender.service import Service
from recommender.shop.quotes.quote_book import Book
from recommender.shop.quotes.quote_exchange import listed, quotes_of, whole_data
from recommender.shop.quotes.stored_quote import content_id

HELD = Path(__file__).parents[1] / "fixtures" / "v0.1" / "book" / "quotes.sqlite3.gz"
KEPT = "number = 4 OR number = 7"
"""Three of the held quotes, one with two revisions and one with times: each case then takes a tenth of a second."""
NAMES = ("4.1", "4.2", "7")
PAGE = 4096
Outcome = Literal["answered", "refused"]


class Case(NamedTuple):
    """What is put to the program."""

    name: str
    kind: Literal["book", "export"]
    data: bytes
    verified: bool = False
    """A book whose quotes are known by their content, damaged by bytes alone: no change may go unnoticed."""


@functools.cache
def sound_books() -> dict[str, bytes]:
    """A book as 0.1 left it, and the same quotes in one of today's."""
    with tempfile.TemporaryDirectory() as folder:
        old, new = Path(folder) / "old", Path(folder) / "new"
        old.write_bytes(gzip.decompress(HELD.read_bytes()))
        with closing(sqlite3.connect(old, isolation_level=None)) as raw:
            for table in ("quotes", "history", "times"):
                raw.execute(f"DELETE FROM {table} WHERE NOT ({KEPT})")
            raw.execute("VACUUM")
        Book(new).take_in(quotes_of(json.dumps(whole_data(*Book(old).everything())).encode(), "x"))
        return {"old": old.read_bytes(), "new": new.read_bytes()}


@functools.cache
def sound_exports() -> dict[str, Any]:
    """The quotes of such a book, in both forms, as text."""
    with opened(sound_books()["new"]) as book:
        kept, damaged = book.everything()
    return {"list": json.dumps([listed(each) for each in kept]), "whole": json.dumps(whole_data(kept, damaged))}


@functools.cache
def contents() -> frozenset[str]:
    """What the sound quotes are known by."""
    with opened(sound_books()["new"]) as book:
        return frozenset(content_id(each.data) for each in book.everything()[0])


@functools.cache
def service() -> Service:
    """Loaded once."""
    return Service(strict=True)


@functools.cache
def parser() -> argparse.ArgumentParser:
    """Built once: that takes longer than most commands."""
    return _parser()


@contextlib.contextmanager
def opened(data: bytes) -> Iterator[Book]:
    """A book of these bytes, in a folder of its own."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "quotes.sqlite3"
        file.write_bytes(data)
        yield Book(file)


# Damaged books


def _flipped(raw: bytearray, dice: random.Random) -> None:
    """A few bytes anywhere."""
    for _ in range(dice.choice((1, 1, 2, 8, 64))):
        raw[dice.randrange(len(raw))] ^= 1 << dice.randrange(8)


def _flipped_in_structure(raw: bytearray, dice: random.Random) -> None:
    """Bytes of the head of a page or of the file, where SQLite keeps its bearings."""
    page = dice.choice((0, 0, dice.randrange(len(raw) // PAGE), dice.randrange(len(raw) // PAGE)))
    for _ in range(dice.choice((1, 2, 6))):
        raw[page * PAGE + dice.randrange(120)] = dice.choice((0, 1, 0x7F, 0x80, 0xFF, dice.randrange(256)))


def _cut(raw: bytearray, dice: random.Random) -> None:
    del raw[dice.choice((dice.randrange(len(raw)), PAGE * dice.randrange(len(raw) // PAGE), dice.randrange(200))) :]


def _zeroed(raw: bytearray, dice: random.Random) -> None:
    """Whole pages, or parts of them."""
    for _ in range(dice.choice((1, 1, 3, 20))):
        start = PAGE * dice.randrange(len(raw) // PAGE) + dice.choice((0, 0, 100, 2048))
        length = dice.choice((PAGE, 512, 100))
        raw[start : start + length] = bytes([dice.choice((0, 0, 0xFF))]) * len(raw[start : start + length])


def _swapped(raw: bytearray, dice: random.Random) -> None:
    """Two pages in each other's place, or one twice: what a disk does that loses a write."""
    one, two = (PAGE * dice.randrange(len(raw) // PAGE) for _ in range(2))
    pages = raw[one : one + PAGE], raw[two : two + PAGE]
    raw[one : one + PAGE] = pages[1]
    if dice.random() < 0.5:
        raw[two : two + PAGE] = pages[0]


DAMAGES: tuple[Callable[[bytearray, random.Random], None], ...] = (
    _flipped, _flipped_in_structure, _flipped_in_structure, _cut, _zeroed, _swapped,
)  # fmt: skip

HOSTILE_SQL = (
    "NULL", "''", "0", "-1", "9e999", "1e300", "x''", "x'ff00'", "zeroblob(5000)", "'NaN'", "'1E+999999999'", "'-0'",
    "char(27) || '[2J' || char(7)", "char(8238) || 'abc'", "char(0)", "9223372036854775807", "'2026-02-30'", "'0'",
    "'[' || quote || ']'", "substr(quote, 1, 5000)", "'superseded'", "'{}'", "'1.2.3'", "CAST(x'c328' AS TEXT)",
)  # fmt: skip
HOSTILE_SCHEMA = (
    "CREATE VIEW v AS SELECT * FROM quotes",
    "CREATE TRIGGER t AFTER UPDATE ON quotes BEGIN DELETE FROM quotes; END",
    "DROP TABLE history", "DROP TABLE times", "DELETE FROM history", "DELETE FROM quotes",
    "ALTER TABLE quotes RENAME COLUMN total TO sum", "ALTER TABLE quotes ADD COLUMN more TEXT DEFAULT 'x'",
    "PRAGMA user_version = 0", "PRAGMA user_version = 3", "PRAGMA user_version = -1", "PRAGMA application_id = 1",
    "PRAGMA journal_mode = WAL", "PRAGMA encoding = 'UTF-16'", "CREATE TABLE identities (number)",
    "DELETE FROM quotes WHERE revision = 1", "UPDATE quotes SET revision = revision + 7",
)  # fmt: skip
COLUMNS = {
    "quotes": (
        "number", "revision", "made", "valid_until", "status", "customer", "reference", "title", "grind", "currency",
        "total", "quote",
    ),
    "history": ("number", "revision", "day", "status"),
    "times": ("number", "revision", "day", "work", "minutes"),
}  # fmt: skip


def _edited(data: bytes, dice: random.Random) -> tuple[str, bytes]:
    """Rows or tables changed by SQL, as far as SQLite lets them be."""
    if dice.random() < 0.2:
        statement = dice.choice(HOSTILE_SCHEMA)
    else:
        table = dice.choice(("quotes", "quotes", "quotes", "history", "times"))
        value = dice.choice(HOSTILE_SQL) if table == "quotes" else dice.choice(HOSTILE_SQL[:18])
        row = dice.choice(("1", "number = 7", "number = 4 AND revision = 2"))
        statement = f"UPDATE {table} SET {dice.choice(COLUMNS[table])} = {value} WHERE {row}"
    with opened(data) as book:
        with closing(sqlite3.connect(book.file)) as raw, contextlib.suppress(sqlite3.Error):
            raw.execute(statement)
            raw.commit()
        return statement, book.file.read_bytes()


# Hostile exports

HOSTILE_JSON = (
    "null", "true", "-1", "0", "1e400", "-0.0", "1e-320", "9" * 400, '""', '"\\u001b[31m"', '"\\u202e"', '"\\ud800"',
    '"1E+999999999"', '"NaN"', "[]", "{}", '[[[[[[[[[[["deep"]]]]]]]]]]]', '{"schema": 1}', '"2026-02-30"', '"EUR "',
    '"00000000-0000-4000-8000-000000000000"', "999999999", "1000000000", '"accepted"', '" "', '"0.1"', '"\\u0000"',
    '"' + "x" * 3000 + '"',
)  # fmt: skip


def _hostile_export(dice: random.Random) -> tuple[str, bytes]:
    """A value somewhere in an export replaced, taken away or there twice; or bytes of it changed."""
    form = dice.choice(("list", "whole"))
    text = sound_exports()[form]
    way = dice.choice(("value", "value", "value", "value", "gone", "twice", "bytes", "cut", "again"))
    if way == "bytes":
        raw = bytearray(text.encode())
        _flipped(raw, dice)
        return f"{form} bytes", bytes(raw)
    if way == "cut":
        return f"{form} cut", text.encode()[: dice.randrange(len(text))]
    data = json.loads(text)
    holder, key = _somewhere(data, dice)
    mark = '"the place"'
    if way == "gone":
        del holder[key]
        return f"{form} without {key}", json.dumps(data).encode()
    if way == "again" and isinstance(holder, list):
        holder.append(holder[key])
        return f"{form} {key} again", json.dumps(data).encode()
    if way == "twice" and isinstance(holder, dict):
        old, holder[key] = holder[key], json.loads(mark)
        pair = f"{json.dumps(old)}, {json.dumps(key)}: {json.dumps(old)}"
        return f"{form} {key} twice", json.dumps(data).replace(mark, pair).encode()
    holder[key] = json.loads(mark)
    value = dice.choice(HOSTILE_JSON)
    return f"{form} {key} = {value[:40]}", json.dumps(data).replace(mark, value).encode()


def _somewhere(data: Any, dice: random.Random) -> tuple[Any, Any]:
    """A place in JSON data: its holder and its key there; those near the top come up most."""
    while True:
        keys = list(data) if isinstance(data, dict) else list(range(len(data)))
        key = dice.choice(keys)
        below = data[key]
        if not (isinstance(below, (dict, list)) and below) or dice.random() < 0.1:
            return data, key
        data = below


def cases(seed: int) -> Iterator[Case]:
    """Cases without end: three damaged books to one export."""
    dice = random.Random(seed)
    count = 0
    while True:
        count += 1
        if count % 4 == 0:
            name, data = _hostile_export(dice)
            yield Case(f"{seed}.{count} export: {name}", "export", data)
            continue
        age = dice.choice(("old", "new"))
        if dice.random() < 0.3:
            name, data = _edited(sound_books()[age], dice)
            yield Case(f"{seed}.{count} {age} book: {name}", "book", data)
            continue
        raw, damage = bytearray(sound_books()[age]), dice.choice(DAMAGES)
        damage(raw, dice)
        yield Case(f"{seed}.{count} {age} book: {damage.__name__}", "book", bytes(raw), age == "new")


# What each has to keep to


def run(case: Case) -> Outcome:
    """Put a case to the program: answered where any command was. Raises AssertionError with what went wrong."""
    with tempfile.TemporaryDirectory() as folder:
        return _run_book(case, Path(folder)) if case.kind == "book" else _run_export(case, Path(folder))


def _run_book(case: Case, folder: Path) -> Outcome:
    file = folder / "quotes.sqlite3"
    file.write_bytes(case.data)
    reads = [("list",), ("list", "--json"), ("check",), *(("show", name) for name in (*NAMES, "4"))]
    reads += [("show", "7", "--json"), ("reprint", "4.2")]
    reads += [("export", "--csv", folder / "e.csv", "--json", folder / "e.json", "--whole", folder / "e.whole")]
    done = [_command(case, "book", *arguments, "--book", file) for arguments in reads]
    assert file.read_bytes() == case.data, f"{case.name}: reading has changed the book"
    if case.verified:
        _check_nothing_made_up(case, Book(file))
    done.append(_command(case, "book", "backup", folder / "backup", "--book", file))
    assert file.read_bytes() == case.data, f"{case.name}: a backup has changed the book"
    for arguments in (("accept", "4.2"), ("time", "7", "primary=3"), ("list",)):
        done.append(_command(case, "book", *arguments, "--book", file))
    return "answered" if "answered" in done else "refused"


def _check_nothing_made_up(case: Case, book: Book) -> None:
    """Every quote that is given out is one that was stored, and where one is missing something is said."""
    try:
        kept, damaged = book.everything()
        named = [*damaged, *book.damaged()]
    except BevelwrightError:
        return
    if not named:
        assert {content_id(each.data) for each in kept} == contents(), f"{case.name}: a change went unnoticed"


def _run_export(case: Case, folder: Path) -> Outcome:
    file, book = folder / "export.json", folder / "quotes.sqlite3"
    file.write_bytes(case.data)
    done = _command(case, "book", "import", file, "--book", book)
    if done == "refused":
        assert not book.exists(), f"{case.name}: refused, and yet there is a book"
        return done
    found = Book(book).check() if book.exists() else []
    assert not found, f"{case.name}: taken in, and then found damaged: {found[:2]}"
    for arguments in (("list",), *(("show", entry.name) for entry in Book(book).entries())):
        assert _command(case, "book", *arguments, "--book", book) == "answered", f"{case.name}: {arguments}"
    return done


def _command(case: Case, *arguments: object) -> Outcome:
    """Run a command: it answers, or refuses in one line; and neither holds anything that a terminal would obey."""
    out, err = io.StringIO(), io.StringIO()
    refused = ""
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            args = parser().parse_args([str(argument) for argument in arguments])
            code = args.run(service(), args)
            assert code in (0, 1), f"exit code {code}"
        except BevelwrightError as error:
            refused = str(error)
        except Exception as error:
            raise AssertionError(f"{case.name}: {arguments[:3]} failed: {type(error).__name__}: {error}") from error
    assert "\n" not in refused, f"{case.name}: refused in several lines"
    obeyed = {char for char in out.getvalue() + err.getvalue() + refused if char < " " and char not in "\n\t"}
    assert not obeyed, f"{case.name}: {arguments[:3]} printed {obeyed}"
    return "refused" if refused else "answered"
