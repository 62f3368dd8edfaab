"""From an answer to the lives of its blades: sharpened again and again until half the height is gone."""

from __future__ import annotations

import dataclasses

import numpy as np

from recommender.engine.answer.explain import designs_of
from recommender.engine.intake.resolve import Resolved
from recommender.geometry.arcs import Array
from recommender.geometry.outline import Outline, Sides
from recommender.geometry.profile import half_angles
from recommender.geometry.section import measure
from recommender.geometry.sharpened import sharpened_back
from recommender.mechanics import cutting, sharpening, strength, wear
from recommender.mechanics import life as mechanics
from recommender.models.answer.proposal import Answer, Proposal
from recommender.models.answer.sharpening_life import Band, BladeLife, Course, Life, Milestone
from recommender.plugin.api import Context
from recommender.plugin.registry import Registry

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
    at = mechanics.shoulders(outlines)
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
    hollow, upper = mechanics.upper_curve(outlines, proposal.grind_line_mm)
    return BladeLife(
        grind=proposal.grind,
        grind_label=proposal.grind_label,
        points=round(points, 2),
        edge_angle_per_side_deg=proposal.edge_angle_per_side_deg,
        edge_angle_included_deg=proposal.edge_angle_included_deg,
        wheel_diameter_mm=proposal.wheel_diameter_mm,
        ground_to_zero=zero,
        hollow=hollow,
        hours_between_sharpenings=None if hours is None else _band(hours),
        sharpenings_per_year=None if per_year is None else _band(per_year),
        thinning=milestone(int(np.argmax(thick))) if thick.any() and not zero else None,
        upper_curve=None if upper is None else milestone(upper),
        end=milestone(last),
        half_height=whole_life <= MOST_SHARPENINGS,
        course=_course(worn, back, at, context),
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
    # Outside the tested angles an edge lasts, by estimate, as at their end.
    included = np.clip(np.degrees(_included_rad(outline)), *wear.TESTED_INCLUDED_DEG)
    retention = float(np.nan_to_num(wear.edge_retention_mm(steel.hardness_hrc, included, steel.carbides))[0])
    return mechanics.hours_between_sharpenings(retention, float(context.sharpening.apex_radius_mm), touched_up)


def _course(worn: Outline, back: Array, at: mechanics.Shoulders, context: Context) -> Course:
    """Every figure after each sharpening; `worn` has one section more than `back`."""
    moved = worn[:-1].copy()
    moved[..., 1] -= back[:, None]
    sides = Sides.of(moved)
    sharpened, included = context.sharpening.apex_radius_mm, _included_rad(moved)
    forces = {}
    for load in context.tasks:
        task = load.task
        if task.cut_depth_mm is None:
            continue
        depth = task.cut_depth_mm.likely
        ratio = task.slice_push_ratio.likely if task.slice_push_ratio else 0.0
        forces[task.id] = cutting.cut_force(
            sides,
            depth,
            load.cut_material,
            slice_push_ratio=cutting.slice_push(ratio, task.stroke_mm, depth),
            apex_radius_mm=wear.apex_radius_in_use_mm(sharpened, included, load.recession_mm(context.sharpening)),
            slice_is_free=task.slice_is_free,
        ).push
    shares = {load.task.id: load.share for load in context.tasks if load.task.id in forces}
    total = sum(shares.values())
    weakest = strength.weakest_near_edge(sides, at.bevel_height_mm)
    bears = context.steel.edge_fails_at_mpa(weakest.thickness_mm) * weakest.per_mpa
    steel_mm2 = -np.diff(np.asarray(measure(worn).area_mm2))
    return Course(
        blade_height_mm=_rounded(moved[..., 1].max(axis=1)),
        edge_thickness_mm=_rounded(at.thickness_mm),
        bevel_width_mm=_rounded(at.bevel_width_mm),
        cut_force_n_per_mm=(
            _rounded(np.asarray(sum(shares[task] * force for task, force in forces.items()) / total)) if total else None
        ),
        cut_force_by_task_n_per_mm={task: _rounded(force) for task, force in forces.items()},
        edge_strength_n=_rounded(bears),
        sharpening_minutes=None if not context.sharpening.able else _rounded(context.sharpening_minutes(steel_mm2)),
    )


def _rounded(values: Array) -> tuple[float, ...]:
    return tuple(round(float(v), 6) for v in values)


def _band(estimate: mechanics.Estimate) -> Band:
    return Band(**{name: float(f"{value:.4g}") for name, value in dataclasses.asdict(estimate).items()})
