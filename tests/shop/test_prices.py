"""Prices of whole answers: lines add up, other grinds are priced alike, and the shop's figures are where the lines say.

Source: the arithmetic of the lines themselves, done over with fractions; a second price of the same blade.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from math import floor

import pytest

from recommender.engine.answer.tried_blade import followed_blade
from recommender.errors import InputError
from recommender.models.workshop.quote import Order
from recommender.shop.price.pricing import price
from recommender.shop.rates.shop_file import shop_of


def test_every_scenario_costs_the_sum_of_its_lines(service, answered, shop) -> None:
    order = Order(pieces=3, finish="hand-rubbed", handle="laminate", sheath="edge-guard", shipping="parcel")
    for name, scenario in answered.items():
        found = service.workshop.price(scenario.answer, order, shop)
        for line in found.lines:
            exact = Fraction(line.quantity) * Fraction(line.rate) / Fraction(line.per) * 100
            assert Fraction(line.amount) * 100 == floor(exact + Fraction(1, 2)), (name, line)
        assert found.total == sum(line.amount for line in found.lines), name
        assert found.net == sum(share.amount for share in found.shares), name
        assert len({line.id for line in found.lines}) == len(found.lines), name
        assert all(line.amount >= 0 for line in found.lines), name
        assert found.minutes == sum(line.quantity for line in found.lines if line.unit == "min")


def test_other_grinds_cost_what_they_cost_alone(service, answered, shop) -> None:
    order = Order(pieces=2, handle="oiled-wood")
    for name in ("left-handed-hunter", "wheels-only-skinner", "left-handed-saddler"):
        answer = answered[name].answer
        found = service.workshop.price(answer, order, shop)
        proposed = {a.grind: a.proposal for a in answer.alternatives if a.proposal is not None}
        assert found.against
        for other in found.against:
            p = proposed[other.grind]
            alone = price([(p, followed_blade(service.grinds[p.grind], p))], answer.brief.steel.grade, order, shop)
            assert alone.total == other.total, (name, other.grind)
            assert other.dearer == found.total - other.total
            mine, theirs = (_by_kind(q.lines) for q in (found, alone))
            gaps = {k: mine.get(k, Decimal(0)) - theirs.get(k, Decimal(0)) for k in mine | theirs}
            told = dict(other.because)
            assert set(told) <= set(gaps)
            assert all(told[k] == gaps[k] for k in told), (name, other.grind)
            most = max((abs(g) for g in gaps.values()), default=Decimal(0))
            assert most == max((abs(g) for g in told.values()), default=Decimal(0)), "the largest is told"


def _by_kind(lines) -> dict[str, Decimal]:
    out: dict[str, Decimal] = {}
    for line in lines:
        if line.group not in ("shop", "tax"):
            kind = line.label
            for start, together in (("primary", "primary grind"), ("belt-", "finer belts"), ("wear-", "belts worn")):
                kind = together if line.id.startswith(start) else kind
            out[kind] = out.get(kind, Decimal(0)) + line.amount
    return out


def test_more_pieces_share_setting_up(service, answered, shop) -> None:
    answer = answered["left-handed-hunter"].answer
    one, ten = (service.workshop.price(answer, Order(pieces=n), shop) for n in (1, 10))
    assert ten.each < one.total
    assert ten.total < 10 * one.total


def test_harder_to_grind_costs_more_and_nothing_else_does(service, answered, shop) -> None:
    """Half as fast on the slack belt: the convex's grinding doubles but for setting up, all else stays."""
    answer = answered["camp-chopper-slack-belt"].answer
    way = shop.grinding.slack_belt
    slower = way.model_copy(update={"mm3_per_min": way.mm3_per_min / 2})
    slow_shop = shop.model_copy(update={"grinding": shop.grinding.model_copy(update={"slack_belt": slower})})
    fast, slow = (service.workshop.price(answer, Order(), s) for s in (shop, slow_shop))
    minutes = [{line.id: line.quantity for line in q.lines if line.unit == "min"} for q in (fast, slow)]
    set_up = Decimal(repr(way.set_up_minutes))
    assert minutes[1]["primary"] - set_up == pytest.approx(2 * (minutes[0]["primary"] - set_up), abs=Decimal("0.2"))
    assert {k: v for k, v in minutes[0].items() if k != "primary"} == {
        k: v for k, v in minutes[1].items() if k != "primary"
    }


def test_a_bar_that_the_shop_does_not_buy_is_said(service, answered, shop) -> None:
    answer = answered["camp-chopper-slack-belt"].answer
    small = shop.model_copy(update={"material": shop.material.model_copy(update={"thicknesses_mm": (1.0,)})})
    how = [service.workshop.price(answer, Order(), s).lines[0].how for s in (shop, small)]
    assert "2 blanks out of it" in how[0]
    assert "larger than any bar that the shop lists" in how[1]


@pytest.mark.parametrize(
    ("order", "told"),
    [
        ({"handle": "oiled-wod"}, ["handle", "'oiled-wod'", "nearest: oiled-wood"]),
        ({"sheath": "lether"}, ["sheath", "nearest: leather"]),
        ({"shipping": "parcle"}, ["shipping", "nearest: parcel"]),
        ({"finish": "hand-rubed"}, ["finish", "nearest: hand-rubbed"]),
        ({"finish": "none"}, ["finish", "belt, hand-rubbed"]),
    ],
)
def test_what_the_shop_does_not_have_is_named(service, answered, shop, order, told) -> None:
    with pytest.raises(InputError) as refused:
        service.workshop.price(answered["left-handed-hunter"].answer, Order(**order), shop)
    for word in told:
        assert word in str(refused.value)


def test_a_shop_of_the_slowest_rates_still_has_a_price(service, answered) -> None:
    """Every figure of the file at its least or its most: long, but a price and no error."""
    from recommender.shop.rates.shop_file import shipped

    raw = shipped().decode()
    for line in ("profile_mm_per_min = 12", "mm3_per_min = 450", "mm3_per_min = 250", "mm_per_min = 16"):
        assert line in raw
        raw = raw.replace(line, line.split("=")[0] + "= 0.01")
    for old, new in (
        ("labour_per_hour = 42.00", "labour_per_hour = 10000000"),
        ("overhead_percent = 12 ", "overhead_percent = 1000 "),
        ("margin_percent = 15 ", "margin_percent = 1000 "),
        ("tax_percent = 20", "tax_percent = 1000"),
        ("minor_digits = 2 ", "minor_digits = 3 "),
        ("hardened_share = 0.5 ", "hardened_share = 0.01 "),
    ):
        assert old in raw
        raw = raw.replace(old, new)
    found = service.workshop.price(
        answered["footpath-crew-machete"].answer, Order(pieces=10_000), shop_of(raw.encode(), "slow")
    )
    assert found.total == sum(line.amount for line in found.lines)
    from recommender.drawing.text.workshop.price_text import price_text

    assert max(map(len, price_text(found, "slow", width=40).splitlines())) <= 40
