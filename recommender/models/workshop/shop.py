"""The maker's own shop: rates, bars, equipment and terms, as `shop.toml` states them. Money is decimal throughout."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from recommender.models.base import Id, Model, NotNegative, Positive, Text
from recommender.models.workshop.sheet import Paper

Money = Annotated[Decimal, Field(ge=0, le=10_000_000, allow_inf_nan=False)]
Percent = Annotated[Decimal, Field(ge=0, le=1000, allow_inf_nan=False)]
PIECES = "pieces"
"""Unit of work that takes its time whatever the blade's size."""
Minutes = Annotated[NotNegative, Field(le=100_000)]
Rate = Annotated[float, Field(ge=0.01, le=1_000_000, allow_inf_nan=False)]
"""Worked off in a minute."""
Sizes = Annotated[tuple[Annotated[float, Field(gt=0, le=3000, allow_inf_nan=False)], ...], Field(max_length=100)]
OneLine = Annotated[Text, Field(max_length=200)]


def _currency(code: str) -> str:
    if not (len(code) == 3 and code.isascii() and code.isalpha() and code.isupper()):
        raise ValueError("three capital letters (ISO 4217), such as EUR")
    return code


Currency = Annotated[str, AfterValidator(_currency)]


class Business(Model):
    """Who quotes, in which money, on which terms."""

    name: OneLine
    address: Annotated[tuple[OneLine, ...], Field(max_length=8)] = ()
    currency: Currency
    minor_digits: Annotated[int, Field(ge=0, le=3)] = 2
    """Decimals of the smallest coin: 2 for cents, 0 where there is none (ISO 4217)."""
    labour_per_hour: Money
    overhead_percent: Percent
    """Rent, power, insurance: on all costs."""
    margin_percent: Percent
    """On costs and overhead."""
    tax_name: OneLine = "tax"
    tax_percent: Percent
    deposit_percent: Annotated[Decimal, Field(ge=0, le=100, allow_inf_nan=False)] = Decimal(0)
    """Of the total, asked for on order; 0 for none."""
    valid_days: Annotated[int, Field(ge=1, le=730)]
    paper: Paper = "a4"
    """What is printed on, unless a command says otherwise."""
    terms: Annotated[tuple[Text, ...], Field(max_length=20)] = ()


WIDEST_TANG_MM = 30.0
"""What a hand closes round with scales on; common practice, 22-32."""


class BarStock(Model):
    """Bars as the shop buys them, and how blanks come out of them."""

    price_per_kg: Money
    """Of steels without a price of their own."""
    steel_price_per_kg: dict[Id, Money] = Field(default_factory=dict)
    thicknesses_mm: Annotated[Sizes, Field(min_length=1)]
    widths_mm: Annotated[Sizes, Field(min_length=1)]
    bar_length_mm: Annotated[Positive, Field(le=10_000)]
    kerf_mm: Annotated[NotNegative, Field(le=20)]
    end_waste_mm: Annotated[NotNegative, Field(le=1000)]
    """What is left in the vice at the end of a bar."""
    tang_length_mm: Annotated[NotNegative, Field(le=400)]
    tang_width_mm: Annotated[NotNegative, Field(le=200)] | None = None
    """None: as wide as the blade is high at the plunge line, at most `WIDEST_TANG_MM`."""
    width_allowance_mm: Annotated[NotNegative, Field(le=20)]
    """Width of the bar beyond the blade's, for the profile."""


Material = BarStock  # its name in 0.1


class Equipment(Model):
    """What stands in the shop."""

    wheels_mm: Sizes = ()
    jig_length_mm: Annotated[Positive, Field(le=2000)]
    """From the belt's line of contact to the pivot or rest of the grinding jig."""
    edge_fixture_arm_mm: Annotated[Positive, Field(le=2000)]
    """From the edge to the pivot of the sharpening fixture."""


class Way(Model):
    """One way of grinding: on platen, wheel or slack belt."""

    set_up_minutes: Minutes
    mm3_per_min: Rate
    """Soft steel ground off with a coarse belt."""


class Grinding(Model):
    """How fast steel comes off."""

    platen: Way
    wheel: Way
    slack_belt: Way
    hardened_share: Annotated[float, Field(ge=0.01, le=1, allow_inf_nan=False)]
    """How fast hardened steel comes off, against soft."""
    profile_set_up_minutes: Minutes
    profile_mm_per_min: Rate
    """Sawing and filing the outline, along it."""


class Grit(Model):
    """A belt: the first of the list is for bulk, each finer one takes off the scratches of the one before."""

    grade: OneLine
    """FEPA P."""
    belt_price: Money
    lasts_minutes: Annotated[float, Field(ge=0.1, le=100_000, allow_inf_nan=False)]
    mm2_per_min: Rate | None = None
    """Face freed of the scratches before; not for the first."""


class HeatTreatment(Model):
    """Hardening and tempering, by the batch."""

    batch_price: Money
    blades_per_batch: Annotated[int, Field(ge=1, le=10_000)]
    share_batch: bool
    """Whether blades of other orders fill the batch; else an order pays whole ones."""
    handling_minutes: Minutes
    """Wrapping, quenching, straightening: a blade."""
    skin_per_side_mm: Annotated[NotNegative, Field(le=1)] = 0.1
    """Scale and decarburised skin to grind off each face afterwards: 0 out of foil, gas or vacuum; common practice."""


class Finish(Model):
    """How the faces are left."""

    id: Id
    label: OneLine
    mm2_per_min: Rate | None = None
    """By hand, over both faces; absent where the belt's finish stays."""


class Part(Model):
    """A handle or sheath: material and time."""

    id: Id
    label: OneLine
    material: Money
    minutes: Minutes


class Shipping(Model):
    """A way to send an order."""

    id: Id
    label: OneLine
    price: Money
    """Of a parcel."""
    heaviest_kg: Annotated[Positive, Field(le=1000)] = 30.0
    """A parcel weighs so much at most; common practice, 20-32."""
    extra_g_per_piece: Annotated[NotNegative, Field(le=100_000)] = 250.0
    """Handle, sheath and packing of each piece, besides its steel; estimate, 100-400."""


class EdgeWork(Model):
    """Putting on the edge."""

    set_up_minutes: Minutes
    mm_per_min: Rate


class Shop(Model):
    """Everything a quote is reckoned with."""

    values: Literal["invented", "own"]
    """Shipped values are invented; a shop that has put in its own says so."""
    business: Business
    material: BarStock
    equipment: Equipment
    grinding: Grinding
    grits: Annotated[tuple[Grit, ...], Field(min_length=1, max_length=20)]
    heat_treatment: HeatTreatment
    edge: EdgeWork
    finishes: Annotated[tuple[Finish, ...], Field(min_length=1, max_length=50)]
    handles: Annotated[tuple[Part, ...], Field(max_length=50)] = ()
    sheaths: Annotated[tuple[Part, ...], Field(max_length=50)] = ()
    shipping: Annotated[tuple[Shipping, ...], Field(max_length=50)] = ()
