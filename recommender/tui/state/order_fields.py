"""The order in the quote form: what can be chosen, how a row moves, and the order that it says.

A field's value is text, as in the form of the brief.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from recommender.models.workshop.quote import Order, same_customer
from recommender.models.workshop.shop import Shop

NONE = "none"
PIECES = "pieces"
MOST_PIECES = 10_000
_CHOSEN = ("finish", "handle", "sheath", "shipping")


@dataclass
class OrderInHand:
    """An order as it is written, and what saving it makes: a new quote, or the next revision of one."""

    texts: dict[str, str] = field(default_factory=dict)
    """Its fields."""
    revises: int | None = None
    """Number of the quote that it was taken from, to revise it."""
    customers: frozenset[str] = frozenset()
    """Who is named in that one."""
    is_saved: bool = False
    """It is in the book, and nothing of it has been changed since."""

    @property
    def is_of_that_customer(self) -> bool:
        """Whether it may still be a revision: it names nobody else than the quote that it was taken from."""
        own = self.texts.get("customer", "")
        return not self.customers or any(same_customer(own, customer) for customer in self.customers)

    @property
    def revision_of(self) -> int | None:
        """Number of the quote whose next revision it becomes; None for a new quote."""
        return self.revises if self.is_of_that_customer else None


def offers(shop: Shop) -> dict[str, list[tuple[str, str]]]:
    """What can be chosen, (id, words) by kind; finishes have no "none"."""
    none = (NONE, NONE)
    return {
        "finish": [(finish.id, finish.label) for finish in shop.finishes],
        "handle": [none, *((part.id, part.label) for part in shop.handles)],
        "sheath": [none, *((part.id, part.label) for part in shop.sheaths)],
        "shipping": [none, *((way.id, way.label) for way in shop.shipping)],
    }


def as_left(kept: dict[str, str]) -> dict[str, str]:
    """An order of an earlier session; a number of pieces that is none is left out."""
    pieces = kept.get(PIECES, "1")
    sound = pieces.isascii() and pieces.isdigit() and 1 <= int(pieces) <= MOST_PIECES
    return {name: text for name, text in kept.items() if name != PIECES or sound}


def value_after(values: dict[str, str], shop: Shop, name: str, by: int) -> str:
    """A row's value so many steps on; 0 puts it back to the first."""
    if name == PIECES:
        return str(min(max(int(values.get(PIECES, "1")) + by, 1), MOST_PIECES) if by else 1)
    ids = [id_ for id_, _ in offers(shop)[name]]
    at = ids.index(values[name]) if values.get(name) in ids else 0
    return ids[(at + by) % len(ids)] if by else ids[0]


def order_of(values: dict[str, str]) -> Order:
    """The order that the form says."""
    chosen = {name: values[name] for name in _CHOSEN if values.get(name, NONE) != NONE}
    return Order(
        pieces=int(values.get(PIECES, "1")),
        customer=values.get("customer", ""),
        reference=values.get("reference", ""),
        **chosen,
    )
