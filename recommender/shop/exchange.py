"""Quotes from the JSON that another quote book was exported to."""

from __future__ import annotations

import json
from typing import Any

from recommender.errors import InputError
from recommender.files import read_file
from recommender.models.quote import NEXT, Quote, Status
from recommender.packs.located import check_values, validated
from recommender.text import clean, shorten

MOST_BYTES = 200_000_000


def read_quotes(file: str) -> list[tuple[Quote, Status]]:
    """Quotes with their status from an export. Raises InputError, located."""
    expected = "what `book export --json` writes"
    raw = read_file(file, MOST_BYTES, expected)
    shown = clean(file, one_line=True)
    if len(raw) > MOST_BYTES:
        raise InputError("too long", file=shown, expected=f"at most {MOST_BYTES:,} bytes")
    return quotes_of(raw, shown)


def quotes_of(raw: bytes, file: str) -> list[tuple[Quote, Status]]:
    """Quotes with their status from the bytes of an export. Raises InputError, located."""
    try:
        data = json.loads(raw)
    except (ValueError, RecursionError) as cause:
        raise InputError(f"cannot be read ({type(cause).__name__})", file=file, expected="a JSON list") from None
    if not isinstance(data, list):
        raise InputError(f"{shorten(data)} does not fit", file=file, expected="a JSON list of quotes")
    check_values(data, file)
    quotes = [_quote(item, f"{file}: quote {place}") for place, item in enumerate(data, 1)]
    names = [quote.name for quote, _ in quotes]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise InputError(f"quote {twice} is there twice", file=file, expected="each once")
    return quotes


def _quote(item: Any, file: str) -> tuple[Quote, Status]:
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
    data["schema_"] = data.pop("schema", None)
    quote: Quote = validated(Quote, data, file)
    if quote.number < 1 or quote.revision < 1:
        raise InputError(f"{quote.number}.{quote.revision} is no quote number", file=file, expected="1 or more")
    return quote, status
