"""Quotes from one book to another: the whole of a book as JSON, or its quotes alone as a JSON list.

The list is what 0.1 wrote and other programs read: each quote as it was stored, with its status. The whole of a book
(`bevelwright.book/1`) holds of each its identity, its number in the book, status, history and times noted as well.
Either is read here, checked as hard as a brief: from outside comes what nobody has checked.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import date
from typing import Annotated, Any, Literal
from uuid import UUID

from pydantic import AfterValidator, Field, StringConstraints

from recommender.errors import InputError
from recommender.files import read_file
from recommender.models.base import Model
from recommender.models.workshop.book import Damaged, Event, Kept, Time
from recommender.models.workshop.quote import NEXT, Status, named
from recommender.packs.located import validated
from recommender.parsing import parse_json
from recommender.shop.quotes.book_rows import MOST_NUMBER
from recommender.shop.quotes.quote_checks import check_quote, check_texts
from recommender.shop.quotes.stored_quote import Data, Stored, inside, outside, read_quote
from recommender.text import clean, shorten

SCHEMA = "bevelwright.book/1"
MOST_BYTES = 200_000_000
MOST_VALUES = MOST_BYTES // 20
"""As many as quotes have that are so long."""
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


def read_quotes(file: str) -> list[Stored]:
    """Quotes from an export. Raises InputError, located."""
    expected = "what `book export` writes"
    raw = read_file(file, MOST_BYTES, expected)
    shown = clean(file, one_line=True)
    if len(raw) > MOST_BYTES:
        raise InputError("too long", file=shown, expected=f"at most {MOST_BYTES:,} bytes")
    return quotes_of(raw, shown)


def quotes_of(raw: bytes, file: str) -> list[Stored]:
    """Quotes from the bytes of an export. Raises InputError, located."""

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
        data = parse_json(raw, file, expected, most_bytes=MOST_BYTES, most_values=MOST_VALUES, pairs=each_key_once)
        json.dumps(data, ensure_ascii=False).encode()  # half a surrogate pair could be kept, but never written
    except UnicodeEncodeError as cause:
        raise InputError(f"cannot be read ({type(cause).__name__})", file=file, expected=expected) from None
    if isinstance(data, dict) and data.get("schema") == SCHEMA:
        return _of_whole(data, file)
    if not isinstance(data, list):
        raise InputError(f"{shorten(data)} does not fit", file=file, expected="a JSON list of quotes, or a whole book")
    quotes = [_of_list(item, f"{file}: quote {place}") for place, item in enumerate(data, 1)]
    _check_names(quotes, file, ())
    return quotes


def _of_whole(data: Data, file: str) -> list[Stored]:
    whole = validated(_Whole, data, file)
    quotes = [_wrapped(item, f"{file}: quote {place}") for place, item in enumerate(whole.quotes, 1)]
    seen: set[str] = set()
    for place, stored in enumerate(quotes, 1):
        if stored.identity in seen:
            raise InputError("there twice", file=f"{file}: quote {place}", key="identity", expected="one of its own")
        seen.add(stored.identity)
    _check_names(quotes, file, whole.left_out)
    return quotes


def _wrapped(item: Any, file: str) -> Stored:
    given = validated(_Wrapped, item, file)
    if given.history[-1].status != given.status:
        raise InputError(
            f"{given.status} does not fit", file=file, key="status", expected=f"{given.history[-1].status}: its history"
        )
    stored = _stored(given.quote, given.status, file)
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


def _of_list(item: Any, file: str) -> Stored:
    if not isinstance(item, dict):
        raise InputError(f"{shorten(item)} does not fit", file=file, expected="a quote as one JSON object")
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
    return _stored(data, status, file)._replace(number=lies.number, revision=lies.revision)


class _Lies(Model):
    """Where a quote lies in a book."""

    number: Number
    revision: Number


def _stored(item: Any, status: Status, file: str) -> Stored:
    """A quote as it is to be stored. Raises InputError."""
    if not isinstance(item, dict):
        raise InputError(f"{shorten(item)} does not fit", file=file, expected="a quote as one JSON object")
    check_texts(item, file)
    data = inside(item)
    quote = read_quote(data, file)
    validated(_Lies, {"number": quote.number, "revision": quote.revision}, file)
    check_quote(quote, file)
    return Stored(data, quote, status, quote.number, quote.revision)


def _check_names(quotes: Sequence[Stored], file: str, left_out: Sequence[str]) -> None:
    """Refuse a quote that is there twice, and revisions with a gap that nothing explains. Raises InputError."""
    revisions: dict[int, set[int]] = {}
    for stored in quotes:
        its = revisions.setdefault(stored.number, set())
        if stored.revision in its:
            raise InputError(f"quote {stored.name} is there twice", file=file, expected="each once")
        its.add(stored.revision)
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
