"""Views of a drawing frozen into a document, and back again to be drawn."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from recommender.models.workshop.document import Lettering, Picture, Stroke
from recommender.models.workshop.sheet import Label, Path, View

DIGITS = 4
"""Of coordinates, mm on paper: a tenth of a micrometre."""


def picture_of(view: View, caption: str) -> Picture:
    """A view as a picture, without the words of its scale: a document may shrink it."""
    items = replace(view, paper_only=()).on_paper()
    return Picture(
        caption=caption,
        strokes=tuple(_stroke(item) for item in items if isinstance(item, Path)),
        letters=tuple(_lettering(item) for item in items if isinstance(item, Label)),
    )


def _stroke(path: Path) -> Stroke:
    points = tuple((round(x, DIGITS), round(y, DIGITS), bulge) for x, y, bulge in path.points.tolist())
    return Stroke(points=points, layer=path.layer, closed=path.closed, filled=path.filled, dashed=path.dashed)


def _lettering(label: Label) -> Lettering:
    return Lettering(
        x=round(label.x, DIGITS),
        y=round(label.y, DIGITS),
        text=label.text,
        size_mm=label.size_mm,
        layer=label.layer,
        anchor=label.anchor,
        turned_deg=label.turned_deg,
        bold=label.bold,
    )


def view_of(picture: Picture) -> View:
    """A picture as a view, mm on paper."""
    strokes = [
        Path(np.array(s.points), s.layer, closed=s.closed, filled=s.filled, dashed=s.dashed) for s in picture.strokes
    ]
    letters = [Label(t.x, t.y, t.text, t.size_mm, t.layer, t.anchor, t.turned_deg, t.bold) for t in picture.letters]
    return View(picture.caption, 1.0, (*strokes, *letters))
