"""A drawing before it is written in any format: pages of views, views of paths and labels, on named layers.

Lengths are mm, x runs right and y up, on paper as in a view. A view's items are in the mm of what it shows;
`View.on_paper` brings them onto the page. Sizes of lettering are always mm on paper.
"""

from __future__ import annotations

import enum
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

import numpy as np
import numpy.typing as npt

Points: TypeAlias = npt.NDArray[np.float64]


class Layer(enum.StrEnum):
    """What a line or a text says, and so how it is drawn."""

    OUTLINE = "OUTLINE"
    GRIND = "GRIND"
    PLUNGE = "PLUNGE"
    TRANSITION = "TRANSITION"
    SWEDGE = "SWEDGE"
    BALANCE = "BALANCE"
    CENTRE = "CENTRE"
    DIMENSION = "DIMENSION"
    TEXT = "TEXT"
    FRAME = "FRAME"


@dataclass(frozen=True)
class Path:
    """Lines and arcs from point to point: (n, 3) x, y, bulge, as in DXF's LWPOLYLINE; bulge = tan(arc angle / 4)."""

    points: Points
    """x and y in mm of the view or the page it lies in."""
    layer: Layer
    closed: bool = False
    filled: bool = False
    dashed: bool = False

    def moved(self, scale: float, x_mm: float, y_mm: float) -> Path:
        """The path scaled (a ratio) about the origin, then moved; bulges stay."""
        return replace(self, points=self.points * (scale, scale, 1.0) + (x_mm, y_mm, 0.0))

    def segments(self) -> Iterator[tuple[float, float, float, float, float]]:
        """Each side as x0, y0, x1, y1 (mm), bulge, the closing one too; sides without length are left out."""
        following = np.roll(self.points, -1, axis=0)
        count = len(self.points) if self.closed else len(self.points) - 1
        for (x0, y0, bulge), (x1, y1, _) in zip(self.points[:count].tolist(), following[:count].tolist(), strict=True):
            if math.hypot(x1 - x0, y1 - y0) > 1e-12:
                yield x0, y0, x1, y1, bulge


Anchor: TypeAlias = Literal["start", "middle", "end"]


@dataclass(frozen=True)
class Label:
    """One line of text; its anchor is a point of its baseline."""

    x: float
    """In mm of the view or the page it lies in, as y is."""
    y: float
    text: str
    size_mm: float
    """Height of the body its letters stand on, on paper."""
    layer: Layer = Layer.TEXT
    anchor: Anchor = "start"
    turned_deg: float = 0.0
    """Anticlockwise."""
    bold: bool = False

    def moved(self, scale: float, x_mm: float, y_mm: float) -> Label:
        """The label where it belongs after scaling about the origin and moving; its lettering keeps its size."""
        return replace(self, x=self.x * scale + x_mm, y=self.y * scale + y_mm)


Item: TypeAlias = Path | Label


@dataclass(frozen=True)
class View:
    """One thing drawn at one scale."""

    name: str
    scale: float
    """Paper mm for each mm of the blade."""
    items: tuple[Item, ...]
    origin_mm: tuple[float, float] = (0.0, 0.0)
    """Where its own origin lies on paper."""
    enlarged: bool = False
    """A magnified detail: stays at its scale where everything else is drawn at true size."""
    paper_only: tuple[Item, ...] = ()
    """What is true at this scale alone, such as the words that name it; in the same mm as the items."""

    def on_paper(self) -> tuple[Item, ...]:
        """Its items in mm on paper."""
        return tuple(item.moved(self.scale, *self.origin_mm) for item in (*self.items, *self.paper_only))

    def at(self, x_mm: float, y_mm: float) -> View:
        """The same view somewhere else on paper."""
        return replace(self, origin_mm=(x_mm, y_mm))


@dataclass(frozen=True)
class Page:
    """What is on one side of paper."""

    name: str
    views: tuple[View, ...]
    items: tuple[Item, ...]
    """Frame, title block, rulers: in mm on paper."""

    def on_paper(self) -> tuple[Item, ...]:
        """Everything on it in mm on paper."""
        return (*self.items, *(item for view in self.views for item in view.on_paper()))


Paper: TypeAlias = Literal["a4", "letter"]
PAPERS_MM: dict[Paper, tuple[float, float]] = {"a4": (297.0, 210.0), "letter": (279.4, 215.9)}
"""Width and height, lying: A4 of ISO 216, Letter of ANSI/ASME Y14.1 (11 in x 8.5 in); both from memory."""


@dataclass(frozen=True)
class Sheet:
    """A whole drawing."""

    title: str
    width_mm: float
    height_mm: float
    pages: tuple[Page, ...]


def scale_words(scale: float) -> str:
    """Write a scale as drawings do.

    >>> scale_words(2.0), scale_words(0.2)
    ('2:1', '1:5')
    """
    return f"{scale:g}:1" if scale >= 1 else f"1:{1 / scale:g}"
