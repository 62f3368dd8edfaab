"""The facts that rules see: the brief, the designs, their metrics, and named derived facts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from recommender.engine.conditions import Grouped
from recommender.engine.measuring import Measured
from recommender.engine.resolve import SKILLS, Resolved


def brief_facts(resolved: Resolved, *, weighty: bool) -> dict[str, Any]:
    """Facts that are the same for every candidate; `weighty` keeps only tasks whose limits hold."""
    brief = resolved.brief
    hardness = resolved.steel_state.hardness_hrc
    able = [g for g in resolved.gear if g.surfaces]
    fixed = [g.fixed_angle_per_side_deg for g in able]
    typical = [
        (t.task.envelope.stock_thickness_mm.low + t.task.envelope.stock_thickness_mm.high) / 2
        for t in resolved.tasks
        if t.task.id in resolved.weighty_task_ids
    ]
    return {
        "brief.tasks": resolved.weighty_task_ids if weighty else resolved.task_ids,
        "brief.steel.grade": resolved.steel.id,
        "brief.steel.hardness_hrc": hardness,
        "brief.owner.gear": frozenset(g.id for g in resolved.gear),
        "brief.owner.skill": brief.owner.skill,
        "brief.owner.hand": brief.owner.hand,
        "brief.owner.climate": brief.owner.climate,
        "brief.owner.use_hours_per_week": brief.owner.use_hours_per_week,
        "brief.blade.profile": brief.blade.profile,
        "brief.blade.height_mm": brief.blade.height_mm,
        "brief.blade.length_mm": brief.blade.length_mm,
        "brief.workshop.platen": resolved.workshop.platen,
        "brief.workshop.slack_belt": resolved.workshop.slack_belt,
        "derived.steel_family": resolved.steel.family,
        "derived.corrosion_class": resolved.steel.corrosion.class_,
        "derived.toughness_class": resolved.steel.toughness.class_,
        "derived.hardness_over_range_hrc": hardness - resolved.steel.hardness.high_hrc,
        "derived.hardness_under_range_hrc": resolved.steel.hardness.low_hrc - hardness,
        "derived.owner_sharpens": bool(able),
        "derived.gear_thins": any(g.thins for g in resolved.gear),
        "derived.gear_fixed_angle_deg": fixed[0] if len(fixed) == 1 else None,
        "derived.freehand_only": bool(able) and all(g.freehand for g in able),
        "derived.stock_over_usual_mm": _over_usual(resolved),
        "derived.skill_level": float(SKILLS[brief.owner.skill or "beginner"]),
        "derived.task_count": float(len(resolved.tasks)),
        "derived.task_strife": max(typical) / min(typical) if typical else 1.0,
    }


def _over_usual(resolved: Resolved) -> float | None:
    """How much thicker the given bar is than the thickest usual for the tasks, mm; None where none was given."""
    stock = resolved.brief.blade.stock_thickness_mm
    if stock is None:
        return None
    return float(stock - sum(t.share * t.task.envelope.stock_thickness_mm.high for t in resolved.tasks))


class CandidateFacts:
    """Looks a field up for one batch of candidates."""

    def __init__(self, shared: Mapping[str, Any], measured: Measured, tasks: frozenset[str] = frozenset()) -> None:
        self.shared, self.measured, self.tasks = shared, measured, tasks

    def __call__(self, name: str) -> Any:
        """The value of a field: one for all, (n,) by candidate, or None when unknown."""
        if name in self.shared:
            return self.shared[name]
        scope, _, field = name.partition(".")
        if scope == "metric":
            return self.measured.metric(field, self.tasks)
        if scope == "design":
            return self._design(field)
        if name == "derived.gear_fits_grind":
            return self.measured.context.sharpening.able
        if name == "derived.angle_off_gear_deg":
            fixed = self.shared.get("derived.gear_fixed_angle_deg")
            angle = self.measured.designs["edge_angle_per_side_deg"]
            if isinstance(fixed, Grouped):
                fixed = fixed.rows
            return None if fixed is None else np.abs(angle - fixed)
        if name == "derived.angle_wander_deg":
            return self.measured.context.sharpening.angle_wander_deg
        return None

    def _design(self, field: str) -> Any:
        designs = self.measured.designs
        match field:
            case "grind":
                return self.measured.of_grind(lambda grind: grind.id)
            case "parent":
                return self.measured.of_grind(lambda grind: grind.parent)
            case "grind_line_share":
                return designs["grind_line_mm"] / designs["height_mm"]
            case "sides_ground":
                return designs.sides_ground
            case "edge_angle_included_deg":
                return designs.edge_angle_included_deg
            case "apex_included_deg":
                return np.degrees(self.measured.sections.apex_included_rad)
            case "zones":
                return np.where(self.measured.sections.zoned, 2.0, 1.0)
            case _:
                return designs.columns.get(field)
