"""From an answer to the lives of its blades: sharpened again and again until half the height is gone."""

from __future__ import annotations

import dataclasses

import numpy as np

from recommender.engine.answer.explain import designs_of
from recommender.engine.intake.resolve import Resolved, pace, polish_of
from recommender.geometry.arcs import Array
from recommender.geometry.ground_face import is_one_bevel
from recommender.geometry.outline import Outline, Sides
from recommender.geometry.profile import clipped, half_angles
from recommender.geometry.section import measure
from recommender.geometry.sharpened import sharpened_back
from recommender.geometry.shoulders import Shoulders, shoulders
from recommender.mechanics import cutting, sharpening, strength, wear
from recommender.mechanics import life as mechanics
from recommender.models.answer.proposal import Answer, Proposal
from recommender.models.answer.sharpening_life import Band, BladeLife, Course, Life, Milestone, ThinnedBack
from recommender.models.knowledge.tables import Gear
from recommender.plugin.api import Context
from recommender.plugin.registry import Registry
from recommender.units import STEEL_DENSITY_G_PER_MM3

MOST_SHARPENINGS = 400
"""A blade is reckoned until this many, or until `sharpening.USED_UP_SHARE` of its height is gone."""
ZERO_GROUND_SHARE = 0.98
"""A first bevel that reaches this share of the stock is the whole grind."""


def life(answer: Answer, resolved: Resolved, registry: Registry) -> Life:
    """Follow the proposal and the alternatives of an answer through their sharpenings.

    A plug-in that fails to draw its blade leaves it out and is named in `provenance.failed`.
    """
    found: list[tuple[float, Proposal]] = []
    if answer.proposal is not None and answer.points is not None:
        found.append((answer.points.total, answer.proposal))
    found += [(a.points, a.proposal) for a in answer.alternatives if a.proposal is not None and a.points is not None]
    blades = [b for points, p in found if (b := _blade(p, points, resolved, registry)) is not None]
    failed = list(dict.fromkeys([*answer.provenance.failed, *(str(failure) for failure in registry.failures)]))
    return Life(
        brief=answer.brief,
        thickest_edge_mm=round(resolved.thickest_edge_mm, 4),
        back_per_sharpening_mm=_band(mechanics.BACK_MM),
        touched_up_with=_touch_ups(resolved),
        thinned_with=tuple(g.id for g in resolved.gear if g.thins),
        blades=tuple(blades),
        provenance=answer.provenance.model_copy(update={"failed": failed}),
    )


def _blade(proposal: Proposal, points: float, resolved: Resolved, registry: Registry) -> BladeLife | None:
    grind = registry.grinds[proposal.grind]
    doing = f"drawing {proposal.grind}"
    drawn: Outline | None = registry.call(grind.origin, doing, grind.item.outlines, designs_of(proposal))
    if drawn is None:
        return None
    height = float(drawn[0, :, 1].max())
    whole_life = int(sharpening.USED_UP_SHARE * height / sharpening.BACK_PER_SHARPENING_MM + 1e-9)
    last = min(whole_life, MOST_SHARPENINGS)
    # One more, as the steel of the last sharpening is the difference to it.
    back: Array = sharpening.BACK_PER_SHARPENING_MM * np.arange(last + 2, dtype=np.float64)
    worn = sharpened_back(np.repeat(drawn[:1], last + 2, axis=0), back)
    outlines, back = worn[:-1], back[:-1]
    at = shoulders(outlines)
    context = resolved.context(grind.item)

    hours = _hours_between(outlines[:1], context, bool(_touch_ups(resolved)))
    used = resolved.brief.owner.use_hours_per_week or 0.0
    per_year = mechanics.sharpenings_per_year(used, hours) if hours is not None and used > 0 else None

    def milestone(count: int) -> Milestone:
        years = None
        if per_year is not None:
            years = Band(likely=0.0, low=0.0, high=0.0)
            if count:
                years = _band(mechanics.years_until(float(back[count]), per_year))
        return Milestone(
            sharpenings=count,
            sharpened_back_mm=round(float(back[count]), 6),
            blade_height_mm=round(height - float(back[count]), 6),
            edge_thickness_mm=round(float(at.thickness_mm[count]), 6),
            years=years,
        )

    zero = bool(at.thickness_mm[0] >= ZERO_GROUND_SHARE * np.ptp(drawn[0, :, 0]))
    thick = at.thickness_mm > resolved.thickest_edge_mm + 1e-9
    first = int(np.argmax(thick)) if thick.any() and not zero else None
    hollow, upper = mechanics.upper_curve(outlines, proposal.grind_line_mm)
    course = _course(worn, back, at, context)
    thinned = None
    if first:
        thinned = _thinned_back(proposal, drawn[:1], outlines[first], first, last // first, course, resolved, context)
    return BladeLife(
        grind=proposal.grind,
        grind_label=proposal.grind_label,
        points=round(points, 2),
        edge_angle_per_side_deg=proposal.edge_angle_per_side_deg,
        edge_angle_included_deg=proposal.edge_angle_included_deg,
        wheel_diameter_mm=proposal.wheel_diameter_mm,
        ground_to_zero=zero,
        one_bevel=not zero and bool(is_one_bevel(drawn[:1])[0]),
        hollow=hollow,
        hours_between_sharpenings=None if hours is None else _band(hours),
        sharpenings_per_year=None if per_year is None else _band(per_year),
        thinning=None if first is None else milestone(first),
        thinned=thinned,
        upper_curve=None if upper is None else milestone(upper),
        end=milestone(last),
        half_height=whole_life <= MOST_SHARPENINGS,
        course=course,
    )


def _touch_ups(resolved: Resolved) -> tuple[str, ...]:
    """Gear that the hand works on an edge but that works no bevel."""
    return tuple(g.id for g in resolved.gear if g.freehand and not g.surfaces)


def _included_rad(outlines: Outline) -> Array:
    left, right = half_angles(Sides.of(outlines), outlines[:, 0, 1])
    return np.asarray(left + right)


def _hours_between(outline: Outline, context: Context, touched_up: bool) -> mechanics.Estimate | None:
    if not context.sharpening.able:
        return None
    steel = context.steel
    included = np.degrees(_included_rad(outline))
    retention = float(np.nan_to_num(wear.held_retention_mm(steel.hardness_hrc, included, steel.carbides))[0])
    return mechanics.hours_between_sharpenings(retention, float(context.sharpening.apex_radius_mm), touched_up)


def _course(worn: Outline, back: Array, at: Shoulders, context: Context) -> Course:
    """Every figure after each sharpening; `worn` has one section more than `back`."""
    moved = worn[:-1].copy()
    moved[..., 1] -= back[:, None]
    forces, weighted = _forces(moved, context, float(moved[0, :, 1].max()))
    steel_mm2 = -np.diff(np.asarray(measure(worn).area_mm2))
    bevel_mm = sharpening.bevel_widths_mm(worn)[:-1]  # as wide as each sharpening finds them
    minutes = context.sharpening_minutes(steel_mm2, bevel_mm=bevel_mm)
    return Course(
        blade_height_mm=_rounded(moved[..., 1].max(axis=1)),
        edge_thickness_mm=_rounded(at.thickness_mm),
        bevel_width_mm=_rounded(at.bevel_width_mm),
        cut_force_n_per_mm=None if weighted is None else _rounded(weighted),
        cut_force_by_task_n_per_mm={task: _rounded(force) for task, force in forces.items()},
        edge_strength_n=_rounded(_bears(moved, at, context)),
        sharpening_minutes=None if not context.sharpening.able else _rounded(minutes),
    )


def _forces(moved: Outline, context: Context, new_height_mm: float) -> tuple[dict[str, Array], Array | None]:
    """Push of every task that cuts, and of all by share, of sections with their apex at 0: as deep as the new blade."""
    sharpened, included = context.sharpening.apex_radius_mm, _included_rad(moved)
    forces: dict[str, Array] = {}
    for load in context.tasks:
        task = load.task
        if task.cut_depth_mm is None:
            continue
        depth = min(task.cut_depth_mm.likely, new_height_mm)
        ratio = task.slice_push_ratio.likely if task.slice_push_ratio else 0.0
        forces[task.id] = cutting.cut_force(
            Sides.of(mechanics.deepened(moved, depth)),
            depth,
            load.cut_material,
            slice_push_ratio=cutting.slice_push(ratio, task.stroke_mm, task.cut_depth_mm.likely),
            apex_radius_mm=wear.apex_radius_in_use_mm(sharpened, included, load.recession_mm(context.sharpening)),
            slice_is_free=task.slice_is_free,
        ).push
    shares = {load.task.id: load.share for load in context.tasks if load.task.id in forces}
    total = sum(shares.values())
    if not total:
        return forces, None
    return forces, np.asarray(sum(shares[task] * force for task, force in forces.items()) / total)


def _bears(moved: Outline, at: Shoulders, context: Context) -> Array:
    weakest = strength.weakest_near_edge(Sides.of(moved), at.bevel_height_mm)
    return np.asarray(context.steel.edge_fails_at_mpa(weakest.thickness_mm) * weakest.per_mpa)


def _thinned_back(
    proposal: Proposal,
    drawn: Outline,
    worn: Outline,
    count: int,
    times: int,
    course: Course,
    resolved: Resolved,
    context: Context,
) -> ThinnedBack:
    """What it takes to thin one worn blade (v, 3) back to its drawing (1, v, 3), and what that restores."""
    moved = worn[None].copy()
    moved[..., 1] -= worn[:, 1].min()
    steel_mm2 = mechanics.steel_of_thinning_mm2(drawn, moved)
    thin = clipped(drawn, moved[..., 1].max(axis=1))
    at = shoulders(thin)
    _, force = _forces(thin, context, float(drawn[0, :, 1].max()))
    length = float(context.length_mm)
    able = [g for g in resolved.gear if g.thins and g.removal_mm3_per_min is not None]
    # A hollow is thinned on the wheel that ground it, and no gear says which wheels it has.
    gear = None
    if able and proposal.wheel_diameter_mm is None:
        gear = max(able, key=lambda g: g.removal_mm3_per_min.likely if g.removal_mm3_per_min else 0.0)
    return ThinnedBack(
        steel_g=round(float(steel_mm2[0]) * length * STEEL_DENSITY_G_PER_MM3, 3),
        gear=None if gear is None else gear.id,
        minutes=None if gear is None else _thinning_minutes(gear, steel_mm2, proposal, resolved, context),
        edge_thickness_mm=round(float(at.thickness_mm[0]), 6),
        cut_force_n_per_mm=(
            None
            if force is None or course.cut_force_n_per_mm is None
            else (course.cut_force_n_per_mm[count], round(float(force[0]), 6))
        ),
        edge_strength_n=(course.edge_strength_n[count], round(float(_bears(thin, at, context)[0]), 6)),
        times=times,
    )


def _thinning_minutes(gear: Gear, steel_mm2: Array, proposal: Proposal, resolved: Resolved, context: Context) -> Band:
    """Set-up, burr, steel over the tool's rate, finer grits over the faces, in these hands; banded as the rate."""
    rate, by = gear.removal_mm3_per_min, pace(gear, resolved.skill)
    assert rate is not None  # chosen so
    likely, low, high = (
        float(
            sharpening.minutes_per_sharpening(
                steel_mm2,
                context.length_mm,
                at * by,
                setup_minutes=gear.setup_minutes,
                finishing_minutes=gear.finishing_minutes / by,
                polish_min_per_mm2=polish_of(gear) / by,
                bevel_mm=proposal.sides_ground * proposal.grind_line_mm,
                slowness=sharpening.slowness(context.steel.hardness_hrc, context.steel.carbides),
            )[0]
        )
        for at in (rate.likely, rate.high, rate.low)
    )
    return _band(mechanics.Estimate(likely, low, high))


def _rounded(values: Array) -> tuple[float, ...]:
    return tuple(round(float(v), 6) for v in values)


def _band(estimate: mechanics.Estimate) -> Band:
    return Band(**{name: float(f"{value:.4g}") for name, value in dataclasses.asdict(estimate).items()})
