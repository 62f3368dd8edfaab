"""The brief: what is asked. Every field is optional; the service fills and explains the rest."""

from __future__ import annotations

from typing import Annotated, Literal, get_args

from pydantic import BeforeValidator, Field, WithJsonSchema

from recommender.models.base import Model, NotNegative, Positive, Text
from recommender.units import STOCK_MM


def _grade(value: object) -> object:
    # 1.4116 typed without quotes is a float in TOML; repr keeps it as written.
    if isinstance(value, float) or (isinstance(value, int) and not isinstance(value, bool) and abs(value) < 10**12):
        value = repr(value)
    return value.strip().lower() if isinstance(value, str) else value


def _listed(value: object) -> object:
    return (value,) if isinstance(value, str) else value


Grade = Annotated[
    str,
    BeforeValidator(_grade),
    Field(max_length=60),
    WithJsonSchema({"type": ["string", "number"], "maxLength": 60}),
]
_Names = Annotated[
    tuple[str, ...],
    BeforeValidator(_listed),
    Field(max_length=50),
    WithJsonSchema(
        {"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}, "maxItems": 50}]},
    ),
]
Length = Annotated[float, Field(ge=20, le=1000, allow_inf_nan=False)]
HEIGHT_MM = (5, 120)
"""Blades that a brief may ask for, lowest and highest."""
Height = Annotated[float, Field(ge=HEIGHT_MM[0], le=HEIGHT_MM[1], allow_inf_nan=False)]
Stock = Annotated[float, Field(ge=STOCK_MM[0], le=STOCK_MM[1], allow_inf_nan=False)]
EdgeAngle = Annotated[float, Field(ge=4, le=45, allow_inf_nan=False)]

Skill = Literal["beginner", "practised", "expert"]
SKILL_LEVELS: dict[Skill, int] = {skill: level for level, skill in enumerate(get_args(Skill), start=1)}
MicroBevel = Literal["yes", "no"]
"""Whether the edge ends in a second, tiny bevel."""
Hand = Literal["left", "right"]
Climate = Literal["dry", "wet", "salt"]
Swedge = Literal["none", "short", "long"]
Profile = Literal["straight-back", "drop", "clip", "straight-edge", "trailing"]


class SteelBrief(Model):
    """Steel and hardness of the blade."""

    grade: Grade | None = None
    hardness_hrc: Annotated[float, Field(ge=40, le=70, allow_inf_nan=False)] | None = None


class OwnerBrief(Model):
    """Who uses and sharpens the blade."""

    gear: _Names | None = None
    skill: Skill | None = None
    hand: Hand | None = None
    climate: Climate | None = None
    use_hours_per_week: Annotated[float, Field(ge=0, le=168, allow_inf_nan=False)] | None = None


class BladeBrief(Model):
    """Size and shape of the blade."""

    profile: Profile | None = None
    stock_thickness_mm: Stock | None = None
    height_mm: Height | None = None
    length_mm: Length | None = None
    distal_taper_mm_per_mm: Annotated[float, Field(ge=0, le=0.1, allow_inf_nan=False)] | None = None
    swedge: Swedge | None = None


class WorkshopBrief(Model):
    """What the maker can grind with."""

    wheels_mm: (
        Annotated[tuple[Annotated[float, Field(ge=5, le=3000, allow_inf_nan=False)], ...], Field(max_length=50)] | None
    ) = None
    wheel_hardness_shore_a: Annotated[float, Field(ge=20, le=95, allow_inf_nan=False)] | None = None
    platen: bool | None = None
    slack_belt: bool | None = None


class Wishes(Model):
    """What is already decided; never silently replaced."""

    grind: str | None = None
    edge_angle_per_side_deg: EdgeAngle | None = None
    grind_line_mm: Positive | None = None
    edge_thickness_mm: Annotated[float, Field(ge=0, le=5, allow_inf_nan=False)] | None = None
    micro_bevel: MicroBevel | None = None


class Brief(Model):
    """Tasks and shares, steel, owner and gear, blade, workshop, wishes."""

    title: Text | None = None
    tasks: dict[str, Annotated[NotNegative, Field(le=1e6)]] = Field(default_factory=dict)
    # Constructed: to validate nothing, no validators need to be built whenever this is imported.
    steel: SteelBrief = SteelBrief.model_construct()
    owner: OwnerBrief = OwnerBrief.model_construct()
    blade: BladeBrief = BladeBrief.model_construct()
    workshop: WorkshopBrief = WorkshopBrief.model_construct()
    wishes: Wishes = Wishes.model_construct()
