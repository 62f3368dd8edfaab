"""The fields that rules may speak about: kind, unit and, for categories, the valid values."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, get_args

from recommender.models.brief import Climate, Hand, Profile, Skill
from recommender.models.tables import Corrosion, Steel, Toughness
from recommender.packs.knowledge import Knowledge

TESTS = {
    "number": frozenset({"eq", "ne", "lt", "le", "gt", "ge", "in"}),
    "flag": frozenset({"eq", "ne"}),
    "category": frozenset({"eq", "ne", "in"}),
    "set": frozenset({"has", "in"}),
}
"""Kind of field -> the comparisons that suit it."""


@dataclass(frozen=True)
class Field:
    """A field of the brief, design, metrics or derived facts."""

    name: str
    kind: Literal["number", "flag", "category", "set"]
    about: str
    values: frozenset[str] = frozenset()


def _values(annotation: object) -> frozenset[str]:
    return frozenset(get_args(annotation))


def fields(knowledge: Knowledge, grinds: Iterable[str], metrics: Iterable[str]) -> dict[str, Field]:
    """Every field by its dotted name."""
    tasks, gear, steels = frozenset(knowledge.tasks), frozenset(knowledge.gear), frozenset(knowledge.steels)
    classes = _values(Toughness.model_fields["class_"].annotation)
    rust = _values(Corrosion.model_fields["class_"].annotation)
    families = _values(Steel.model_fields["family"].annotation)
    sides = frozenset({"both", "right", "left"})
    parents = frozenset({"flat", "hollow", "convex"})
    known = [
        Field("brief.tasks", "set", "tasks of the brief (limits and cautions: from a share of 0.1)", tasks),
        Field("brief.steel.grade", "category", "steel", steels),
        Field("brief.steel.hardness_hrc", "number", "hardness, HRC"),
        Field("brief.owner.gear", "set", "sharpening gear at hand", gear),
        Field("brief.owner.skill", "category", "skill at sharpening", _values(Skill)),
        Field("brief.owner.hand", "category", "hand", _values(Hand)),
        Field("brief.owner.climate", "category", "climate", _values(Climate)),
        Field("brief.owner.use_hours_per_week", "number", "use, hours per week"),
        Field("brief.blade.profile", "category", "profile, where the brief decides it", _values(Profile)),
        Field("brief.blade.height_mm", "number", "blade height, mm"),
        Field("brief.blade.length_mm", "number", "blade length, mm"),
        Field("brief.workshop.platen", "flag", "the workshop has a platen"),
        Field("brief.workshop.slack_belt", "flag", "the workshop has a slack belt"),
        Field("design.grind", "category", "grind", frozenset(grinds)),
        Field("design.parent", "category", "parent grind", parents),
        Field("design.side", "category", "ground side", sides),
        Field("design.sides_ground", "number", "ground faces, 1 or 2"),
        Field("design.stock_thickness_mm", "number", "stock thickness, mm"),
        Field("design.height_mm", "number", "blade height, mm"),
        Field("design.grind_line_mm", "number", "grind line above the edge, mm"),
        Field("design.grind_line_share", "number", "grind line over blade height"),
        Field("design.edge_thickness_mm", "number", "thickness behind the edge, mm"),
        Field("design.edge_angle_per_side_deg", "number", "edge angle per ground side, deg"),
        Field("design.edge_angle_included_deg", "number", "included edge angle, deg"),
        Field("design.apex_included_deg", "number", "included angle at the apex, a micro-bevel counted, deg"),
        Field("design.wheel_diameter_mm", "number", "contact wheel, mm (hollows only)"),
        Field("design.micro_bevel_per_side_deg", "number", "micro-bevel per side, deg (where there is one)"),
        Field("design.zones", "number", "sections to sharpen along the blade, 1 or 2"),
        Field("design.tip", "category", "side view of the blade", _values(Profile)),
        Field("design.swedge_length_mm", "number", "length of the swedge from the tip, 0 without one, mm"),
        Field("design.swedge_spine_mm", "number", "spine that the swedge leaves (the stock without one), mm"),
        Field("design.distal_taper_mm_per_mm", "number", "stock lost per mm of length"),
        Field("design.stock_at_tip_mm", "number", "thickness of the bar at the tip, mm"),
        Field("derived.steel_family", "category", "family of the steel", families),
        Field("derived.corrosion_class", "category", "how readily the steel rusts", rust),
        Field("derived.toughness_class", "category", "toughness of the steel", classes),
        Field("derived.hardness_over_range_hrc", "number", "HRC above the steel's usual range, negative within"),
        Field("derived.hardness_under_range_hrc", "number", "HRC below the steel's usual range, negative within"),
        Field("derived.owner_sharpens", "flag", "some gear at hand sharpens"),
        Field("derived.gear_fits_grind", "flag", "some gear at hand can work every surface of the grind"),
        Field("derived.gear_thins", "flag", "some gear at hand can thin the primary grind"),
        Field("derived.gear_fixed_angle_deg", "number", "angle per side that the only gear sets by itself, deg"),
        Field("derived.angle_off_gear_deg", "number", "edge angle off the one that the only gear sets, deg"),
        Field("derived.angle_wander_deg", "number", "how far the owner's angle wanders per side, deg"),
        Field("derived.freehand_only", "flag", "no gear at hand holds the angle for the owner"),
        Field("derived.stock_over_usual_mm", "number", "given stock above the thickest usual for the tasks, mm"),
        Field("derived.skill_level", "number", "1 beginner, 2 practised, 3 expert"),
        Field("derived.task_count", "number", "tasks of the brief"),
        Field("derived.task_strife", "number", "largest over smallest typical stock of the tasks"),
    ]
    known += [Field(f"metric.{name}", "number", "metric") for name in metrics]
    return {entry.name: entry for entry in known}
