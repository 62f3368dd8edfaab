"""A shop's rates and offers, and rates fitted to past jobs, as text."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from recommender.drawing.text.text_page import TextPage
from recommender.models.workshop.book import Fitted
from recommender.models.workshop.rate_words import rate_words
from recommender.models.workshop.shop import PIECES, Shop
from recommender.text import capital, nearest, plural

_ROOM = 24


def shop_rates_text(shop: Shop, file: str, steels: Collection[str], *, width: int = 80) -> str:
    """Write what quotes are reckoned with, of the steels known, and the ids of what can be ordered."""
    page, business, grinding = TextPage(width), shop.business, shop.grinding
    page.line(f"{business.name} ({file})")
    if shop.values == "invented":
        page.line("Every value is invented: `bevelwright shop new` writes a file to put your own into.")
    page.gap()
    money = business.currency
    page.row("labour", f"{business.labour_per_hour} {money} an hour", _ROOM)
    page.row("on top", f"{business.overhead_percent} % overhead, {business.margin_percent} % margin", _ROOM)
    page.row("tax", f"{business.tax_percent} % {business.tax_name}", _ROOM)
    if business.deposit_percent:
        page.row("deposit", f"{business.deposit_percent} % of the total on order", _ROOM)
    page.row("quotes hold", plural(business.valid_days, "day"), _ROOM)
    own = ", ".join(f"{steel} {price}" for steel, price in shop.material.steel_price_per_kg.items())
    page.row("steel", f"{shop.material.price_per_kg} {money} a kg" + (f"; {own}" if own else ""), _ROOM)
    for steel in shop.material.steel_price_per_kg:
        if steel not in steels:
            close = nearest(steel, steels)
            page.row("", f"no loaded pack knows a steel {steel}" + (f"; nearest: {close}" if close else ""), _ROOM)
    for name in ("platen", "wheel", "slack_belt"):
        way = getattr(grinding, name)
        page.row(
            name.replace("_", " "), f"{way.mm3_per_min:g} mm³ a minute, {way.set_up_minutes:g} min to set up", _ROOM
        )
    page.row("hardened", f"{100 * grinding.hardened_share:g} % of that", _ROOM)
    page.row("wheels", _wheels(shop), _ROOM)
    for grit in shop.grits:
        face = f"{grit.mm2_per_min:g} mm² a minute, " if grit.mm2_per_min is not None else ""
        page.row(f"{grit.grade} belt", f"{face}{grit.belt_price} {money}, lasts {grit.lasts_minutes:g} min", _ROOM)
    heat = shop.heat_treatment
    page.row("heat treatment", f"{heat.batch_price} {money} a batch of {heat.blades_per_batch}", _ROOM)
    page.gap()
    page.line("To order by id:")
    page.row("--finish", _ids((f.id, f.label) for f in shop.finishes), _ROOM)
    page.row("--handle", _ids((part.id, f"{part.label}, {part.material} {money}") for part in shop.handles), _ROOM)
    page.row("--sheath", _ids((part.id, f"{part.label}, {part.material} {money}") for part in shop.sheaths), _ROOM)
    page.row("--shipping", _ids((way.id, f"{way.label}, {way.price} {money}") for way in shop.shipping), _ROOM)
    return page.text()


def _wheels(shop: Shop) -> str:
    return ", ".join(f"{size:g}" for size in shop.equipment.wheels_mm) + " mm" if shop.equipment.wheels_mm else "none"


def _ids(offers: Iterable[tuple[str, str]]) -> str:
    return "; ".join(f"{id_} ({label})" for id_, label in offers) or "the shop lists none"


def fits_text(found: Sequence[Fitted], *, width: int = 80) -> str:
    """Write fitted rates beside those of the shop."""
    page = TextPage(width)
    if not found:
        page.line(
            "No times yet. `bevelwright book time NUMBER WORK=MINUTES` notes some, or --times FILE.csv gives them "
            "(columns rate, amount, minutes)."
        )
        return page.text()
    page.line("Rates from past jobs, with one standard error either way. shop.toml stays yours to edit.")
    for fitted in found:
        page.gap()
        page.line(f"{capital(rate_words(fitted.rate))} ({fitted.rate}), from {plural(fitted.jobs, 'job')}")
        page.row("rate", _rate(fitted), _ROOM)
        if fitted.set_up_minutes is not None:
            page.row("set-up", _set_up(fitted), _ROOM)
        if fitted.strays_minutes is not None:
            page.row("a job strays by", f"{fitted.strays_minutes:.1f} min", _ROOM)
    return page.text()


def _rate(fitted: Fitted) -> str:
    if fitted.unit == PIECES:
        return _minutes_each(fitted)
    unit = f"{fitted.unit} a minute"
    if fitted.per_min is None:
        return f"none: these times do not grow with the amount (shop.toml has {fitted.now_per_min:g} {unit})"
    if fitted.low is None:
        band = " (one job says nothing of the spread)"
    else:
        band = f" ({fitted.low:.3g} to {f'{fitted.high:.3g}' if fitted.high is not None else 'any'})"
    return f"{fitted.per_min:.3g} {unit}{band}; shop.toml has {fitted.now_per_min:g}"


def _minutes_each(fitted: Fitted) -> str:
    """As shop.toml has it: by the piece, not by the minute."""
    now = f"shop.toml has {1 / fitted.now_per_min:g}"
    if fitted.per_min is None:
        return f"none: these times do not grow with the pieces ({now})"
    if fitted.low is None or fitted.high is None:
        band = " (one job says nothing of the spread)" if fitted.low is None else ""
    else:
        band = f" ({1 / fitted.high:.3g} to {1 / fitted.low:.3g})"
    return f"{1 / fitted.per_min:.3g} min each{band}; {now}"


def _set_up(fitted: Fitted) -> str:
    if not fitted.set_up_fitted:
        return f"{fitted.set_up_minutes:g} min taken from shop.toml: too few jobs, or too much alike, to tell it apart"
    return f"{fitted.set_up_minutes:.1f} min (± {fitted.set_up_spread:.1f}); shop.toml has {fitted.now_set_up:g}"
