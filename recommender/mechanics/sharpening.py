"""What sharpening takes: steel, minutes, and how often before the blade wants thinning."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from recommender.geometry.arcs import Array
from recommender.geometry.outline import Outline, Sides
from recommender.geometry.profile import half_angles, height_at_thickness
from recommender.geometry.section import area_mm2
from recommender.geometry.sharpened import sharpened_back
from recommender.geometry.shoulders import shoulders
from recommender.mechanics.steel import tensile_strength_mpa
from recommender.mechanics.wear import PER_VOLUME_PERCENT

FINISHED_MM = 150.0
"""Length of edge that the gear tables' finishing minutes speak of."""
BACK_PER_SHARPENING_MM = 0.05
"""How far one full sharpening moves the edge back; estimate."""
BACK_BAND_MM = (0.02, 0.1)
USED_UP_SHARE = 0.5
"""A blade is used up when half its height has been sharpened away; common practice."""


def steel_per_sharpening_mm2(outline: Outline, back_mm: npt.ArrayLike = BACK_PER_SHARPENING_MM) -> Array:
    """Area of steel taken off the section by one sharpening, mm2 (= mm3 per mm of edge), (n, v, 3) -> (n,).

    Exact difference of areas, the edge moved back by `back_mm`, a scalar or (n,); usually BACK_PER_SHARPENING_MM, an
    estimate. Source: closed form. Raises GeometryError as `sharpened_back` does.
    """
    return np.asarray(area_mm2(outline) - area_mm2(sharpened_back(outline, back_mm)))


def slowness(hardness_hrc: npt.ArrayLike, carbides: Mapping[str, Any]) -> Any:
    """How much longer a steel takes on abrasives than plain steel of 58 HRC: (1 + sum c V / 250) Rm / Rm(58 HRC).

    A ratio; hardness and volumes (%) broadcast. Wear goes with 1 / hardness (Archard), here by tensile strength, and
    hard carbides hold up the abrasive; c are their weights in slicing tests (`wear`), 250 makes a steel with 8 % of MC
    take about twice as long, common practice. Raises KeyError for a carbide that PER_VOLUME_PERCENT does not have.

    >>> round(float(slowness(58, {})), 2), round(float(slowness(65, {"MC": 8})), 1)
    (1.0, 2.3)
    """
    held = sum(PER_VOLUME_PERCENT[name] * volume for name, volume in carbides.items())
    return (1 + held / 250) * tensile_strength_mpa(hardness_hrc) / tensile_strength_mpa(58.0)


def polish_min_per_mm2(scratches_mm: Sequence[Any], removal_mm3_per_min: Sequence[Any]) -> Any:
    """Minutes of a sequence of finer grits for each mm2 of bevel: sum of s_i / r_i, min/mm2.

    Grit i has to take the bevel down by the depth s_i of the scratches that the grit before it left, mm, at its own
    rate r_i, mm3/min; all broadcast. Source: volume over rate (Preston's rate at a given hand force); that a grit takes
    off what its forerunner scratched and no more is how it is done: common practice. Raises ValueError for sequences of
    different lengths.

    >>> polish_min_per_mm2([0.006, 0.003], [2.0, 1.0])
    0.006
    """
    return sum((s / r for s, r in zip(scratches_mm, removal_mm3_per_min, strict=True)), 0.0)


def bevel_widths_mm(outline: Outline) -> Array:
    """Width of the bevels that a stone lies on when the edge is sharpened, all ground faces together, mm, (n,).

    From apex to shoulder along each face of (n, v, 3); the whole facet where it is ground to zero. Source: definition.
    Raises GeometryError as `shoulders` does.

    >>> float(bevel_widths_mm(np.array([[[0, 0, 0], [3, 4, 0], [3, 20, 0], [-3, 20, 0], [-3, 4, 0.0]]]))[0])
    10.0
    """
    at = shoulders(outline)
    return np.asarray(np.hypot(at.x, at.y - at.apex_mm[:, None]).sum(axis=1))


def minutes_per_sharpening(
    steel_mm2: Array,
    length_mm: npt.ArrayLike,
    removal_mm3_per_min: npt.ArrayLike,
    *,
    setup_minutes: npt.ArrayLike = 0.0,
    finishing_minutes: npt.ArrayLike = 0.0,
    polish_min_per_mm2: npt.ArrayLike = 0.0,
    bevel_mm: npt.ArrayLike = 0.0,
    slowness: npt.ArrayLike = 1.0,
) -> Array:
    """Minutes for one sharpening: set-up + slowness (finishing L / FINISHED_MM + volume / rate + polish x bevel x L).

    Volume is `steel_mm2` x length L; everything broadcasts, `slowness` is a ratio. Preston: the rate k F v depends on
    hand force and speed, not on the width of the facet. `polish_min_per_mm2` of the finer grits goes over bevels
    `bevel_mm` wide together, as `bevel_widths_mm` has them; finishing, the burr, goes by length: an estimate.

    >>> steel = np.array(0.02)  # 3 mm3 along the edge
    >>> float(minutes_per_sharpening(steel, 150.0, 1.5, setup_minutes=3.0, finishing_minutes=4.0))  # 3 + 4 + 3/1.5
    9.0
    """
    length = np.asarray(length_mm, dtype=float)
    worked = np.asarray(finishing_minutes) * length / FINISHED_MM + steel_mm2 * length / np.asarray(removal_mm3_per_min)
    polished = np.asarray(polish_min_per_mm2) * np.asarray(bevel_mm) * length
    return np.asarray(setup_minutes + np.asarray(slowness) * (worked + polished))


def sharpenings_until(
    sides: Sides, thickest_mm: npt.ArrayLike, back_mm: npt.ArrayLike = BACK_PER_SHARPENING_MM
) -> Array:
    """Full sharpenings of a new blade until the shoulder is `thickest_mm` thick, a fractional count (n,).

    `thickest_mm` is a scalar or (n,). The shoulder reaches thickness T where the profile has it, at y(T); the new apex
    then lies T/(tan l + tan r) below it, so the blade has been sharpened back by y(T) - T/(tan l + tan r). Blades
    ground to zero keep their section, and some never grow so thick: they last until half their height is gone, which
    bounds every count.
    A hollowed back counts as flat: it is laid on the stone at every sharpening, so near the edge there is its rim.
    A sharpening takes the edge back by `back_mm`, a scalar or (n,). Source: closed form; the step is an estimate.
    """
    sides = sides.flat_backed
    wanted = np.broadcast_to(np.asarray(thickest_mm, dtype=float), sides.x0.shape[:1])
    left, right = half_angles(sides, 0.0)
    spread = np.tan(left) + np.tan(right)
    height = np.asarray(height_at_thickness(sides, wanted))
    back = height - wanted / spread
    count = back / np.asarray(back_mm)
    first_bevel = np.isclose(height, wanted / spread, rtol=1e-9)
    # The wanted thickness lies within the first bevel: on a wide facet ground to zero the section just moves up;
    # on a thick edge bevel the shoulder was beyond it from the start.
    shoulder_mm = _shoulder_thickness(sides)
    zero_ground = shoulder_mm >= 0.98 * np.ptp(sides.x0, axis=1)
    count = np.where(first_bevel & ~zero_ground, 0.0, count)
    most = USED_UP_SHARE * sides.y0.max(axis=1) / np.asarray(back_mm)
    count = np.where(np.isnan(height) | (first_bevel & zero_ground), most, count)
    return np.asarray(np.clip(count, 0.0, most))


def _shoulder_thickness(sides: Sides) -> Array:
    """Thickness at the lowest vertex above the apex on a ground face, mm."""
    x = np.where(sides.y0 > 0, np.abs(sides.x0), 0.0)
    y = np.where((sides.y0 > 0) & (x > 0), sides.y0, np.inf)
    rows = np.arange(len(y))
    lowest = np.argmin(y, axis=1)
    both = (sides.x0.min(axis=1) < -1e-12) & (sides.x0.max(axis=1) > 1e-12)
    return np.asarray(x[rows, lowest] * np.where(both, 2.0, 1.0))
