"""A section lying on its side, edge left, as SVG."""

from __future__ import annotations

import dataclasses

import numpy as np

from recommender.drawing.pages.markup import MARK
from recommender.drawing.pages.site import DrawnSection
from recommender.drawing.sheet.section_views import section_path
from recommender.drawing.sheet.writers.sheet_svg import sheet_svg
from recommender.models.workshop.sheet import Anchor, Label, Layer, Page, Path, Sheet, View

LONG_MM = 120.0
"""Height of the blade on paper."""
_ROUND_MM = 8.0
_LETTERS_MM = 3.5


def section_picture(title: str, drawn: DrawnSection) -> bytes:
    """A section as large as fits, with its edge, spine and grind line named; our mark is its first line."""
    path = section_path(drawn.outline)
    x, y, bulge = path.points.T
    lying = dataclasses.replace(path, points=np.stack([y, -x, bulge], axis=1))
    scale = LONG_MM / float(np.ptp(y))
    low, high = scale * float(-x.max()), scale * float(-x.min())
    foot = _ROUND_MM + 2 * _LETTERS_MM
    view = View(title, scale, (lying,), (_ROUND_MM, foot - low))
    top, below = foot + high - low, foot - _LETTERS_MM - 2
    letters = [_label(_ROUND_MM, below, "edge", "start"), _label(_ROUND_MM + LONG_MM, below, "spine", "end")]
    line = []
    if 0.15 < drawn.line_mm * scale / LONG_MM < 0.85:  # elsewhere it lies where edge or spine does
        at = _ROUND_MM + scale * drawn.line_mm
        letters.append(_label(at, below, "grind line", "middle"))
        ends = np.array([[at, foot - 2, 0.0], [at, top + 2, 0.0]])
        line.append(Path(ends, Layer.GRIND, dashed=True))
    page = Page(title, (view,), (*line, *letters))
    sheet = Sheet(title, LONG_MM + 2 * _ROUND_MM, top + _ROUND_MM, (page,))
    return f"{MARK}\n".encode() + sheet_svg(sheet)


def _label(x: float, y: float, text: str, anchor: Anchor) -> Label:
    return Label(x, y, text, _LETTERS_MM, anchor=anchor)
