"""What the quote book tells: entries, events, noted times; what a fresh run would change; rates fitted to past jobs."""

from __future__ import annotations

from typing import Any, NamedTuple

from recommender.models.workshop.quote import Status, named


class Entry(NamedTuple):
    """A quote as the list shows it."""

    number: int
    revision: int
    made: str
    valid_until: str
    status: Status
    customer: str
    reference: str
    title: str
    grind: str
    currency: str
    total: str
    printed: str = ""
    """How its documents call it, where that is another name: it came from another book, and its number was taken."""

    @property
    def name(self) -> str:
        """How it is called in the book."""
        return named(self.number, self.revision)


class Event(NamedTuple):
    """What became of a quote, and when."""

    day: str
    status: str


class Time(NamedTuple):
    """Minutes that a piece of work took on an order."""

    number: int
    revision: int
    day: str
    work: str
    minutes: float


class Identity(NamedTuple):
    """What a quote is known by, in every book that it lies in."""

    identity: str
    """Its own for ever, whatever its number (RFC 4122, a UUID)."""
    content: str
    """Follows from its JSON: tells whether that is still what was stored."""
    printed: str
    """How its documents call it, where that is another name; else empty."""


class Damaged(NamedTuple):
    """Something in a book that cannot be read."""

    name: str
    """Of a quote, or of a list of the book."""
    reason: str


class Doubt(NamedTuple):
    """Something that speaks against giving a quote a status today."""

    words: str
    of_clock: bool
    """The clock says a day before the last that was noted: what is noted now would be false."""


class Kept(NamedTuple):
    """All that a book holds of a quote."""

    entry: Entry
    data: dict[str, Any]
    """Its JSON, as it was stored."""
    identity: str
    history: tuple[Event, ...]
    times: tuple[Time, ...]


class TakenIn(NamedTuple):
    """What became of quotes that came from another book."""

    new: int
    known: int
    renamed: tuple[tuple[str, str], ...]
    """Names there and here of those whose number was taken."""
    otherwise: tuple[tuple[str, str, str], ...]
    """Names of known ones with their status there and here, where these differ: it stays as it is here."""


class Difference(NamedTuple):
    """Something in a quote that would be otherwise today."""

    label: str
    then: str
    now: str


class Fitted(NamedTuple):
    """A rate fitted to times of past jobs: minutes = set_up_minutes + amount / per_min."""

    rate: str
    """Where it stands in shop.toml."""
    unit: str
    """Of the amount that is worked off."""
    jobs: int
    set_up_minutes: float | None
    """None where this rate has no setting up."""
    set_up_fitted: bool
    set_up_spread: float | None
    """One standard error, minutes."""
    per_min: float | None
    """None where the times do not grow with the amount."""
    low: float | None
    high: float | None
    """One standard error either way."""
    strays_minutes: float | None
    """How far a single job strays from the fit: standard deviation of what is left over."""
    now_per_min: float
    """As the shop has it."""
    now_set_up: float | None
