"""Quotes from one book to another: the whole of a book as JSON, or its quotes alone as a JSON list.

The list is what 0.1 wrote and other programs read: each quote as it was stored, with its status. The whole of a book
(`bevelwright.book/1`) holds of each its identity, its number in the book, status, history and times noted as well.
Either is read here, checked as hard as a brief: from outside comes what nobody has checked.
"""

from __future__ import annotations

import io
import json
from collections.abc import Callable, Iterator, Sequence
from datetime import date
from typing import Annotated, Any, BinaryIO, Literal, NamedTuple
from uuid import UUID

from pydantic import AfterValidator, Field, StringConstraints

from recommender.errors import InputError
from recommender.files import reading
from recommender.models.base import Model
from recommender.models.workshop.book import Damaged, Event, Kept, Time
from recommender.models.workshop.quote import NEXT, Status, named
from recommender.packs.located import validated
from recommender.parsing import parse_json
from recommender.shop.quotes.book_rows import MOST_NUMBER
from recommender.shop.quotes.export_parts import ExportParts
from recommender.shop.quotes.quote_checks import check_quote, check_texts
from recommender.shop.quotes.stored_quote import Data, Stored, content_id, inside, outside, read_quote
from recommender.text import clean, shorten

SCHEMA = "bevelwright.book/1"
MOST_MINUTES = 100_000
PRINTED = "printed_as"
"""In the list: number and revision on the documents of a quote that lies under other ones."""
Number = Annotated[int, Field(ge=1, le=MOST_NUMBER, strict=True)]


def _identity(text: str) -> str:
    if str(UUID(text)) != text:
        raise ValueError("a UUID in small letters")
    return text


def _day(text: str) -> str:
    if date.fromisoformat(text).isoformat() != text:
        raise ValueError("a day, such as 2026-03-01")
    return text


Identity = Annotated[str, StringConstraints(max_length=36), AfterValidator(_identity)]
Day = Annotated[str, StringConstraints(max_length=10), AfterValidator(_day)]


class _Event(Model):
    day: Day
    status: Status


class _Time(Model):
    day: Day
    work: Annotated[str, Field(max_length=200)]
    minutes: Annotated[float, Field(gt=0, le=MOST_MINUTES, allow_inf_nan=False, strict=True)]


class _Wrapped(Model):
    """A quote in the whole of a book."""

    identity: Identity
    number: Number
    revision: Number
    status: Status
    history: tuple[_Event, ...] = Field(min_length=1)
    times: tuple[_Time, ...]
    quote: Any


class _Whole(Model):
    schema_: Literal["bevelwright.book/1"] = Field(alias="schema")
    left_out: tuple[Annotated[str, Field(max_length=200)], ...]
    quotes: tuple[Any, ...]


def listed(kept: Kept) -> Data:
    """A quote as it was stored, with its status; under its number in this book, where its documents have another."""
    data, entry = outside(kept.data), kept.entry
    if entry.printed:
        printed = {name: data.get(name) for name in ("number", "revision")}
        data |= {"number": entry.number, "revision": entry.revision, PRINTED: printed}
    return {**data, "status": entry.status}


def whole_data(kept: Sequence[Kept], damaged: Sequence[Damaged]) -> Data:
    """Everything that a book holds, and the names of what of it cannot be read."""
    return {
        "schema": SCHEMA,
        "left_out": [each.name for each in damaged],
        "quotes": [
            {
                "identity": each.identity,
                "number": each.entry.number,
                "revision": each.entry.revision,
                "status": each.entry.status,
                "history": [event._asdict() for event in each.history],
                "times": [{"day": time.day, "work": time.work, "minutes": time.minutes} for time in each.times],
                "quote": outside(each.data),
            }
            for each in kept
        ],
    }


class ExportedName(NamedTuple):
    """What a quote of an export goes by."""

    number: int
    revision: int
    status: Status
    identity: str
    """Empty where it has none but what follows from its content."""
    content: str
    place: int
    """In the export."""

    @property
    def name(self) -> str:
        """How it is called in the book that it comes from."""
        return named(self.number, self.revision)


class ExportedQuotes:
    """The quotes of an export, all of them sound: each is read again whenever it is asked for, to save memory."""

    def __init__(self, parts: ExportParts, read: Callable[[Any, str, bool], Stored], file: str) -> None:
        self._parts, self._read, self._file = parts, read, file
        self.names = [self._named(place) for place in range(len(parts))]
        """By number and revision in the book that they come from."""
        self.names.sort(key=lambda name: (name.number, name.revision))

    def __len__(self) -> int:
        return len(self.names)

    def __iter__(self) -> Iterator[Stored]:
        return (self.quote(name) for name in self.names)

    def quote(self, name: ExportedName) -> Stored:
        """One of them, whole."""
        return self._read(json.loads(self._parts[name.place]), self._where(name.place), False)

    def _named(self, place: int) -> ExportedName:
        file = self._where(place)
        stored = self._read(_parsed(self._parts[place], file), file, True)
        content = content_id(stored.data)
        return ExportedName(stored.number, stored.revision, stored.status, stored.identity, content, place)

    def _where(self, place: int) -> str:
        return f"{self._file}: quote {place + 1}"


def read_quotes(file: str) -> ExportedQuotes:
    """Quotes from an export. Raises InputError, located."""
    with reading(file, "what `book export` writes") as handle:
        return _quotes_in(handle, clean(file, one_line=True))


def quotes_of(raw: bytes, file: str) -> ExportedQuotes:
    """Quotes from the bytes of an export. Raises InputError, located."""
    return _quotes_in(io.BytesIO(raw), file)


def _quotes_in(stream: BinaryIO, file: str) -> ExportedQuotes:
    parts = ExportParts(stream, file)
    around = _parsed(bytes(parts.around), f"{file}, without its quotes" if len(parts) else file)
    if isinstance(around, dict) and around.get("schema") == SCHEMA:
        whole = validated(_Whole, around, file)
        _check_objects(whole.quotes, file)
        quotes = ExportedQuotes(parts, _wrapped, file)
        seen: set[str] = set()
        for name in sorted(quotes.names, key=lambda name: name.place):
            if name.identity in seen:
                where = f"{file}: quote {name.place + 1}"
                raise InputError("there twice", file=where, key="identity", expected="one of its own")
            seen.add(name.identity)
        _check_names(quotes.names, file, whole.left_out)
        return quotes
    if not isinstance(around, list):
        raise InputError(
            f"{shorten(around)} does not fit", file=file, expected="a JSON list of quotes, or a whole book"
        )
    _check_objects(around, file)
    quotes = ExportedQuotes(parts, _of_list, file)
    _check_names(quotes.names, file, ())
    return quotes


def _parsed(raw: bytes, file: str) -> Any:
    """JSON with each key once in an object. Raises InputError, located."""

    def each_key_once(pairs: list[tuple[str, Any]]) -> Data:
        data: Data = {}
        for key, value in pairs:
            if key in data:
                shown = shorten(key).strip("'\"")
                raise InputError("there twice in one object", file=file, key=shown, expected="each key once")
            data[key] = value
        return data

    expected = "a JSON list"
    try:
        data = parse_json(raw, file, expected, pairs=each_key_once)
        json.dumps(data, ensure_ascii=False).encode()  # half a surrogate pair could be kept, but never written
    except UnicodeEncodeError as cause:
        raise InputError(f"cannot be read ({type(cause).__name__})", file=file, expected=expected) from None
    return data


def _check_objects(around: Sequence[Any], file: str) -> None:
    """Refuse what stands among quotes and is none. Raises InputError, located."""
    for place, item in enumerate(around, 1):
        if item != {}:
            expected = "a quote as one JSON object"
            raise InputError(f"{shorten(item)} does not fit", file=f"{file}: quote {place}", expected=expected)


def _wrapped(item: Any, file: str, check: bool) -> Stored:
    given = validated(_Wrapped, item, file)
    if given.history[-1].status != given.status:
        raise InputError(
            f"{given.status} does not fit", file=file, key="status", expected=f"{given.history[-1].status}: its history"
        )
    stored = _stored(given.quote, given.status, file, check)
    planned = {work.id for work in stored.quote.price.work}
    for place, time in enumerate(given.times):
        if time.work not in planned:
            raise InputError(
                f"no work {shorten(time.work)} in this quote",
                file=file,
                key=f"times.{place}.work",
                expected=f"one of {', '.join(sorted(planned))}",
                given=time.work,
                valid=planned,
            )
    return stored._replace(
        number=given.number,
        revision=given.revision,
        identity=given.identity,
        history=tuple(Event(event.day, event.status) for event in given.history),
        times=tuple(Time(given.number, given.revision, time.day, time.work, time.minutes) for time in given.times),
    )


def _of_list(item: Data, file: str, check: bool) -> Stored:
    data = dict(item)
    status = data.pop("status", None)
    if not isinstance(status, str) or status not in NEXT:
        raise InputError(
            f"{shorten(status)} does not fit",
            file=file,
            key="status",
            expected=f"one of {', '.join(NEXT)}",
            given=status if isinstance(status, str) else None,
            valid=NEXT,
        )
    lies = validated(_Lies, {name: data[name] for name in ("number", "revision") if name in data}, file)
    if PRINTED in data:
        printed = data.pop(PRINTED)
        data |= validated(_Lies, printed, f"{file}: {PRINTED}").model_dump()
    return _stored(data, status, file, check)._replace(number=lies.number, revision=lies.revision)


class _Lies(Model):
    """Where a quote lies in a book."""

    number: Number
    revision: Number


def _stored(item: Any, status: Status, file: str, check: bool) -> Stored:
    """A quote as it is to be stored; `check` it unless that has been done. Raises InputError."""
    if not isinstance(item, dict):
        raise InputError(f"{shorten(item)} does not fit", file=file, expected="a quote as one JSON object")
    if check:
        check_texts(item, file)
    data = inside(item)
    quote = read_quote(data, file)
    validated(_Lies, {"number": quote.number, "revision": quote.revision}, file)
    if check:
        check_quote(quote, file)
    return Stored(data, quote, status, quote.number, quote.revision)


def _check_names(quotes: Sequence[ExportedName], file: str, left_out: Sequence[str]) -> None:
    """Refuse a quote that is there twice, and revisions with a gap that nothing explains. Raises InputError."""
    revisions: dict[int, set[int]] = {}
    for quote in quotes:
        its = revisions.setdefault(quote.number, set())
        if quote.revision in its:
            raise InputError(f"quote {quote.name} is there twice", file=file, expected="each once")
        its.add(quote.revision)
    for number, its in revisions.items():
        gap = next(
            (k for k in range(1, max(its)) if k not in its and f"quote {named(number, k)}" not in left_out), None
        )
        if gap is not None:
            raise InputError(
                f"quote {named(number, max(its))} is there without {named(number, gap)}",
                file=file,
                key="revision",
                expected="revisions from 1 on, without a gap",
            )
