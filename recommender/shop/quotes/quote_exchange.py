"""Quotes from the JSON that another quote book was exported to."""

from __future__ import annotations

import json
from typing import Any

from recommender.errors import InputError
from recommender.files import read_file
from recommender.models.workshop.quote import NEXT
from recommender.packs.located import check_values
from recommender.shop.quotes.stored_quote import Stored, inside, read_quote
from recommender.text import clean, shorten

MOST_BYTES = 200_000_000
MOST_NUMBER = 999_999_999
"""Of quotes and revisions, as the command line takes them."""


def read_quotes(file: str) -> list[Stored]:
    """Quotes with their status from an export. Raises InputError, located."""
    expected = "what `book export --json` writes"
    raw = read_file(file, MOST_BYTES, expected)
    shown = clean(file, one_line=True)
    if len(raw) > MOST_BYTES:
        raise InputError("too long", file=shown, expected=f"at most {MOST_BYTES:,} bytes")
    return quotes_of(raw, shown)


def quotes_of(raw: bytes, file: str) -> list[Stored]:
    """Quotes with their status from the bytes of an export. Raises InputError, located."""
    try:
        data = json.loads(raw)
        json.dumps(data, ensure_ascii=False).encode()  # half a surrogate pair could be kept, but never written
    except (ValueError, RecursionError) as cause:
        raise InputError(f"cannot be read ({type(cause).__name__})", file=file, expected="a JSON list") from None
    if not isinstance(data, list):
        raise InputError(f"{shorten(data)} does not fit", file=file, expected="a JSON list of quotes")
    check_values(data, file)
    quotes = [_quote(item, f"{file}: quote {place}") for place, item in enumerate(data, 1)]
    names = [stored.quote.name for stored in quotes]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise InputError(f"quote {twice} is there twice", file=file, expected="each once")
    return quotes


def _quote(item: Any, file: str) -> Stored:
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
    data = inside(data)
    quote = read_quote(data, file)
    for number in (quote.number, quote.revision):
        if not 1 <= number <= MOST_NUMBER:
            raise InputError(f"{shorten(number)} is no number of a quote", file=file, expected=f"1 to {MOST_NUMBER:,}")
    return Stored(data, quote, status)
