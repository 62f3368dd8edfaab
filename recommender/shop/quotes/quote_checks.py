"""What a quote that comes from outside has to keep to, besides its keys: printable text, sizes, sums that add up."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import ROUND_HALF_UP, Decimal, localcontext
from typing import Any

from pydantic import BaseModel

from recommender.errors import InputError
from recommender.models.workshop.quote import Price, Quote
from recommender.text import clean, shorten

MOST_MONEY = Decimal(10) ** 12
LEAST_EXPONENT = -30
"""Of any decimal number: none has more places behind the point."""
DIGITS = 60
"""Reckoned with: products of what is allowed are exact."""


def check_texts(data: Any, file: str, key: str = "") -> None:
    """Refuse JSON with text that a terminal would obey rather than print. Raises InputError."""
    if isinstance(data, dict):
        for name, value in data.items():
            _check_text(name, file, key)
            check_texts(value, file, f"{key}.{name}" if key else name)
    elif isinstance(data, list):
        for place, value in enumerate(data):
            check_texts(value, file, f"{key}.{place}")
    elif isinstance(data, str):
        _check_text(data, file, key)


def _check_text(text: str, file: str, key: str) -> None:
    if clean(text) != text:
        raise InputError(
            f"{shorten(text)} cannot be printed",
            file=file,
            key=shorten(key, 120).strip("'\"") or None,
            expected="text without control characters and overrides of its direction",
        )


def check_quote(quote: Quote, file: str) -> None:
    """Refuse a quote whose numbers are out of range or do not add up. Raises InputError, located."""
    check_numbers(quote, file)
    if quote.valid_until < quote.made:
        raise InputError(
            f"{quote.valid_until} does not fit", file=file, key="valid_until", expected=f"{quote.made} or later"
        )
    with localcontext() as context:
        context.prec = DIGITS
        for key, given, expected in _sums(quote):
            if given != expected:
                raise InputError(f"{shorten(str(given))} does not fit", file=file, key=key, expected=str(expected))


def check_numbers(quote: Quote, file: str) -> None:
    """Refuse a quote with amounts that cannot be reckoned with or shown. Raises InputError, located."""
    for key, number in _decimals(quote, ""):
        fine = number.is_finite() and -MOST_MONEY <= number <= MOST_MONEY
        exponent = number.as_tuple().exponent
        if not (fine and isinstance(exponent, int) and exponent >= LEAST_EXPONENT):
            raise InputError(
                f"{shorten(str(number))} does not fit",
                file=file,
                key=key,
                expected=f"at most {MOST_MONEY:,}, with at most {-LEAST_EXPONENT} decimals",
            )


def _decimals(value: object, key: str) -> Iterator[tuple[str, Decimal]]:
    """Every decimal number in a model by its key, dotted."""
    if isinstance(value, Decimal):
        yield key, value
    elif isinstance(value, BaseModel):
        for name in type(value).model_fields:
            yield from _decimals(getattr(value, name), f"{key}.{name}" if key else name)
    elif isinstance(value, dict):
        for name, item in value.items():
            yield from _decimals(item, f"{key}.{name}")
    elif isinstance(value, tuple):
        for place, item in enumerate(value):
            yield from _decimals(item, f"{key}.{place}")


def _sums(quote: Quote) -> Iterator[tuple[str, object, object]]:
    """What follows from something else in a quote: its key, as it is given, and as it has to be."""
    price, business = quote.price, quote.shop.business
    yield "price.currency", price.currency, business.currency
    yield "price.minor_digits", price.minor_digits, business.minor_digits
    yield "price.pieces", price.pieces, quote.order.pieces
    for place, line in enumerate(price.lines):
        key = f"price.lines.{place}"
        if line.per <= 0:
            yield f"{key}.per", line.per, "a number above 0"
        else:
            yield f"{key}.amount", line.amount, _coins(line.quantity * line.rate / line.per, price)
    yield "price.net", price.net, _sum(line.amount for line in price.lines if line.group != "tax")
    yield "price.tax", price.tax, _sum(line.amount for line in price.lines if line.group == "tax")
    yield "price.total", price.total, price.net + price.tax
    if price.shares or price.net:
        yield "price.shares", _sum(share.amount for share in price.shares), price.net
    yield "price.each", price.each, _coins(price.total / price.pieces, price)
    yield "price.deposit", price.deposit, _coins(price.total * price.deposit_percent / 100, price)
    yield "price.minutes", price.minutes, _sum(line.quantity for line in price.lines if line.unit == "min")


def _sum(amounts: Iterable[Decimal]) -> Decimal:
    return sum(amounts, Decimal(0))


def _coins(value: Decimal, price: Price) -> Decimal:
    """Rounded half up to the smallest coin, as every line is."""
    return value.quantize(Decimal(1).scaleb(-price.minor_digits), rounding=ROUND_HALF_UP)
