"""Quotes as they were stored, each read by the schemas that it names, for ever.

The JSON of a stored quote is never written anew: the book keeps it as it was given, exports and imports it as it is,
with keys that only a later version knows. What this version works with is read out of it into today's models:

- a key that is unknown here is passed over, and stays in what is stored;
- a key that was added since takes its default;
- everything that schema /1 had from its first day must be there and fit, whatever has a default in the models.

A key that is removed, renamed or changed in meaning makes a new schema. The models then are those of the new one, and
the old one's entry below becomes a function that makes today's keys of its own.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from typing import Any, NamedTuple
from uuid import NAMESPACE_OID, uuid5

from recommender.errors import InputError
from recommender.models.workshop.book import Event, Time
from recommender.models.workshop.quote import Documents, Quote, Status, named
from recommender.packs.located import validated
from recommender.text import shorten

Data = dict[str, Any]
KEY = "schema_"
"""Under which stored data names its schema; on the outside a quote has `schema` first."""


class Stored(NamedTuple):
    """A quote that comes from another book."""

    data: Data
    """Its JSON, as the book keeps it."""
    quote: Quote
    """What this version reads of it."""
    status: Status
    number: int
    """In the book that it comes from, which need not be that on its documents."""
    revision: int
    identity: str = ""
    """Empty where it has none but what follows from its content."""
    history: tuple[Event, ...] = ()
    """Empty where it is not known."""
    times: tuple[Time, ...] = ()

    @property
    def name(self) -> str:
        """How it is called in the book that it comes from."""
        return named(self.number, self.revision)


def content_id(data: Data) -> str:
    """What a quote is known by where it has nothing else: its content, in any order of keys (RFC 4122, UUID 5)."""
    return str(uuid5(NAMESPACE_OID, json.dumps(data, sort_keys=True, separators=(",", ":"))))


_ANSWER_1 = (
    *("brief", "brief_sources", "proposal", "metrics", "reasons", "cautions", "advice", "alternatives", "deciding"),
    *("points", "blade", "shop", "form", "task_fit", "confidence", "flips", "tried", "tolerances", "blocked"),
    *("relaxations", "provenance"),
)
"""What every answer of `bevelwright.proposal/1` has."""


def _quote_1(data: Data, file: str) -> Data:
    return data


def _answer_1(data: Data, file: str) -> Data:
    for key in _ANSWER_1:
        if key not in data:
            raise InputError("missing", file=file, key=f"answer.{key}", expected="a value")
    return data


Reader = Callable[[Data, str], Data]
QUOTES: Mapping[str, Reader] = {"bevelwright.quote/1": _quote_1}
ANSWERS: Mapping[str, Reader] = {"bevelwright.proposal/1": _answer_1}
"""What makes of stored JSON the keys that today's models read, by the schema it names. Raises InputError, located."""


def read_quote(data: Data, file: str) -> Quote:
    """A quote out of its stored JSON. Raises InputError, located, for what does not fit and for unknown schemas."""
    data = _by_schema(data, QUOTES, file, "schema")
    answer = data.get("answer")
    if isinstance(answer, dict):
        data = {**data, "answer": _by_schema(answer, ANSWERS, file, f"answer.{KEY}")}
    read: Quote = validated(Quote, data, file, extra="ignore")
    return read


def read_documents(data: Data, file: str) -> Documents:
    """A quote's documents out of its stored JSON: nothing else of it has to be readable any more. Raises InputError."""
    read: Documents = validated(Documents, data, file, extra="ignore")
    return read


def _by_schema(data: Data, known: Mapping[str, Reader], file: str, key: str) -> Data:
    named = data.get(KEY)
    if not isinstance(named, str) or named not in known:
        raise InputError(f"{shorten(named)} is no schema read here", file=file, key=key, expected=" or ".join(known))
    return known[named](data, file)


def outside(data: Data) -> Data:
    """Stored data as it is exported: `schema` first."""
    return {"schema": data.get(KEY), **{name: value for name, value in data.items() if name != KEY}}


def inside(data: Data) -> Data:
    """Exported data as it is stored."""
    return {KEY: data.get("schema"), **{name: value for name, value in data.items() if name != "schema"}}


def passed_over(data: object, read: object, path: str = "") -> Iterator[str]:
    """Keys of stored data that what was read of it does not have, dotted."""
    if isinstance(data, dict) and isinstance(read, dict):
        for name, value in data.items():
            where = f"{path}.{name}" if path else str(name)
            if name in read:
                yield from passed_over(value, read[name], where)
            else:
                yield where
    elif isinstance(data, list) and isinstance(read, list):
        for value, its in zip(data, read, strict=False):
            yield from passed_over(value, its, path)
