"""The primary grind of a face as the maker sets it up: angle, depth, sagitta, where it would reach the edge line."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from recommender.geometry.arcs import Array
from recommender.geometry.outline import Outline, Sides, as_batch, mirrored

FLAT_SAGITTA_MM = 1e-6
"""Less than this is straight."""
_NOTHING_MM = 1e-9


@dataclass(frozen=True)
class GroundFace:
    """The side from shoulder to grind line on the right face of n sections; mm and radians, each (n,)."""

    shoulder_x_mm: Array
    shoulder_y_mm: Array
    line_x_mm: Array
    line_y_mm: Array
    bulge: Array

    @classmethod
    def right(cls, outlines: Outline) -> GroundFace:
        """Of the right face of (n, v, 3): the last side that widens it, but for the first, which is the edge bevel.

        Where there is a micro-bevel, that is the third side. Raises GeometryError as `as_batch` does.
        """
        v = as_batch(outlines)
        last, rows = _primary_side(v), np.arange(len(v))
        low, high = v[rows, last], v[rows, last + 1]
        return cls(low[:, 0], low[:, 1], high[:, 0], high[:, 1], low[:, 2])

    @classmethod
    def left(cls, outlines: Outline) -> GroundFace:
        """Of the left face of (n, v, 3), as the right face of the mirror image."""
        return cls.right(mirrored(as_batch(outlines)))

    @property
    def depth_mm(self) -> Array:
        """How much further the bar stands out at the grind line than the shoulder, (n,)."""
        return np.asarray(self.line_x_mm - self.shoulder_x_mm)

    @property
    def height_mm(self) -> Array:
        """From shoulder to grind line, along the blade's height, (n,)."""
        return np.asarray(self.line_y_mm - self.shoulder_y_mm)

    @property
    def ground(self) -> npt.NDArray[np.bool_]:
        """Whether this face is ground at all, (n,)."""
        return np.asarray((self.depth_mm > _NOTHING_MM) & (self.height_mm > _NOTHING_MM))

    @cached_property
    def chord_mm(self) -> Array:
        """Straight from shoulder to grind line, (n,)."""
        return np.asarray(np.hypot(self.depth_mm, self.height_mm))

    @property
    def angle_rad(self) -> Array:
        """Of that chord against the blade's plane: the platen's angle for a flat, atan(depth / height), (n,)."""
        return np.asarray(np.arctan2(self.depth_mm, self.height_mm))

    @property
    def sagitta_mm(self) -> Array:
        """How far the face bulges out of its chord (below 0: is hollowed), bulge x chord / 2, (n,).

        Source: closed form.
        """
        return np.asarray(self.bulge * self.chord_mm / 2)

    @property
    def reach_mm(self) -> Array:
        """Where the face, ground on past the shoulder down to the edge line y = 0, would stand off x = 0, (n,).

        On a line x = x_s - y_s d/h; on an arc the nearer of the points where its circle meets the edge line. Never
        below 0, and 0 on a face that is not ground. Edge bevels are put on afterwards, from there to the apex.
        Source: closed form. Where the circle does not come down to the edge line, its lowest point stands for that.
        """
        b, c = self.bulge, np.maximum(self.chord_mm, 1e-12)
        straight = self.shoulder_x_mm - self.shoulder_y_mm * self.depth_mm / np.maximum(self.height_mm, 1e-12)
        curved = np.abs(b) * c / 2 > FLAT_SAGITTA_MM
        bulge = np.where(curved, b, 1.0)
        # Centre of the circle: from the chord's middle along its left normal, c (1 - b^2) / (4 b).
        away = (1 - bulge**2) / (4 * bulge)
        centre_x = (self.shoulder_x_mm + self.line_x_mm) / 2 - self.height_mm * away
        centre_y = (self.shoulder_y_mm + self.line_y_mm) / 2 + self.depth_mm * away
        radius = c * (1 + bulge**2) / (4 * np.abs(bulge))
        across = np.sqrt(np.maximum(radius**2 - centre_y**2, 0.0))
        arc = centre_x + np.where(self.shoulder_x_mm >= centre_x, across, -across)
        return np.where(self.ground, np.maximum(np.where(curved, arc, straight), 0.0), 0.0)

    def from_edge(self) -> GroundFace:
        """The same faces ground on from the grind line down to the edge line, as `reach_mm` has it.

        Where edge bevel and primary grind are one there is nothing else to set up: chord, depth and sagitta run from
        the edge. An arc keeps its radius r over the longer chord c', its bulge tan(asin(c' / 2r) / 2). Source: closed
        form.
        """
        nothing = np.zeros_like(self.shoulder_y_mm)
        whole = GroundFace(self.reach_mm, nothing, self.line_x_mm, self.line_y_mm, nothing)
        # 1 / 2r = sin(2 atan b) / c = 2 b / (c (1 + b^2))
        curvature = 2 * self.bulge / (np.maximum(self.chord_mm, 1e-12) * (1 + self.bulge**2))
        sine = np.clip(whole.chord_mm * curvature, -1.0, 1.0)
        return replace(whole, bulge=np.tan(np.arcsin(sine) / 2))


def _primary_side(v: Outline) -> npt.NDArray[np.intp]:
    """Which side of the right face of (n, v, 3) is the primary grind, (n,)."""
    spine = Sides.of_checked(v).spine_side[:, None]
    widens = np.diff(v[..., 0], axis=1) > _NOTHING_MM
    index = np.arange(v.shape[1] - 1)[None, :]
    return np.asarray(np.where(widens & (index >= 1) & (index < spine), index, 1).max(axis=1))


ONE_BEVEL_DEG = 1.5
"""Edge bevel and primary grind that meet at less than this per side are one bevel: no hand, stone or caliper finds a
shoulder between them; estimate, 1 to 2, what a good hand holds an angle to."""


def is_one_bevel(outlines: Outline) -> npt.NDArray[np.bool_]:
    """Whether edge bevel and primary grind of (n, v, 3) meet on every ground face at less than ONE_BEVEL_DEG, (n,).

    The primary grind leaves its shoulder at the angle of its chord plus half its arc's, 2 atan(bulge). False where
    there is no edge bevel. Source: closed form; the angle is an estimate. Raises GeometryError as `as_batch` does.

    >>> outline = [[0, 0, 0], [1, 3, 0], [4, 12.4, 0], [4, 40, 0], [-4, 40, 0], [-4, 12.4, 0], [-1, 3, 0]]
    >>> is_one_bevel(np.array([outline])).tolist()  # 18.4 and 17.7 degrees
    [True]
    """
    v = as_batch(outlines)
    one = np.full(len(v), True)
    any_ground = np.full(len(v), False)
    for face in (v, mirrored(v)):
        primary, k = GroundFace.right(face), _primary_side(face)
        rows = np.arange(len(face))
        below = face[rows, k - 1]
        bevel = np.arctan2(primary.shoulder_x_mm - below[:, 0], primary.shoulder_y_mm - below[:, 1])
        leaves = primary.angle_rad + 2 * np.arctan(primary.bulge)
        there = primary.ground & (primary.shoulder_x_mm > _NOTHING_MM)
        near = np.abs(bevel - leaves) < np.radians(ONE_BEVEL_DEG)
        one &= ~primary.ground | (there & near)
        any_ground |= there
    return np.asarray(one & any_ground)


def edge_flat_mm(outlines: Outline) -> Array:
    """Width of the flat that a blade (n, v, 3) has along its edge before the edge bevels are put on, mm (n,).

    What the maker's calipers read on a blade that is ground but not sharpened: both faces' reach together.
    Source: closed form. Raises GeometryError as `as_batch` does.

    >>> wedge = np.array([[0, 0, 0], [0.2, 0.5, 0], [1.5, 20, 0], [-1.5, 20, 0], [-0.2, 0.5, 0.0]])
    >>> float(edge_flat_mm(wedge)[0].round(6))  # 0.4 less twice 0.5 x 1.3/19.5
    0.333333
    """
    return np.asarray(GroundFace.right(outlines).reach_mm + GroundFace.left(outlines).reach_mm)
