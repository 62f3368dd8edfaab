"""What every outline that a grind does not refuse keeps to, each promise a function of designs and outlines to rows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from recommender.geometry.outline import Outline, Sides, mirrored
from recommender.geometry.profile import half_angles, min_thickness, thickness
from recommender.plugin.api import BOTH, LEFT, RIGHT, Designs

Rows = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Promise:
    """Something that outlines keep to: in words, and which of n designs' outlines (n, v, 3) do."""

    words: str
    kept: Callable[[Designs, Outline], Rows]


def _starts_at_apex(designs: Designs, outlines: Outline) -> Rows:
    return np.asarray((outlines[:, 0, :2] == 0).all(axis=1) & (outlines[..., 1] >= 0).all(axis=1))


def _anticlockwise(designs: Designs, outlines: Outline) -> Rows:
    x, y = outlines[..., 0], outlines[..., 1]
    return np.asarray((x * np.roll(y, -1, axis=1) - np.roll(x, -1, axis=1) * y).sum(axis=1) > 0)


def _never_turns_back(designs: Designs, outlines: Outline) -> Rows:
    sides = Sides.of(outlines)
    rows = np.arange(len(outlines))
    if sides.monotone:
        return np.full(len(rows), True)
    return np.array([sides.taking(rows[k : k + 1]).monotone for k in rows])


def _fills_the_bar(designs: Designs, outlines: Outline) -> Rows:
    high = np.isclose(outlines[..., 1].max(axis=1), designs["height_mm"], rtol=1e-14, atol=0)
    wide = np.isclose(np.ptp(outlines[..., 0], axis=1), designs["stock_thickness_mm"], rtol=1e-12, atol=0)
    return np.asarray(high & wide)


def _faces_do_not_cross(designs: Designs, outlines: Outline) -> Rows:
    least, _ = min_thickness(outlines, designs.edge_bevel_height_mm, designs["height_mm"])
    levels = designs["height_mm"][:, None] * np.linspace(0.0, 1.0, 61)[1:-1]
    return np.asarray((least >= 0) & (thickness(outlines, levels) > 0).all(axis=1))


def _shoulder(designs: Designs, outlines: Outline) -> Rows:
    thick = thickness(outlines, designs.edge_bevel_height_mm)
    return np.asarray(np.isclose(thick, designs["edge_thickness_mm"], rtol=1e-6, atol=1e-11))


def _no_waist(designs: Designs, outlines: Outline) -> Rows:
    least, _ = min_thickness(outlines, designs.edge_bevel_height_mm, designs["grind_line_mm"])
    return np.asarray(least >= designs["edge_thickness_mm"] - 1e-9)


def _full_stock_at_the_line(designs: Designs, outlines: Outline) -> Rows:
    line, stock = designs["grind_line_mm"], designs["stock_thickness_mm"]
    sides = Sides.of(outlines).flat_backed
    there = np.isclose(thickness(sides, line), stock, rtol=1e-11, atol=0)
    below = thickness(sides, 0.98 * line) < stock
    return np.asarray(there & below & (line <= designs["height_mm"] * (1 + 1e-12)))


def _edge_angle(designs: Designs, outlines: Outline) -> Rows:
    micro = designs["micro_bevel_per_side_deg"]
    wanted = np.radians(np.where(np.isnan(micro), designs["edge_angle_per_side_deg"], micro))
    left, right = half_angles(outlines, 0.0)
    on_left = np.where(np.isin(designs["side"], (BOTH, LEFT)), wanted, 0.0)
    on_right = np.where(np.isin(designs["side"], (BOTH, RIGHT)), wanted, 0.0)
    off = np.maximum(np.abs(left - on_left), np.abs(right - on_right))
    return np.asarray(off <= 1e-12)


def _sides(designs: Designs, outlines: Outline) -> Rows:
    x, side = outlines[..., 0], designs["side"]
    alike = (mirrored(outlines) == outlines).all(axis=(1, 2))
    on_right, on_left = (x >= 0).all(axis=1), (x <= 0).all(axis=1)
    return np.asarray(np.select([side == BOTH, side == RIGHT, side == LEFT], [alike, on_right, on_left], False))


PROMISES = (
    Promise("start at the apex in x = y = 0 and lie above it", _starts_at_apex),
    Promise("run anticlockwise", _anticlockwise),
    Promise("have no face that turns back towards the edge", _never_turns_back),
    Promise("are as wide and as high as the bar", _fills_the_bar),
    Promise("have no crossing faces", _faces_do_not_cross),
    Promise("have the edge angle of the design per ground side, none on an unground one", _edge_angle),
    Promise("are as thick at the shoulder as the design says", _shoulder),
    Promise("have no waist: a waist is refused", _no_waist),
    Promise("reach full stock at the grind line and not below", _full_stock_at_the_line),
    Promise("mirror themselves where both sides are ground, else keep to the ground side of x = 0", _sides),
)


def misshapen(outlines: npt.NDArray[np.generic], n: int) -> str | None:
    """What is wrong with the array itself: its type, shape or numbers."""
    if outlines.dtype != np.float64:
        return f"give {outlines.dtype} instead of float64"
    if outlines.ndim != 3 or outlines.shape[0] != n or outlines.shape[1] < 3 or outlines.shape[2] != 3:
        return f"have shape {outlines.shape} instead of ({n}, at least 3, 3)"
    if not np.isfinite(outlines).all():
        rows = (~np.isfinite(outlines)).any(axis=(1, 2))
        return f"hold numbers that are not finite in {rows.sum():,} of {n:,} designs"
    if (np.abs(outlines[..., 2]) > 1).any():
        return "hold a bulge beyond 1, an arc of more than a half-circle"
    return None
