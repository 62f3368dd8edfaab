"""Facts that follow from brief, tables and blade."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, get_args

import numpy as np

from recommender.models.brief import SKILL_LEVELS
from recommender.models.knowledge.rule import All, Comparison, Not
from recommender.models.knowledge.tables import Corrosion, Gear, Steel, Toughness
from recommender.packs.condition_boxes import Formula, Numbers
from recommender.packs.facts.fact import NO_LESS_THAN_0, Fact, Follows, HoldsWhere
from recommender.packs.facts.reading import Blades, WholeBrief
from recommender.packs.facts.usual_stock import usual_stock_mm
from recommender.packs.knowledge import Knowledge


def _of_steel(name: str, about: str, annotation: Any, get: Callable[[Steel], str]) -> Fact:
    """A class of the steel."""
    return Fact(
        name,
        about,
        "category",
        get_args(annotation),
        from_brief=lambda whole: get(whole.steel),
        follows=Follows("brief.steel.grade", lambda packs, grinds: {s.id: get(s) for s in packs.steels.values()}),
    )


def _sharpens(gear: Gear) -> bool:
    return bool(gear.surfaces)


def _any_gear(packs: Knowledge, fits: Callable[[Gear], bool]) -> Formula:
    names = sorted(gear.id for gear in packs.gear.values() if fits(gear))
    return Comparison.model_validate({"field": "brief.owner.gear", "in": names})


def _only_freehand(whole: WholeBrief) -> bool:
    able = [gear for gear in whole.gear if _sharpens(gear)]
    return bool(able) and all(gear.freehand for gear in able)


def _where_only_freehand(packs: Knowledge) -> Formula:
    guided = _any_gear(packs, lambda gear: _sharpens(gear) and not gear.freehand)
    return All.model_construct(all=(_any_gear(packs, _sharpens), Not.model_construct(not_=guided)))


def _fixed_angle_deg(whole: WholeBrief) -> float | None:
    able = [gear for gear in whole.gear if _sharpens(gear)]
    return able[0].fixed_angle_per_side_deg if len(able) == 1 else None


def _fixed_angles(packs: Knowledge) -> Numbers:
    fixed = {gear.fixed_angle_per_side_deg for gear in packs.gear.values()}
    return Numbers(only=tuple(sorted(angle for angle in fixed if angle is not None)))


def _angle_off_gear_deg(blades: Blades) -> Any:
    fixed = blades.shared("derived.gear_fixed_angle_deg")
    return None if fixed is None else np.abs(blades.designs["edge_angle_per_side_deg"] - fixed)


_BARS = tuple(f"blade.stock_thickness_mm={bar}" for bar in (1, 2, 3, 4, 6, 8, 12))


def _over_usual_mm(whole: WholeBrief) -> float | None:
    stock = whole.brief.blade.stock_thickness_mm
    return None if stock is None else float(stock - usual_stock_mm(whole.tasks)[1])


def _one_sided_over_usual_mm(whole: WholeBrief) -> float | None:
    stock = whole.brief.blade.stock_thickness_mm
    return None if stock is None else float(stock - usual_stock_mm(whole.tasks, one_sided=True)[1])


def _under_usual_mm(whole: WholeBrief) -> float | None:
    stock = whole.brief.blade.stock_thickness_mm
    return None if stock is None else float(usual_stock_mm(whole.tasks)[0] - stock)


def _strife(whole: WholeBrief) -> float:
    bars = [t.task.envelope.stock_thickness_mm for t in whole.tasks if t.task.id in whole.weighty_task_ids]
    typical = [(bar.low + bar.high) / 2 for bar in bars]
    return max(typical) / min(typical) if typical else 1.0


DERIVED = (
    _of_steel(
        "derived.steel_family",
        "family of the steel",
        Steel.model_fields["family"].annotation,
        lambda steel: steel.family,
    ),
    _of_steel(
        "derived.corrosion_class",
        "how readily the steel rusts",
        Corrosion.model_fields["class_"].annotation,
        lambda steel: steel.corrosion.class_,
    ),
    _of_steel(
        "derived.toughness_class",
        "toughness of the steel",
        Toughness.model_fields["class_"].annotation,
        lambda steel: steel.toughness.class_,
    ),
    Fact(
        "derived.hardness_over_range_hrc",
        "HRC above the steel's usual range, negative within",
        "number",
        from_brief=lambda whole: whole.hardness_hrc - whole.steel.hardness.high_hrc,
    ),
    Fact(
        "derived.hardness_under_range_hrc",
        "HRC below the steel's usual range, negative within",
        "number",
        from_brief=lambda whole: whole.steel.hardness.low_hrc - whole.hardness_hrc,
    ),
    Fact(
        "derived.owner_sharpens",
        "some gear at hand sharpens",
        "flag",
        from_brief=lambda whole: any(_sharpens(gear) for gear in whole.gear),
        follows=HoldsWhere(lambda packs: _any_gear(packs, _sharpens)),
    ),
    Fact(
        "derived.gear_fits_grind",
        "some gear at hand can work every surface of the grind",
        "flag",
        from_blades=lambda blades: blades.sharpening.able,
        may_be_unknown=True,
    ),
    Fact(
        "derived.gear_thins",
        "some gear at hand can thin the primary grind",
        "flag",
        from_brief=lambda whole: any(gear.thins for gear in whole.gear),
        follows=HoldsWhere(lambda packs: _any_gear(packs, lambda gear: gear.thins)),
    ),
    Fact(
        "derived.gear_fixed_angle_deg",
        "angle per side that the only gear sets by itself, deg",
        "number",
        from_brief=_fixed_angle_deg,
        range=_fixed_angles,
        may_be_unknown=True,
    ),
    Fact(
        "derived.angle_off_gear_deg",
        "edge angle off the one that the only gear sets, deg",
        "number",
        from_blades=_angle_off_gear_deg,
        range=NO_LESS_THAN_0,
        may_be_unknown=True,
    ),
    Fact(
        "derived.angle_wander_deg",
        "how far the owner's angle wanders per side, deg",
        "number",
        from_blades=lambda blades: blades.sharpening.angle_wander_deg,
        range=NO_LESS_THAN_0,
        may_be_unknown=True,
    ),
    Fact(
        "derived.freehand_only",
        "no gear at hand holds the angle for the owner",
        "flag",
        from_brief=_only_freehand,
        follows=HoldsWhere(_where_only_freehand),
    ),
    Fact(
        "derived.steel_named",
        "the brief names the steel",
        "flag",
        from_brief=lambda whole: whole.steel_named,
    ),
    Fact(
        "derived.stock_over_usual_mm",
        "given stock above the thickest usual for the tasks, mm",
        "number",
        from_brief=_over_usual_mm,
        may_be_unknown=True,
        brought_about_by=_BARS,
    ),
    Fact(
        "derived.one_sided_stock_over_usual_mm",
        "given stock above the thickest usual for the tasks in blades ground on one side, mm",
        "number",
        from_brief=_one_sided_over_usual_mm,
        may_be_unknown=True,
        brought_about_by=_BARS,
    ),
    Fact(
        "derived.stock_under_usual_mm",
        "given stock below the thinnest usual for the tasks, mm",
        "number",
        from_brief=_under_usual_mm,
        may_be_unknown=True,
        brought_about_by=_BARS,
    ),
    Fact(
        "derived.skill_level",
        ", ".join(f"{level} {skill}" for skill, level in SKILL_LEVELS.items()),
        "number",
        from_brief=lambda whole: float(SKILL_LEVELS[whole.skill]),
        range=Numbers(only=tuple(float(level) for level in SKILL_LEVELS.values())),
        follows=Follows(
            "brief.owner.skill", lambda packs, grinds: {skill: float(n) for skill, n in SKILL_LEVELS.items()}
        ),
    ),
    Fact(
        "derived.task_count",
        "tasks of the brief",
        "number",
        from_brief=lambda whole: float(len(whole.tasks)),
        range=lambda packs: Numbers(only=tuple(float(n) for n in range(1, len(packs.tasks) + 1))),
    ),
    Fact(
        "derived.task_strife",
        "largest over smallest typical stock of the tasks",
        "number",
        from_brief=_strife,
        range=Numbers(1.0),
    ),
)
