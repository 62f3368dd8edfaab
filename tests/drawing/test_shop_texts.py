"""Prices, the book, rates and differences as text: no line wider than the page, every amount there, nothing obeyed.

Source: the page's own width; Unicode's control and bidi characters.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from recommender.drawing.text.workshop.price_text import price_text
from recommender.drawing.text.workshop.quote_book_text import differences_text, entries_text, quote_text
from recommender.drawing.text.workshop.shop_rates_text import fits_text, shop_rates_text
from recommender.models.workshop.book import Difference, Entry, Event
from recommender.models.workshop.quote import Order
from recommender.models.workshop.rate_words import rate_words
from recommender.shop.rates.calibration import Job, fits

WIDTHS = (40, 80, 100)
LONG = "Hackenschmied & Töchter, Werkzeuge und Messer seit langer Zeit \x1b[31m\u202e" + "x" * 60


def fitting(write) -> None:
    for width in WIDTHS:
        told = write(width)
        assert told.endswith("\n")
        wide = [line for line in told.splitlines() if len(line) > width]
        assert not wide, (width, wide[:2])
        assert not {"\x1b", "\u202e"} & set(told)


@pytest.fixture(scope="module")
def quote(service, answered, shop):
    scenario = answered["guide-prying-tip"]
    order = Order(pieces=120, handle="laminate", sheath="leather", shipping="parcel", customer=LONG, reference=LONG)
    return service.workshop.quote(scenario.brief, scenario.answer, order, shop, date(2026, 3, 1))(123, 45)


def test_price(quote) -> None:
    fitting(lambda width: price_text(quote.price, quote.title, width=width))
    told = price_text(quote.price, quote.title)
    for line in quote.price.lines:
        assert f"{line.amount:,.2f}" in told
        assert rate_words(line.rate_from) in " ".join(told.split())
    for amount in (quote.price.net, quote.price.total, quote.price.each):
        assert f"{amount:,.2f} EUR" in told
    for other in quote.price.against:
        assert f"{other.total:,.2f} EUR" in " ".join(told.split())


def test_one_quote(quote) -> None:
    history = [Event("2026-03-01", "draft"), Event("2026-03-02", "sent")]
    entry = Entry(123, 45, "2026-03-01", "2026-03-31", "sent", LONG, LONG, LONG, "convex", "EUR", "1.00", "7.2")
    fitting(lambda width: quote_text(quote, entry, history, width=width))
    told = " ".join(quote_text(quote, entry, history).split())
    assert "Quote 123.45: sent" in told
    assert "Its documents call it 7.2" in told
    p = quote.answer.proposal
    assert f"{p.edge_angle_per_side_deg:g}° per side, {p.edge_angle_included_deg:g}° included" in told
    assert "draft 2026-03-01, sent 2026-03-02" in told


def test_the_list() -> None:
    name = LONG.replace("\x1b", "").replace("\u202e", "")
    entries = [
        Entry(n, r, "2026-03-01", "2026-03-31", "accepted", name, name, name, "saber convex", "EUR", "123456789.00")
        for n, r in ((1, 1), (12345, 67))
    ]
    fitting(lambda width: entries_text(entries, width=width))
    assert "12345.67" in entries_text(entries)
    fitting(lambda width: entries_text([], width=width))


def test_rates(shop, service) -> None:
    fitting(lambda width: shop_rates_text(shop, "x" * 120, service.knowledge.steels, width=width))
    bare = shop.model_copy(update={"equipment": shop.equipment.model_copy(update={"wheels_mm": ()})})
    assert "wheels                    none" in shop_rates_text(bare, "x", service.knowledge.steels)
    found = fits([Job("grinding.platen", a, 10 + a / 400 + (a % 7)) for a in (400, 800, 2000, 4000)], shop)
    fitting(lambda width: fits_text(found, width=width))
    fitting(lambda width: fits_text([], width=width))


def test_differences() -> None:
    found = [Difference("grind", "saber convex", "full flat"), Difference(LONG, LONG, "none")]
    fitting(lambda width: differences_text("12.2", found, width=width))


def test_amounts_in_a_currency_without_small_coins(service, answered, shop) -> None:
    business = shop.business.model_copy(
        update={"currency": "JPY", "minor_digits": 0, "labour_per_hour": Decimal(6000), "margin_percent": Decimal(15)}
    )
    answer = answered["left-handed-hunter"].answer
    found = service.workshop.price(answer, Order(), shop.model_copy(update={"business": business}))
    told = price_text(found, "x")
    assert f"{found.total:,} JPY" in told
    assert all(line.amount == int(line.amount) for line in found.lines)
    assert all(gap == int(gap) for other in found.against for _, gap in other.because)
