"""Orders worked wholly by hand: every line, its rounding, overhead, margin, tax, delivery and what the customer sees.

Source: the arithmetic in the comments, done with paper and pencil; half a coin is rounded up, line by line.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from math import floor
from types import SimpleNamespace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import recommender.shop.price.pricing as pricing
from recommender.drawing.text.workshop.price_text import price_text
from recommender.models.workshop.quote import Order, Price
from recommender.models.workshop.shop import (
    BarStock,
    Business,
    EdgeWork,
    Equipment,
    Finish,
    Grinding,
    Grit,
    HeatTreatment,
    Part,
    Shipping,
    Shop,
    Way,
)
from recommender.models.workshop.worksheet import Bar
from recommender.shop.price.work import Operation, Work

D = Decimal
PLAIN = SimpleNamespace(wheel_diameter_mm=None)
"""A blade of which the price asks no more: its work is given."""
WAY = Way(set_up_minutes=0, mm3_per_min=1)


def shop(
    currency: str = "EUR",
    digits: int = 2,
    *,
    labour: str = "40.00",
    overhead: str = "12.5",
    margin: str = "15",
    tax: str = "19",
    deposit: str = "0",
    steel: str = "20.00",
    belt: str = "5.00",
    batch: tuple[str, int, bool] = ("90.00", 8, True),
    handle: tuple[str, float] = ("14.00", 95),
    sheath: tuple[str, float] = ("3.00", 5),
    parcel: str = "14.90",
) -> Shop:
    """A shop with what a price is made of; how fast it grinds does not matter here."""
    return Shop(
        values="own",
        business=Business(
            name="A shop",
            currency=currency,
            minor_digits=digits,
            labour_per_hour=D(labour),
            overhead_percent=D(overhead),
            margin_percent=D(margin),
            tax_percent=D(tax),
            deposit_percent=D(deposit),
            valid_days=30,
        ),
        material=BarStock(
            price_per_kg=D(steel),
            steel_price_per_kg={"1084": D("12.50")},
            thicknesses_mm=(4.0,),
            widths_mm=(40.0,),
            bar_length_mm=1000,
            kerf_mm=2,
            end_waste_mm=20,
            tang_length_mm=100,
            width_allowance_mm=2,
        ),
        equipment=Equipment(jig_length_mm=200, edge_fixture_arm_mm=160),
        grinding=Grinding(
            platen=WAY, wheel=WAY, slack_belt=WAY, hardened_share=1, profile_set_up_minutes=0, profile_mm_per_min=1
        ),
        grits=(Grit(grade="P60", belt_price=D(belt), lasts_minutes=40),),
        heat_treatment=HeatTreatment(
            batch_price=D(batch[0]), blades_per_batch=batch[1], share_batch=batch[2], handling_minutes=0
        ),
        edge=EdgeWork(set_up_minutes=0, mm_per_min=1),
        finishes=(Finish(id="belt", label="belt"),),
        handles=(Part(id="wood", label="wood", material=D(handle[0]), minutes=handle[1]),),
        sheaths=(Part(id="leather", label="leather", material=D(sheath[0]), minutes=sheath[1]),),
        shipping=(Shipping(id="parcel", label="parcel", price=D(parcel)),),
    )


def work(kg: float, tasks: list[tuple[str, float, float, bool]], where: Shop) -> Work:
    """Work as (id, set-up, minutes a blade, whether it wears the belt)."""
    bar = Bar(
        thickness_mm=4,
        blank_thickness_mm=4,
        width_mm=40,
        length_mm=1000,
        blank_length_mm=200,
        blanks_per_bar=4,
        steel_per_blank_kg=kg,
        clean_up_per_side_mm=0,
        in_shop=True,
    )
    made = [
        Operation(i, i, s, m, "grinding.platen", "", grit=where.grits[0] if belt else None) for i, s, m, belt in tasks
    ]
    return Work(bar, None, tuple(made))


@pytest.fixture
def priced(monkeypatch):
    """Price an order for given work."""

    def of(where: Shop, order: Order, kg: float, *tasks: tuple[str, float, float, bool], steel: str = "o1") -> Price:
        monkeypatch.setattr(pricing, "work", lambda *_: work(kg, list(tasks), where))
        return pricing.price([(PLAIN, None)], steel, order, where)

    return of


TASKS = (("primary", 8.0, 10.25, True), ("edge", 0.0, 7.0, False))


def amounts(price: Price) -> dict[str, Decimal]:
    return {line.id: line.amount for line in price.lines}


def test_one_blade_with_handle_sheath_and_parcel(priced) -> None:
    price = priced(shop(), Order(handle="wood", sheath="leather", shipping="parcel"), 0.1234, *TASKS)
    assert amounts(price) == {
        "material": D("2.46"),  # 0.1234 kg stands as 0.123; x 20.00
        "primary": D("12.20"),  # 8 + 10.25 = 18.25, stands as 18.3 min; x 40.00 / 60 = 12.20
        "edge": D("4.67"),  # 7 x 40.00 / 60 = 4.666...
        "wear-p60": D("1.30"),  # 10.25 of 40 min = 0.25625, stands as 0.26; x 5.00
        "heat-treatment": D("11.25"),  # 1 of 8; 0.125 x 90.00
        "handle-material": D("14.00"),
        "handle-work": D("63.33"),  # 95 x 40.00 / 60 = 63.333...
        "sheath-material": D("3.00"),
        "sheath-work": D("3.33"),  # 5 x 40.00 / 60 = 3.333...
        "overhead": D("14.44"),  # blade 31.88, handle 77.33, sheath 6.33: 115.54 x 12.5 % = 14.4425
        "margin": D("19.50"),  # 129.98 x 15 % = 19.497
        "shipping": D("14.90"),
        "tax": D("31.23"),  # 149.48 + 14.90 = 164.38 x 19 % = 31.2322
    }
    assert (price.net, price.tax, price.total) == (D("164.38"), D("31.23"), D("195.61"))
    assert price.minutes == D("125.3")  # 18.3 + 7 + 95 + 5
    # Overhead and margin, 33.94, by 31.88 : 77.33 : 6.33 of 115.54: 9.3648, 22.7158, 1.8594.
    assert [(share.label, share.amount) for share in price.shares] == [
        ("blade", D("41.24")),
        ("handle", D("100.05")),
        ("sheath", D("8.19")),
        ("parcel", D("14.90")),
    ]


def test_a_deposit_is_so_much_of_the_total_rounded_as_money_is(priced) -> None:
    order = Order(handle="wood", sheath="leather", shipping="parcel")
    assert (priced(shop(), order, 0.1234, *TASKS).deposit) == 0
    half = priced(shop(deposit="50"), order, 0.1234, *TASKS)
    assert (half.total, half.deposit) == (D("195.61"), D("97.81"))  # 97.805, half up
    written = " ".join(price_text(half, "a knife").split())
    assert "deposit on order, 50 %" in written
    assert "97.81 EUR" in written
    assert "97.80 EUR" in written  # the rest


def test_three_blades_in_a_currency_without_small_coins_and_whole_batches(priced) -> None:
    where = shop(
        "JPY",
        0,
        labour="3000",
        overhead="7",
        margin="0",
        tax="10",
        steel="1250",
        belt="650",
        batch=("9000", 2, False),
    )
    price = priced(where, Order(pieces=3), 0.2, *TASKS)
    assert amounts(price) == {
        "material": D(750),  # 3 x 0.200 kg x 1250
        "primary": D(1940),  # 8 + 3 x 10.25 = 38.75, stands as 38.8 min; x 50 a minute
        "edge": D(1050),  # 21 min x 50
        "wear-p60": D(501),  # 30.75 of 40 min = 0.76875, stands as 0.77; x 650 = 500.5
        "heat-treatment": D(18000),  # three blades in batches of two: two batches
        "overhead": D(1557),  # 22 241 x 7 % = 1556.87
        "tax": D(2380),  # 23 798 x 10 % = 2379.8
    }
    assert (price.net, price.total, price.each) == (D(23798), D(26178), D(8726))
    assert [share.amount for share in price.shares] == [D(23798)]
    assert all(line.amount == line.amount.to_integral_value() for line in price.lines)


def test_what_is_over_when_shares_are_rounded_goes_to_one_of_them(priced) -> None:
    """Blade, handle and sheath of 10.00 each; 0.05 % of 30.00 is 0.015, so 0.02: a third each rounds to 0.01, thrice.

    One of them gets 0.01 less, so that the customer's lines add to 30.02.
    """
    where = shop(overhead="0.05", margin="0", tax="0", batch=("0", 8, True), handle=("10.00", 0), sheath=("10.00", 0))
    price = priced(where, Order(handle="wood", sheath="leather"), 0.5)
    assert price.net == price.total == D("30.02")
    assert sorted(share.amount for share in price.shares) == [D("10.00"), D("10.01"), D("10.01")]
    assert "tax" not in amounts(price)


def test_two_hundred_and_fifty_blades_of_a_steel_with_its_own_price(priced) -> None:
    price = priced(shop(), Order(pieces=250), 0.123, *TASKS, steel="1084")
    assert amounts(price) == {
        "material": D("384.38"),  # 30.75 kg x 12.50 = 384.375
        "primary": D("1713.67"),  # 8 + 2562.5 = 2570.5 min; x 40.00 / 60 = 1713.666...
        "edge": D("1166.67"),  # 1750 min
        "wear-p60": D("320.30"),  # 2562.5 of 40 = 64.0625, stands as 64.06
        "heat-treatment": D("2812.50"),  # 250 of 8 = 31.25 batches, others fill the last
        "overhead": D("799.69"),  # 6397.52 x 12.5 % = 799.69
        "margin": D("1079.58"),  # 7197.21 x 15 % = 1079.5815
        "tax": D("1572.59"),  # 8276.79 x 19 % = 1572.5901
    }
    assert price.total == D("9849.38")
    assert price.each == D("39.40")  # 39.39752; the total is what counts
    assert next(line for line in price.lines if line.id == "material").rate_from == "material.steel_price_per_kg.1084"


def half_up(value: Fraction, digits: int) -> Fraction:
    return Fraction(floor(value * 10**digits + Fraction(1, 2)), 10**digits)


money = st.decimals(min_value=0, max_value=10_000_000, places=3)
percents = st.decimals(min_value=0, max_value=1000, places=2)
minutes = st.floats(min_value=0, max_value=1e5, allow_nan=False)


@settings(max_examples=150, deadline=None)
@given(data=st.data(), digits=st.integers(0, 3), pieces=st.integers(1, 10_000))
def test_any_shop_and_order_adds_up(data, digits: int, pieces: int) -> None:
    def drawn(kind):
        return str(data.draw(kind))

    where = shop(
        "XXX",
        digits,
        labour=drawn(money),
        overhead=drawn(percents),
        margin=drawn(percents),
        tax=drawn(percents),
        deposit=drawn(st.decimals(min_value=0, max_value=100, places=2)),
        steel=drawn(money),
        belt=drawn(money),
        batch=(drawn(money), data.draw(st.integers(1, 10_000)), data.draw(st.booleans())),
        handle=(drawn(money), data.draw(minutes)),
        sheath=(drawn(money), data.draw(minutes)),
        parcel=drawn(money),
    )
    names = ["primary", "edge", "swedge"]
    tasks = [(n, data.draw(minutes), data.draw(minutes), data.draw(st.booleans())) for n in names]
    order = Order(
        pieces=pieces,
        handle=data.draw(st.sampled_from([None, "wood"])),
        sheath=data.draw(st.sampled_from([None, "none", "leather"])),
        shipping=data.draw(st.sampled_from([None, "parcel"])),
    )
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(pricing, "work", lambda *_: work(data.draw(st.floats(0.001, 50)), tasks, where))
        price = pricing.price([(PLAIN, None)], "o1", order, where)
    assert 0 <= price.deposit <= price.total
    for line in price.lines:
        assert all(type(v) is Decimal for v in (line.quantity, line.rate, line.per, line.amount)), line
        exact = Fraction(line.quantity) * Fraction(line.rate) / Fraction(line.per)
        assert Fraction(line.amount) == half_up(exact, digits), line
    for amount in (*(line.amount for line in price.lines), *(s.amount for s in price.shares), price.net, price.tax):
        assert type(amount) is Decimal
        assert -amount.as_tuple().exponent <= digits
    assert price.net + price.tax == price.total == sum(line.amount for line in price.lines)
    assert sum(share.amount for share in price.shares) == price.net
    assert Fraction(price.each) == half_up(Fraction(price.total) / pieces, digits)
    again = Price.model_validate_json(price.model_dump_json())
    assert again == price
    assert all(type(line.amount) is Decimal for line in again.lines), "money stays decimal in the book"
