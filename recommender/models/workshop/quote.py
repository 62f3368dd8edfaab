"""A price, line by line, and the quote it stands in. Money is decimal and rounded to the smallest coin line by line."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Annotated, Any, Literal

from pydantic import Field

from recommender.models.answer.proposal import Answer
from recommender.models.base import Model
from recommender.models.brief import Brief
from recommender.models.workshop.document import Document
from recommender.models.workshop.shop import OneLine, Shop

Group = Literal["blade", "handle", "sheath", "shop", "delivery", "tax"]
"""What a customer sees as one; overhead and margin (shop) are spread over the others there."""


class Line(Model):
    """One line: amount = quantity x rate / per, rounded half up to the smallest coin."""

    id: str
    label: str
    group: Group
    quantity: Decimal
    """In `unit`."""
    unit: str
    rate: Decimal
    """Money for `per` units."""
    per: Decimal
    """Units that the rate is for: 60 for minutes at a rate per hour, 100 for percent."""
    amount: Decimal
    rate_from: str
    """Where the rate stands in shop.toml."""
    how: str
    """How the quantity came about."""


class Worked(Model):
    """A piece of work as planned: what past times are held against."""

    id: str
    label: str
    set_up_minutes: float
    minutes: float
    """A blade."""
    amount: float
    """What is worked off, a blade, in `unit`; 0 where time does not go by an amount."""
    unit: str
    rate_from: str


class Against(Model):
    """What another grind for the same brief would cost."""

    grind: str
    grind_label: str
    total: Decimal
    dearer: Decimal
    """By how much the proposed grind costs more; below 0: less."""
    because: tuple[tuple[str, Decimal], ...]
    """Lines that differ most, with how much more the proposed grind costs there."""


class Share(Model):
    """A part of the net price as a customer sees it, overhead and margin spread over it."""

    label: str
    amount: Decimal


class Price(Model):
    """What an order costs."""

    currency: str
    minor_digits: int
    """Decimals of the smallest coin."""
    pieces: int
    lines: tuple[Line, ...]
    shares: tuple[Share, ...]
    """They add to `net`."""
    net: Decimal
    """Before tax."""
    tax: Decimal
    total: Decimal
    each: Decimal
    """Total over pieces, rounded; the total is what counts."""
    deposit_percent: Decimal = Decimal(0)
    deposit: Decimal = Decimal(0)
    """Of the total, on order; 0 where the shop asks for none."""
    minutes: Decimal
    """Working time of the whole order."""
    work: tuple[Worked, ...]
    against: tuple[Against, ...]
    shop_values: Literal["invented", "own"]
    warnings: tuple[str, ...] = ()
    """What stands between this price and the blade."""


class Order(Model):
    """What is ordered besides the blade itself; None: none of it, or the shop's first finish."""

    pieces: Annotated[int, Field(ge=1, le=10_000)] = 1
    finish: str | None = None
    handle: str | None = None
    sheath: str | None = None
    shipping: str | None = None
    customer: OneLine = ""
    reference: OneLine = ""
    """The customer's own."""


UNSAVED = 0
"""Number of a quote that is in no book."""
SCHEMA: Literal["bevelwright.quote/1"] = "bevelwright.quote/1"
Status = Literal["draft", "sent", "accepted", "declined", "done", "superseded"]
NEXT: dict[Status, tuple[Status, ...]] = {
    "draft": ("sent", "accepted", "declined"),
    "sent": ("accepted", "declined", "draft"),
    "accepted": ("done", "declined", "sent"),
    "declined": ("draft",),
    "done": ("accepted",),
    "superseded": ("accepted", "draft"),
}
"""What may become of a quote; a step that was a mistake can be taken back. What supersedes one is that another of its
revisions is accepted."""


class Documents(Model):
    """What the customer got."""

    document: Document
    """The quote."""
    care: Document


class Quote(Model):
    """A quote as it was given, frozen: nothing in it changes with rules, rates or programs.

    What is stored of it is read by `shop.stored`: a new key here, or in any model below, needs a default.
    """

    schema_: Literal["bevelwright.quote/1"] = SCHEMA
    number: int
    revision: int
    made: date
    valid_until: date
    order: Order
    title: str
    """The brief's, or its tasks."""
    brief: Brief
    """As it was asked."""
    answer: Answer
    """With the versions of packs and plug-ins that gave it."""
    shop: Shop
    price: Price
    document: Document
    """What the customer got."""
    care: Document

    @property
    def name(self) -> str:
        """Number and revision: 12, then 12.2, 12.3."""
        return named(self.number, self.revision)

    def as_json(self) -> dict[str, Any]:
        """The quote as JSON data, `schema` first."""
        data = self.model_dump(mode="json", by_alias=True)
        return {"schema": data.pop("schema_"), **data}


def named(number: int, revision: int) -> str:
    """How a quote is called: its number, and from the second revision on the revision behind a dot.

    >>> named(12, 1), named(12, 3), named(UNSAVED, 1)
    ('12', '12.3', 'draft')
    """
    if number == UNSAVED:
        return "draft"
    return str(number) if revision == 1 else f"{number}.{revision}"


def same_customer(one: str, other: str) -> bool:
    """Whether two names may be one customer's: they differ in case and spaces alone, or one of them is not named yet.

    >>> same_customer("Ann  Lee", "ann lee"), same_customer("", "Ann"), same_customer("Ann", "Bo")
    (True, True, False)
    """
    first, second = (" ".join(name.casefold().split()) for name in (one, other))
    return not first or not second or first == second
