"""How much room things take on paper: boxes round lines and lettering."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from recommender.drawing.pdf_font import text_width_mm
from recommender.models.workshop.sheet import Item, Label, Path, View

ASCENT, DESCENT = 0.75, 0.25
"""How far the typeface's tallest letters reach above the baseline and its lowest below, shares of the body."""


@dataclass(frozen=True)
class Box:
    """An upright rectangle, mm."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        """From left to right."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """From bottom to top."""
        return self.top - self.bottom

    def within(self, other: Box) -> bool:
        """Whether it lies wholly in another."""
        inside = self.left >= other.left and self.right <= other.right
        return inside and self.bottom >= other.bottom and self.top <= other.top

    @classmethod
    def around(cls, boxes: Iterable[Box]) -> Box:
        """The smallest box that holds others; there must be one."""
        every = list(boxes)
        return cls(
            min(b.left for b in every),
            min(b.bottom for b in every),
            max(b.right for b in every),
            max(b.top for b in every),
        )


def label_width_mm(label: Label) -> float:
    """How long a label is on paper."""
    return text_width_mm(label.text, label.size_mm, bold=label.bold)


def label_start(label: Label, width_mm: float) -> tuple[float, float]:
    """Where the first letter of a label of that width stands."""
    back = {"start": 0.0, "middle": 0.5, "end": 1.0}[label.anchor] * width_mm
    turn = math.radians(label.turned_deg)
    return label.x - back * math.cos(turn), label.y - back * math.sin(turn)


def box_of(item: Item) -> Box:
    """The box round an item that is in mm on paper; arcs count with their whole bulge."""
    if isinstance(item, Path):
        return _path_box(item)
    width, turn = label_width_mm(item), math.radians(item.turned_deg)
    x, y = label_start(item, width)
    along, up = (math.cos(turn), math.sin(turn)), (-math.sin(turn), math.cos(turn))
    corners = [
        (x + a * along[0] + b * up[0], y + a * along[1] + b * up[1])
        for a in (0.0, width)
        for b in (-DESCENT * item.size_mm, ASCENT * item.size_mm)
    ]
    xs, ys = zip(*corners, strict=True)
    return Box(min(xs), min(ys), max(xs), max(ys))


def _path_box(path: Path) -> Box:
    xs, ys = [path.points[:, 0]], [path.points[:, 1]]
    for x0, y0, x1, y1, bulge in path.segments():
        # The arc's highest point over its chord; a little too much for one that does not turn there, never too little.
        rise_x, rise_y = bulge * (y1 - y0) / 2, -bulge * (x1 - x0) / 2
        xs.append(np.array([x0 + rise_x, x1 + rise_x]))
        ys.append(np.array([y0 + rise_y, y1 + rise_y]))
    x, y = np.concatenate(xs), np.concatenate(ys)
    return Box(float(x.min()), float(y.min()), float(x.max()), float(y.max()))


def view_box(view: View) -> Box:
    """The box round a view on paper."""
    return Box.around(box_of(item) for item in view.on_paper())
