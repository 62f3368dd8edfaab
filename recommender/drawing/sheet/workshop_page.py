"""Page 1: the side view, three sections and the edge, at the largest standard scales that fit the paper."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import product

import numpy as np

from recommender.drawing.sheet.drawn_blade import Drawn
from recommender.drawing.sheet.label_boxes import Box, view_box
from recommender.drawing.sheet.section_views import edge_view, section_view
from recommender.drawing.sheet.side_view import side_view
from recommender.drawing.sheet.title_block import BLOCK_MM, PADDING_MM, PageNote, frame, title_block
from recommender.geometry.profile import clipped
from recommender.models.workshop.sheet import Page, View, scale_words

SCALES = (10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1)
"""ISO 5455, enlargements and reductions; from memory."""
_EDGE_SCALES = (10.0, 5.0, 2.0, 1.0)
_LARGEST_SIDE_VIEW = 2.0
_LEAST_SIDE_VIEW_MM = 60.0
"""Long on paper, before sections grow at its cost."""
_LEAST_GAP_MM = 3.0
_EDGE_DROP_MM = 21.0
"""How much more there is below the apex of the enlarged edge than below a section's; captions then stand in line."""
_EDGE_HEIGHT_MM, _EDGE_WIDTH_MM = 46.0, 66.0
_EDGE_SHOWN_MM = 4.0


def workshop_page(drawn: Drawn, width_mm: float, height_mm: float, *, number: int, pages: int) -> Page:
    """Compose the page that hangs over the grinder."""
    border, inner = frame(width_mm, height_mm)
    area = Box(
        inner.left + PADDING_MM,
        inner.bottom + BLOCK_MM + PADDING_MM,
        inner.right - PADDING_MM,
        inner.top - PADDING_MM,
    )
    views, scales = _largest(drawn, area)
    block = title_block(
        drawn.answer, drawn.proposal, drawn.title, PageNote(number, pages, scales), inner, drawn.lengths
    )
    return Page("workshop drawing", views, (border, *block))


def _largest(drawn: Drawn, area: Box) -> tuple[tuple[View, ...], str]:
    """The views placed, and their scales in words: sections and side view together as large as they fit."""
    edge = _edge(drawn)
    rows = {scale: _Row.of(drawn, scale, edge) for scale in SCALES}
    if drawn.view is None:
        scale = next((s for s in SCALES if rows[s].fits(area)), SCALES[-1])
        return rows[scale].placed(area), f"sections {scale_words(scale)}, edge {scale_words(edge.scale)}"
    balance = None if drawn.answer.blade is None else drawn.answer.blade.balance_mm
    sides = {
        scale: side_view(drawn.view, drawn.proposal, scale, drawn.lengths, balance_mm=balance)
        for scale in SCALES
        if scale <= _LARGEST_SIDE_VIEW
    }
    of_sections, of_side = _scales(rows, {s: view_box(side) for s, side in sides.items()}, drawn.view.length_mm, area)
    row, side = rows[of_sections], sides[of_side]
    box = view_box(side)
    spare = (area.height - row.height - box.height) / 3
    middle = (area.left + area.right - box.left - box.right) / 2
    foot = area.top - 2 * spare - box.height
    views = (
        side.at(middle, area.top - spare - box.top),
        *row.placed(Box(area.left, foot - row.height, area.right, foot)),
    )
    words = f"side view {scale_words(of_side)}, sections {scale_words(of_sections)}, edge {scale_words(edge.scale)}"
    return views, words


def _scales(rows: Mapping[float, _Row], sides: Mapping[float, Box], length_mm: float, area: Box) -> tuple[float, float]:
    """The best pair of scales, for the sections and for the side view, with which both fit an area."""

    def fits(pair: tuple[float, float]) -> bool:
        row, side = rows[pair[0]], sides[pair[1]]
        return row.fits(area) and side.width <= area.width and row.height + side.height + _LEAST_GAP_MM <= area.height

    def merit(pair: tuple[float, float]) -> tuple[float, float, float]:
        return min(length_mm * pair[1], _LEAST_SIDE_VIEW_MM), pair[0] * pair[1], pair[0]

    return max(filter(fits, product(rows, sides)), key=merit, default=(SCALES[-1], SCALES[-1]))


def _edge(drawn: Drawn) -> View:
    """The edge at the heel, ten times larger unless its bevel is too large for that."""
    heel = drawn.stations[0]
    for scale in _EDGE_SCALES:
        wanted = min(max(_EDGE_SHOWN_MM, 1.5 * heel.shoulder_mm), 0.95 * heel.height_mm)
        shown = min(wanted, _EDGE_HEIGHT_MM / scale)
        wide = float(np.ptp(clipped(heel.outline[None], np.array([shown]))[0, :, 0]))
        if shown >= 1.3 * heel.shoulder_mm and wide * scale <= _EDGE_WIDTH_MM:
            break
    return edge_view(heel, drawn.proposal, scale, shown, drawn.lengths)


@dataclass(frozen=True)
class _Row:
    """Views beside each other, each with the height of its own origin over the row's."""

    views: tuple[tuple[View, float], ...]
    boxes: tuple[Box, ...]

    @classmethod
    def of(cls, drawn: Drawn, scale: float, edge: View) -> _Row:
        views = [
            (section_view(station, letter, drawn.proposal, scale, drawn.lengths), 0.0)
            for station, letter in zip(drawn.stations, drawn.letters, strict=False)
        ]
        views.append((edge, _EDGE_DROP_MM))
        return cls(tuple(views), tuple(view_box(view.at(0.0, up)) for view, up in views))

    @property
    def whole(self) -> Box:
        return Box.around(self.boxes)

    @property
    def height(self) -> float:
        return self.whole.height

    def fits(self, area: Box) -> bool:
        width = sum(box.width for box in self.boxes) + _LEAST_GAP_MM * (len(self.boxes) - 1)
        return width <= area.width and self.height <= area.height

    def placed(self, area: Box) -> tuple[View, ...]:
        """The views with even gaps across an area, at its foot."""
        gap = (area.width - sum(box.width for box in self.boxes)) / (len(self.boxes) + 1)
        x, y = area.left + gap, area.bottom - self.whole.bottom
        out = []
        for (view, up), box in zip(self.views, self.boxes, strict=True):
            out.append(view.at(x - box.left, y + up))
            x += box.width + gap
        return tuple(out)
