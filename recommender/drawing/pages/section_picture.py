"""A section lying on its side, edge left, as SVG."""

from __future__ import annotations

import dataclasses

import numpy as np

from recommender.drawing.pages.markup import MARK
from recommender.drawing.pages.site import Drawn
from recommender.drawing.section_views import section_path
from recommender.drawing.sheet_svg import sheet_svg
from recommender.models.sheet import Label, Layer, Page, Path, Sheet, View

LONG_MM = 120.0
"""Height of the blade on paper."""
_ROUND_MM = 8.0
_LETTERS_MM = 3.5


def section_picture(title: str, drawn: Drawn) -> bytes:
    """A section as large as fits, with its edge, spine and grind line named; our mark is its first line."""
    path = section_path(drawn.outline)
    x, y, bulge = path.points.T
    lying = dataclasses.replace(path, points=np.stack([y, -x, bulge], axis=1))
    height = float(np.ptp(y))
    scale = LONG_MM / height
    half = scale * float(np.abs(x).max())
    foot, centre = _ROUND_MM + 2 * _LETTERS_MM, _ROUND_MM + 2 * _LETTERS_MM + half
    view = View(title, scale, (lying,), (_ROUND_MM, centre))
    at = _ROUND_MM + scale * drawn.line_mm
    line = Path(np.array([[at, centre - half - 2, 0.0], [at, centre + half + 2, 0.0]]), Layer.GRIND, dashed=True)
    below = foot - _LETTERS_MM - 2
    letters = [Label(_ROUND_MM, below, "edge", _LETTERS_MM), _label(_ROUND_MM + LONG_MM, below, "spine", "end")]
    if 0.15 * LONG_MM < at - _ROUND_MM < 0.8 * LONG_MM:
        letters.append(_label(at, below, "grind line", "middle"))
    page = Page(title, (view,), (line, *letters))
    sheet = Sheet(title, LONG_MM + 2 * _ROUND_MM, centre + half + _ROUND_MM, (page,))
    return f"{MARK}\n".encode() + sheet_svg(sheet)


def _label(x: float, y: float, text: str, anchor: str) -> Label:
    return Label(x, y, text, _LETTERS_MM, anchor="end" if anchor == "end" else "middle")
