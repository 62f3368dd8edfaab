"""A section drawn in the terminal: edge left, spine right, to scale, with its dimensions below."""

from __future__ import annotations

import textwrap

import numpy as np

from recommender.drawing.canvas import CELL_DOTS, braille, marks
from recommender.drawing.lengths import Lengths
from recommender.geometry.outline import Outline
from recommender.geometry.profile import clipped, faces_at

EDGE_SHOWN_MM = 4.0
MOST_ROWS = 9


def _filled(outline: Outline, upto_mm: float, dots_per_mm: float) -> np.ndarray:
    """Dots inside the section from the edge to `upto_mm`: rows across the thickness, columns along the height."""
    columns = max(2, round(upto_mm * dots_per_mm))
    y = (np.arange(columns) + 0.5) / dots_per_mm
    left, right = faces_at(outline, np.minimum(y, upto_mm)[None, :])
    low, high = float(np.min(outline[:, 0])), float(np.max(outline[:, 0]))
    rows = max(1, int(np.ceil((high - low) * dots_per_mm)))
    x = high - (np.arange(rows) + 0.5) / dots_per_mm
    inside = (x[:, None] <= right[None, :]) & (x[:, None] >= left[None, :])
    # The thinnest part stays visible: at least the dot nearest to its middle.
    middle = np.argmin(np.abs(x[:, None] - (left + right)[None, :] / 2), axis=0)
    inside[middle, np.arange(columns)] |= right > left
    return np.asarray(inside)


def section_lines(
    outline: Outline,
    *,
    shoulder_mm: float,
    grind_line_mm: float,
    edge_thickness_mm: float,
    width: int = 76,
    lengths: Lengths = Lengths(),  # noqa: B008 - frozen
) -> list[str]:
    """Draw one outline (v, 3) whole and its edge magnified, each to scale, at most `width` columns wide."""
    height = float(outline[:, 1].max())
    stock = float(np.ptp(outline[:, 0]))
    room = max(24, width - 2)
    per_mm = min(room * CELL_DOTS[0] / height, 16.0)
    columns = round(height * per_mm / CELL_DOTS[0])

    def column(y: float) -> int:
        return min(round(y * per_mm / CELL_DOTS[0]), columns - 1)

    caption = f"Section to scale: edge left, spine right, {lengths(height)} high, {lengths(stock)} thick"
    lines = textwrap.wrap(caption, width)
    lines += braille(_filled(outline, height, per_mm))
    labels = [(0, "edge")]
    if grind_line_mm < height - 1e-6:
        labels.append((column(grind_line_mm), f"grind line {lengths(grind_line_mm, 1)}"))
        labels.append((columns - 1, f"spine {lengths(height, 1)}"))
    else:
        labels.append((columns - 1, f"grind line at the spine, {lengths(height, 1)}"))
    lines += marks(max(columns, 24), labels)

    shown = min(max(EDGE_SHOWN_MM, 1.6 * shoulder_mm), height)
    edge = clipped(outline[None], np.array([shown]))[0]
    detail = min(room * CELL_DOTS[0] / shown, 28.0, MOST_ROWS * CELL_DOTS[1] / float(np.ptp(edge[:, 0])))
    columns = round(shown * detail / CELL_DOTS[0])
    caption = f"Edge, {detail / per_mm:.1f} times larger: the first {lengths(shown, 1)}"
    lines += ["", *textwrap.wrap(caption, width)]
    lines += braille(_filled(edge, shown, detail))
    labels = [(0, "edge")]
    if edge_thickness_mm > 0:
        labels.append(
            (
                min(round(shoulder_mm * detail / CELL_DOTS[0]), columns - 1),
                f"shoulder {lengths(shoulder_mm)} up, {lengths(edge_thickness_mm)} thick",
            )
        )
    lines += marks(max(columns, 24), labels)
    return lines
