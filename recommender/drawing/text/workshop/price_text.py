"""A price as the maker reads it: every line with quantity, rate and where both come from."""

from __future__ import annotations

from decimal import Decimal

from recommender.drawing.text.text_page import TextPage
from recommender.models.workshop.quote import Against, Line, Price
from recommender.models.workshop.rate_words import in_words, rate_words
from recommender.text import plural

_ONE = {"belts": "belt", "batches": "batch", "pieces": "piece"}


def price_text(price: Price, title: str, *, width: int = 80) -> str:
    """Write a price line by line, with what other grinds would cost."""
    page = TextPage(width)
    page.line(f"Price: {title}")
    page.gap()
    price_part(page, price)
    return page.text()


def price_part(page: TextPage, price: Price) -> None:
    """Add every line, the totals, and what other grinds would cost."""
    for warning in price.warnings:
        page.line(f"Mind: {warning}.", "  ", "  ")
    for line in price.lines:
        if line.group == "tax":
            _total(page, "before tax", price.net, price)
        _line(page, line, price)
    _total(page, f"total for {plural(price.pieces, 'piece')}", price.total, price)
    if price.pieces > 1:
        _total(page, "each", price.each, price)
    if price.deposit:
        _total(page, f"deposit on order, {price.deposit_percent} %", price.deposit, price)
        _total(page, "rest", price.total - price.deposit, price)
    page.line(f"{price.minutes} minutes of work in it.", "  ", "  ")
    if price.shop_values == "invented":
        page.line(
            "Every rate is invented: these are the values shipped to show the form. `bevelwright shop new` writes a "
            "shop.toml of your own.",
            "  ",
            "  ",
        )
    _others(page, price)


def totals(price: Price) -> str:
    """Write what it comes to in one line."""
    each = f", {money(price.each, price)} each" if price.pieces > 1 else ""
    invented = " (rates invented)" if price.shop_values == "invented" else ""
    before = f"{money(price.net, price)} before tax"
    return f"Total {money(price.total, price)}{each}{invented}; {before}, {price.minutes} min of work"


def money(amount: Decimal | int, price: Price) -> str:
    """Write an amount in the price's currency.

    >>> from types import SimpleNamespace
    >>> money(Decimal("1234.5"), SimpleNamespace(currency="EUR", minor_digits=2))
    '1,234.50 EUR'
    """
    return f"{amount:,.{price.minor_digits}f} {price.currency}"


def _line(page: TextPage, line: Line, price: Price) -> None:
    amount = f"{line.amount:,.{price.minor_digits}f}"
    page.spread(f"{line.label}: {worked(line)}", amount)
    how = ": ".join(part for part in (rate_words(line.rate_from), in_words(line.how)) if part)
    page.line(how, "    ", "    ")


def worked(line: Line) -> str:
    """Write quantity and rate, from which the amount can be worked.

    >>> from types import SimpleNamespace as Some
    >>> worked(Some(quantity=Decimal("24.5"), unit="min", rate=Decimal("42.00"), per=Decimal(60)))
    '24.5 min at 42.00/h'
    >>> worked(Some(quantity=Decimal(1), unit="pieces", rate=Decimal("14.00"), per=Decimal(1)))
    '1 piece at 14.00 a piece'
    """
    if line.unit == "%":
        return f"{line.quantity} % of {line.rate:,}"
    one = _ONE.get(line.unit, line.unit)
    rate = f"{line.rate:,}/h" if line.unit == "min" else f"{line.rate:,} a {one}"
    return f"{line.quantity} {one if line.quantity == 1 else line.unit} at {rate}"


def _total(page: TextPage, label: str, amount: Decimal, price: Price) -> None:
    page.spread(label, money(amount, price))


def _others(page: TextPage, price: Price) -> None:
    if not price.against:
        return
    page.heading("What the other grinds would cost")
    for other in sorted(price.against, key=lambda a: a.total):
        page.row(other.grind_label, _compared(other, price))


def _compared(other: Against, price: Price) -> str:
    gap = -other.dearer
    text = money(other.total, price)
    if gap:
        text += f", {money(abs(gap), price)} {'more' if gap > 0 else 'less'}"
    because = [f"{label} {-by:+,.{price.minor_digits}f}" for label, by in other.because]
    return f"{text}: {', '.join(because)}" if because else text
