"""The price of an order: every line a quantity times a rate of the shop's, rounded, and the lines add to the total."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal
from typing import Any, Literal, NamedTuple, TypeVar

from recommender.errors import InputError
from recommender.geometry.blade import Blade
from recommender.models.answer.proposal import Proposal
from recommender.models.workshop.quote import Against, Group, Line, Order, Price, Share, Worked
from recommender.models.workshop.rate_words import rate_words
from recommender.models.workshop.shop import Finish, Part, Shipping, Shop
from recommender.shop.price.work import Operation, Work, fitting, work
from recommender.text import plural, shorten

HOUR = Decimal(60)
HUNDRED = Decimal(100)
ONE = Decimal(1)
MOST_REASONS = 3
SAME_WHEEL_MM = 0.5
"""Wheels that differ by less are one."""
DIGITS = {"min": 1, "kg": 3, "belts": 2, "batches": 3}
"""Decimals of reckoned quantities."""
Offer = TypeVar("Offer", Part, Finish, Shipping)


def rounded(value: Decimal, digits: int) -> Decimal:
    """Round half up, as money is rounded by hand.

    >>> rounded(Decimal("1.005"), 2), rounded(Decimal("2.5"), 0)
    (Decimal('1.01'), Decimal('3'))
    """
    return value.quantize(ONE.scaleb(-digits), rounding=ROUND_HALF_UP)


def quantity(value: float, unit: str) -> Decimal:
    """A reckoned quantity as it stands on its line, so that every line can be worked by hand."""
    return rounded(Decimal(repr(float(value))), DIGITS[unit])


def price(blades: Sequence[tuple[Proposal, Blade]], steel: str, order: Order, shop: Shop) -> Price:
    """Price an order for the first of some blades, and what the others would cost. Raises InputError, GeometryError."""
    priced = [_lines(p, blade, steel, order, shop) for p, blade in blades]
    own, done = priced[0]
    digits = shop.business.minor_digits
    net, tax = _sum(own, but="tax"), _sum(own, only="tax")
    total = net + tax
    return Price(
        currency=shop.business.currency,
        minor_digits=digits,
        pieces=order.pieces,
        lines=tuple(own),
        shares=_shares_of(own, digits),
        net=net,
        tax=tax,
        total=total,
        each=rounded(total / order.pieces, digits),
        deposit_percent=shop.business.deposit_percent,
        deposit=rounded(total * shop.business.deposit_percent / 100, digits),
        minutes=sum((line.quantity for line in own if line.unit == "min"), Decimal(0)),
        work=tuple(_worked(task) for task in done.tasks),
        against=tuple(_against(p, own, lines) for (p, _), (lines, _) in zip(blades[1:], priced[1:], strict=True)),
        shop_values=shop.values,
        warnings=tuple(_warnings(blades[0][0], shop)),
    )


def _warnings(p: Proposal, shop: Shop) -> Iterator[str]:
    wheels = shop.equipment.wheels_mm
    if p.wheel_diameter_mm is not None and not any(abs(d - p.wheel_diameter_mm) <= SAME_WHEEL_MM for d in wheels):
        have = ", ".join(f"{d:g}" for d in wheels)
        instead = (
            f": with its wheels in the brief ({have} mm) the answer is a blade that they can grind" if have else ""
        )
        yield f"the shop has no contact wheel of {p.wheel_diameter_mm:g} mm{instead}"


def _sum(lines: Sequence[Line], *, only: Group | None = None, but: Group | None = None) -> Decimal:
    chosen = (line.amount for line in lines if (only is None or line.group == only) and line.group != but)
    return sum(chosen, Decimal(0))


def _lines(p: Proposal, blade: Blade, steel: str, order: Order, shop: Shop) -> tuple[list[Line], Work]:
    finish, handle, sheath, shipping = ordered(order, shop)
    if finish is None:
        raise InputError(
            "every blade is finished somehow", key="finish", expected=f"one of {', '.join(f.id for f in shop.finishes)}"
        )
    done = work(p, blade, shop, finish)
    bill = _Bill(shop, order.pieces)
    _material(bill, done, steel)
    _labour(bill, done)
    _belts(bill, done)
    _hardening(bill)
    fittings: list[Operation] = []
    parts: tuple[tuple[Literal["handle", "sheath"], Part | None], ...] = (("handle", handle), ("sheath", sheath))
    for kind, part in parts:
        if part is not None:
            _part(bill, kind, part)
            fittings.append(fitting(kind, part))
    _shares(bill, shipping, _parcels(done.steel_g, shipping, order.pieces))
    return bill.lines, replace(done, tasks=(*done.tasks, *fittings))


class Ordered(NamedTuple):
    """What is ordered besides the blade, as the shop offers it."""

    finish: Finish | None
    handle: Part | None
    sheath: Part | None
    shipping: Shipping | None


def ordered(order: Order, shop: Shop) -> Ordered:
    """An order's offers; the first finish where none is named. Raises InputError for what the shop does not have."""
    return Ordered(
        _offer(shop.finishes, order.finish or shop.finishes[0].id, "finish"),
        _offer(shop.handles, order.handle, "handle"),
        _offer(shop.sheaths, order.sheath, "sheath"),
        _offer(shop.shipping, order.shipping, "shipping"),
    )


def _worked(task: Operation) -> Worked:
    return Worked(
        id=task.id,
        label=task.label,
        set_up_minutes=task.set_up_minutes,
        minutes=round(task.minutes, 3),
        amount=round(task.amount, 3),
        unit=task.unit,
        rate_from=task.rate_from,
    )


def _offer(offers: Sequence[Offer], wanted: str | None, kind: str) -> Offer | None:
    """One of the shop's offers by id, None where none is wanted. Raises InputError for one that it does not have."""
    if wanted is None or wanted == "none":
        return None
    found = next((offer for offer in offers if offer.id == wanted), None)
    if found is None:
        ids = [offer.id for offer in offers]
        raise InputError(
            f"the shop has no {kind} {shorten(wanted)}",
            expected=f"one of {', '.join(ids)}" if ids else "none: the shop lists none",
            given=wanted,
            valid=ids,
        )
    return found


class _Bill:
    """Lines as they come in, each rounded by itself."""

    def __init__(self, shop: Shop, pieces: int) -> None:
        self.shop, self.pieces = shop, pieces
        self.lines: list[Line] = []

    def add(
        self,
        id_: str,
        label: str,
        group: Group,
        count: Decimal,
        unit: str,
        rate: Decimal,
        rate_from: str,
        how: str,
        per: Decimal = ONE,
    ) -> None:
        amount = rounded(count * rate / per, self.shop.business.minor_digits)
        self.lines.append(
            Line(
                id=id_,
                label=label,
                group=group,
                quantity=count,
                unit=unit,
                rate=rate,
                per=per,
                amount=amount,
                rate_from=rate_from,
                how=how,
            )
        )

    def minutes(self, id_: str, label: str, group: Group, minutes: float, how: str) -> None:
        count = quantity(minutes, "min")
        if count:
            rate = self.shop.business.labour_per_hour
            self.add(id_, label, group, count, "min", rate, "business.labour_per_hour", how, HOUR)

    def percent(self, id_: str, label: str, group: Group, share: Decimal, of: Decimal, rate_from: str) -> None:
        if share:
            self.add(id_, label, group, share, "%", of, rate_from, "of what stands above", HUNDRED)


def _material(bill: _Bill, done: Work, steel: str) -> None:
    material, bar = bill.shop.material, done.bar
    own = steel in material.steel_price_per_kg
    key = f"material.steel_price_per_kg.{steel}" if own else "material.price_per_kg"
    rate = material.steel_price_per_kg[steel] if own else material.price_per_kg
    out_of_it = f"{plural(bar.blanks_per_bar, 'blank')} out of it, waste shared out"
    cut = out_of_it if bar.in_shop else "cut to size: larger than any bar that the shop lists"
    how = f"bar {bar.thickness_mm:g} x {bar.width_mm:g} x {bar.length_mm:g} mm, {cut}"
    bill.add("material", "steel", "blade", quantity(bar.steel_per_blank_kg, "kg") * bill.pieces, "kg", rate, key, how)


def _labour(bill: _Bill, done: Work) -> None:
    for task in done.tasks:
        total = task.set_up_minutes + task.minutes * bill.pieces
        once = f"{task.set_up_minutes:g} min to set up, " if task.set_up_minutes else ""
        each = f"{task.minutes:.1f} min" + (" a blade" if bill.pieces > 1 else "")
        bill.minutes(
            task.id, task.label, "blade", total, f"{once}{each}: {task.how}, by the {rate_words(task.rate_from)}"
        )


def _belts(bill: _Bill, done: Work) -> None:
    for place, grit in enumerate(bill.shop.grits):
        minutes = sum(task.minutes for task in done.tasks if task.grit is grit) * bill.pieces
        worn = quantity(minutes / grit.lasts_minutes, "belts")
        if worn:
            how = f"{minutes:.1f} min of {grit.lasts_minutes:g} that one lasts"
            label = f"{grit.grade} belts worn"
            bill.add(
                f"wear-{grit.grade.lower()}",
                label,
                "blade",
                worn,
                "belts",
                grit.belt_price,
                f"grits.{place}.belt_price",
                how,
            )


def _hardening(bill: _Bill) -> None:
    heat = bill.shop.heat_treatment
    if heat.share_batch:
        batches = quantity(bill.pieces / heat.blades_per_batch, "batches")
        how = f"{plural(bill.pieces, 'blade')} of {heat.blades_per_batch} in a batch"
    else:
        batches = Decimal(-(-bill.pieces // heat.blades_per_batch))
        how = f"whole batches of {heat.blades_per_batch}"
    bill.add(
        "heat-treatment",
        "hardening and tempering",
        "blade",
        batches,
        "batches",
        heat.batch_price,
        "heat_treatment.batch_price",
        how,
    )


def _part(bill: _Bill, kind: Any, part: Part) -> None:
    table = f"{kind}s.{part.id}"
    pieces = Decimal(bill.pieces)
    bill.add(f"{kind}-material", part.label, kind, pieces, "pieces", part.material, f"{table}.material", "material")
    minutes = part.minutes * bill.pieces
    how = f"{part.minutes:g} min each, the {rate_words(f'{table}.minutes')}"
    bill.minutes(f"{kind}-work", f"{kind} work", kind, minutes, how)


class _Parcels(NamedTuple):
    number: int
    how: str


def _parcels(steel_g: float, shipping: Shipping | None, pieces: int) -> _Parcels:
    """How many parcels an order makes: as many pieces in each as it may weigh, one at least."""
    if shipping is None:
        return _Parcels(0, "")
    each_kg = (steel_g + shipping.extra_g_per_piece) / 1000
    most = max(1, int(shipping.heaviest_kg / each_kg)) if each_kg else pieces
    how = f"{plural(pieces, 'piece')} of about {each_kg:.2f} kg, at most {shipping.heaviest_kg:g} kg in a parcel"
    return _Parcels(-(-pieces // most), how)


def _shares(bill: _Bill, shipping: Shipping | None, parcels: _Parcels) -> None:
    business = bill.shop.business
    costs = _sum(bill.lines)
    bill.percent("overhead", "overhead", "shop", business.overhead_percent, costs, "business.overhead_percent")
    bill.percent("margin", "margin", "shop", business.margin_percent, _sum(bill.lines), "business.margin_percent")
    if shipping is not None and shipping.price:
        bill.add(
            "shipping",
            shipping.label,
            "delivery",
            Decimal(parcels.number),
            "parcels" if parcels.number > 1 else "parcel",
            shipping.price,
            f"shipping.{shipping.id}.price",
            parcels.how,
        )
    net = _sum(bill.lines)
    bill.percent("tax", business.tax_name, "tax", business.tax_percent, net, "business.tax_percent")


def _against(p: Proposal, own: Sequence[Line], other: Sequence[Line]) -> Against:
    """Compare two prices line by line: what only one of them has counts in full."""
    mine, theirs = _sum(own), _sum(other)
    gaps: dict[str, Decimal] = {}
    for sign, lines in ((1, own), (-1, other)):
        for line in lines:
            if line.group not in ("shop", "tax"):
                kind = _kind(line)
                gaps[kind] = gaps.get(kind, Decimal(0)) + sign * line.amount
    telling = sorted(((kind, gap) for kind, gap in gaps.items() if gap), key=lambda item: -abs(item[1]))
    return Against(
        grind=p.grind,
        grind_label=p.grind_label,
        total=theirs,
        dearer=mine - theirs,
        because=tuple(telling[:MOST_REASONS]),
    )


def _kind(line: Line) -> str:
    """What a line is about, where grinds differ in how it is split."""
    for start, kind in (("primary", "primary grind"), ("belt-", "finer belts"), ("wear-", "belts worn")):
        if line.id.startswith(start):
            return kind
    return line.label


_SEEN: tuple[tuple[Group, str], ...] = (("blade", "blade"), ("handle", "handle"), ("sheath", "sheath"))


def _shares_of(lines: Sequence[Line], digits: int) -> tuple[Share, ...]:
    """Net price by what the customer gets; overhead and margin spread in proportion, to the last coin."""
    costs = [(label, _sum(lines, only=group)) for group, label in _SEEN]
    costs = [(label, cost) for label, cost in costs if cost]
    spread = _spread(_sum(lines, only="shop"), [cost for _, cost in costs], digits)
    shares = [Share(label=label, amount=cost + part) for (label, cost), part in zip(costs, spread, strict=True)]
    delivery = [Share(label=line.label, amount=line.amount) for line in lines if line.group == "delivery"]
    return (*shares, *delivery)


def _spread(amount: Decimal, weights: Sequence[Decimal], digits: int) -> list[Decimal]:
    """Split an amount in proportion to weights, rounded so that the parts add to it: what is over goes to the largest.

    >>> _spread(Decimal("1.00"), [Decimal(1)] * 3, 2)
    [Decimal('0.34'), Decimal('0.33'), Decimal('0.33')]
    """
    whole = sum(weights, Decimal(0))
    if not whole:
        return [Decimal(0)] * len(weights)
    parts = [rounded(amount * weight / whole, digits) for weight in weights]
    largest = max(range(len(weights)), key=lambda k: weights[k])
    parts[largest] += amount - sum(parts, Decimal(0))
    return parts
