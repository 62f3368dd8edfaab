"""Dimensions composed from lines, arrowheads and texts; arrows and lettering keep their size on paper at any scale."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from recommender.drawing.pdf_font import text_width_mm
from recommender.models.workshop.sheet import Anchor, Item, Label, Layer, Path

SIZE_MM = 3.4
"""Of the figures."""
ARROW_MM, _ARROW_HALF_MM = 2.2, 0.38
_GAP_MM, _BEYOND_MM = 0.8, 1.2
"""Between outline and extension line; how far that runs on beyond the dimension line."""
_TAIL_MM = 4.5
"""Of an arrow that points from outside."""
_ROOM_MM = 2.5
"""More than its figure that a dimension must have to hold it."""
_LIFT_MM = 0.9
"""Of the figure over its line."""


def line(points: Sequence[tuple[float, float]], layer: Layer = Layer.DIMENSION, *, dashed: bool = False) -> Path:
    """Straight lines from point to point."""
    return Path(np.array([(x, y, 0.0) for x, y in points]), layer, dashed=dashed)


def arrow(x: float, y: float, toward_deg: float, scale: float) -> Path:
    """An arrowhead with its point at (x, y)."""
    turn = math.radians(toward_deg)
    along, across = (math.cos(turn), math.sin(turn)), (-math.sin(turn), math.cos(turn))
    length, half = ARROW_MM / scale, _ARROW_HALF_MM / scale
    corners = [(0.0, 0.0), (-length, half), (-length, -half)]
    points = [(x + a * along[0] + b * across[0], y + a * along[1] + b * across[1], 0.0) for a, b in corners]
    return Path(np.array(points), Layer.DIMENSION, closed=True, filled=True)


@dataclass(frozen=True)
class Dimensions:
    """Writes dimensions into a view of one scale."""

    scale: float

    def across(self, x0: float, x1: float, at: float, text: str, *, feet: tuple[float, float]) -> list[Item]:
        """A width from x0 to x1 along a line at height `at`; extension lines start beside the heights `feet`."""
        return self._measured(x0, x1, at, text, feet, upright=False)

    def upright(
        self, y0: float, y1: float, at: float, text: str, *, feet: tuple[float, float], below: bool = False
    ) -> list[Item]:
        """A height from y0 to y1 along a line at x = `at`; extension lines start beside the x of `feet`.

        Figures that have no room inside stand above, or below.
        """
        # Drawn lying and then turned a quarter anticlockwise, (u, v) -> (-v, u), so that it reads from the right.
        return self._measured(y0, y1, -at, text, (-feet[0], -feet[1]), upright=True, before=below)

    def _measured(
        self,
        u0: float,
        u1: float,
        at: float,
        text: str,
        feet: tuple[float, float],
        *,
        upright: bool,
        before: bool = False,
    ) -> list[Item]:
        s, turned = self.scale, 90.0 if upright else 0.0

        def place(u: float, v: float) -> tuple[float, float]:
            return (-v, u) if upright else (u, v)

        items: list[Item] = []
        for u, foot in ((u0, feet[0]), (u1, feet[1])):
            away = math.copysign(1.0, at - foot)
            if abs(at - foot) * s > _GAP_MM:
                items.append(line([place(u, foot + away * _GAP_MM / s), place(u, at + away * _BEYOND_MM / s)]))
        inside = self._holds_arrows(u1 - u0)
        start, end, middle = self._spread(u0, u1, text, before=before)
        items.append(line([place(start, at), place(end, at)]))
        items.append(arrow(*place(u0, at), (180.0 if inside else 0.0) + turned, s))
        items.append(arrow(*place(u1, at), (0.0 if inside else 180.0) + turned, s))
        items.append(Label(*place(middle, at + _LIFT_MM / s), text, SIZE_MM, Layer.DIMENSION, "middle", turned))
        return items

    def _spread(self, u0: float, u1: float, text: str, *, before: bool) -> tuple[float, float, float]:
        """Ends of a dimension line and the middle of its text, which stands beyond an end where it has no room."""
        tail = 0.0 if self._holds_arrows(u1 - u0) else _TAIL_MM / self.scale
        if self.holds(u1 - u0, text):
            return u0 - tail, u1 + tail, (u0 + u1) / 2
        width = text_width_mm(text, SIZE_MM) / self.scale
        reach = max(tail, 1.5 / self.scale) + width + 0.5 / self.scale
        if before:
            return u0 - reach, u1 + tail, u0 - reach + width / 2
        return u0 - tail, u1 + reach, u1 + reach - width / 2

    def _holds_arrows(self, length: float) -> bool:
        return length * self.scale >= 3 * ARROW_MM

    def holds(self, length: float, text: str) -> bool:
        """Whether a text has room inside a dimension of that length."""
        return length * self.scale >= text_width_mm(text, SIZE_MM) + _ROOM_MM

    def leader(self, start: tuple[float, float], end: tuple[float, float], text: str, anchor: Anchor) -> list[Item]:
        """An arrow that points at `start`, and the text at its other end."""
        toward = math.degrees(math.atan2(start[1] - end[1], start[0] - end[0]))
        away = {"start": 1.0, "end": -1.0, "middle": 0.0}[anchor] / self.scale
        drop = SIZE_MM * 0.33 / self.scale
        return [
            line([start, end]),
            arrow(*start, toward, self.scale),
            Label(end[0] + away, end[1] - drop, text, SIZE_MM, Layer.DIMENSION, anchor),
        ]

    def angle(self, radius_mm: float, low_deg: float, high_deg: float) -> list[Item]:
        """An arc about the origin between two directions with arrows at its ends; radius in mm on paper."""
        r = radius_mm / self.scale
        low, high = math.radians(low_deg), math.radians(high_deg)
        ends = [(r * math.cos(a), r * math.sin(a)) for a in (low, high)]
        bulge = math.tan((high - low) / 4)
        outside = (high - low) * radius_mm < 3 * ARROW_MM
        # An arrow's chord leans a little off the tangent at its point.
        lean = math.degrees(ARROW_MM / radius_mm / 2)
        toward_low = low_deg + (90.0 + lean if outside else -90.0 + lean)
        toward_high = high_deg + (-90.0 - lean if outside else 90.0 - lean)
        arc = np.array([(*ends[0], bulge), (*ends[1], 0.0)])
        return [
            Path(arc, Layer.DIMENSION),
            arrow(*ends[0], toward_low, self.scale),
            arrow(*ends[1], toward_high, self.scale),
        ]
