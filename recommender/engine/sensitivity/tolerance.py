"""How closely each dimension must be kept: what the shop's usual error does to points and limits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from recommender.engine.intake.case import Case
from recommender.engine.search.candidates import LINE_SHARE
from recommender.engine.search.measuring import Measured
from recommender.engine.search.ranking import Best, joined_designs
from recommender.engine.search.scoring import Scores, score
from recommender.geometry.arcs import Array
from recommender.geometry.ground_face import is_one_bevel
from recommender.models.answer.proposal import UNGROUND, Moved, Tolerance
from recommender.models.knowledge.rule import GoalEffect
from recommender.plugin.api import Designs, Grind, Metric, refused_rows
from recommender.plugin.guard import Registered

WORN_SHARE = 0.03
"""How much of its diameter a contact wheel loses before it is replaced; estimate, 0.02-0.05."""
REACH = 8
"""A dimension is followed up to so many errors off, either way."""
ROOM_POINTS = 1.0
"""Points whose loss ends a dimension's room: a maker would notice."""


@dataclass(frozen=True)
class _Dimension:
    name: str
    label: str
    unit: str
    error: float
    senses: tuple[int, ...] = (-1, 1)


_DIMENSIONS = (
    _Dimension("stock_thickness_mm", "stock thickness", "mm", 0.1),
    _Dimension("edge_angle_per_side_deg", "edge angle per side", "deg", 0.5),
    _Dimension("edge_thickness_mm", "thickness behind the edge", "mm", 0.05),
    _Dimension("grind_line_mm", "grind line", "mm", 0.5),
    _Dimension("wheel_diameter_mm", "contact wheel", "mm", WORN_SHARE, (-1,)),
)


def tolerances(best: Best, case: Case) -> tuple[Tolerance, ...]:
    """Every dimension of a proposal, the tightest first: the one whose usual error costs most.

    All errors of all dimensions are measured as one batch. A dimension that follows from others (the line of a scandi)
    is left out; what cannot be ground any more counts as a broken limit.
    """
    designs = best.measured.designs
    grind = best.grind.item
    dimensions = [d for d in _DIMENSIONS if _is_free(d, grind, designs)]
    if is_one_bevel(best.measured.sections.outlines)[0]:  # no shoulder at which it could be off
        dimensions = [d for d in dimensions if d.name != "edge_thickness_mm"]
    rows = [designs]
    keys: list[tuple[_Dimension, int, int]] = []
    for d in dimensions:
        for sense in d.senses:
            for steps in range(1, (REACH if len(d.senses) > 1 else 1) + 1):
                keys.append((d, sense, steps))
                rows.append(_off(designs, d, sense * steps))
    registry = case.registry
    doing = f"checking {grind.id}"
    whole = registry.call(best.grind.origin, doing, grind.complete, joined_designs(rows))
    if whole is None:
        return ()
    refused = registry.call(
        best.grind.origin, doing, lambda: refused_rows(grind.refusals(whole, case.resolved.workshop), len(whole))
    )
    if refused is None:
        return ()
    kept = np.flatnonzero(~refused)
    measured = Measured.of(best.grind, whole.taking(kept), best.measured.context, registry)
    if measured is None or refused[0]:
        return ()
    scores = score(measured, case.rules)
    place = np.full(len(whole), -1)
    place[kept] = np.arange(len(kept))
    out = [_tolerance(d, keys, place, scores, designs, registry.metrics) for d in dimensions]
    return tuple(sorted(out, key=lambda t: (not t.breaks, -t.points_lost)))


def _is_free(d: _Dimension, grind: Grind, designs: Designs) -> bool:
    if d.name == "grind_line_mm":
        return grind.parameter(LINE_SHARE) is not None
    if d.name == "edge_thickness_mm":
        return float(designs[d.name][0]) > 0
    return grind.parameter(d.name) is not None and not np.isnan(designs[d.name][0])


def _off(designs: Designs, d: _Dimension, steps: int) -> Designs:
    if d.name == "wheel_diameter_mm":
        return designs.changed(wheel_diameter_mm=designs[d.name] * (1 + steps * d.error))
    if d.name == "grind_line_mm":
        return designs.changed(**{LINE_SHARE: (designs[d.name] + steps * d.error) / designs["height_mm"]})
    return designs.changed(**{d.name: np.maximum(designs[d.name] + steps * d.error, 1e-3)})


def _tolerance(
    d: _Dimension,
    keys: list[tuple[_Dimension, int, int]],
    place: np.ndarray,
    scores: Scores,
    designs: Designs,
    metrics: Mapping[str, Registered[Metric]],
) -> Tolerance:
    points: Array = scores.points
    ends: list[tuple[float, int, tuple[str, ...], int]] = []
    room: dict[int, float | None] = {}
    error = d.error * float(designs[d.name][0]) if d.name == "wheel_diameter_mm" else d.error
    for sense in d.senses:
        room[sense] = None
        for i, (other, way, steps) in enumerate(keys):
            if other is not d or way != sense:
                continue
            row = int(place[i + 1])
            broken = _newly_broken(scores, row)
            lost = float(points[0] - points[row]) if row >= 0 else 0.0
            if steps == 1:
                ends.append((lost, sense, broken, row))
            if room[sense] is None and (broken or lost > ROOM_POINTS):
                room[sense] = (steps - 1) * error
    worst = max(ends, key=lambda end: (bool(end[2]), end[0]))
    lost, sense, broken, row = worst
    return Tolerance(
        dimension=d.name,
        label=d.label,
        unit=d.unit,
        error=round(error, 4),
        worse="under" if sense < 0 else "over",
        points_lost=round(max(lost, 0.0), 2),
        breaks=broken,
        room_under=room.get(-1),
        room_over=room.get(1),
        moves=_moves(scores, row, metrics),
    )


def _newly_broken(scores: Scores, row: int) -> tuple[str, ...]:
    if row < 0:
        return (UNGROUND,)
    return tuple(s.rule.rule.title for s in scores.limits if s.broken[row] and not s.broken[0])


def _moves(scores: Scores, row: int, metrics: Mapping[str, Registered[Metric]]) -> Moved | None:
    """The figure that costs most, from and to."""
    if row < 0:
        return None
    best: tuple[float, Moved] | None = None
    for goal in scores.goals:
        effect = goal.rule.rule.effect
        assert isinstance(effect, GoalEffect)
        lost = float(scores.points_of(goal)[0] - scores.points_of(goal)[row])
        if lost > 0.005 and (best is None or lost > best[0]):
            metric = metrics[effect.metric].item
            before, then = (None if np.isnan(v) else round(float(v), 6) for v in (goal.value[0], goal.value[row]))
            best = (
                lost,
                Moved(metric=metric.id, label=metric.label, unit=metric.unit.value, proposed=before, then=then),
            )
    return None if best is None else best[1]
