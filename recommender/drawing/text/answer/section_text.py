"""A section drawn in the terminal: edge left, spine right, to scale, with its dimensions below."""

from __future__ import annotations

import textwrap

import numpy as np
import numpy.typing as npt

from recommender.drawing.lengths import Lengths
from recommender.drawing.text.braille_canvas import CELL_DOTS, braille, marks
from recommender.geometry.outline import Outline
from recommender.geometry.profile import clipped, faces_at

EDGE_SHOWN_MM = 4.0
MOST_ROWS = 9


def filled(outline: Outline, upto_mm: float, dots_per_mm: float) -> npt.NDArray[np.bool_]:
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
    caption = f"Section to scale: edge left, spine right, {lengths(height)} high, {lengths(stock)} thick"
    whole = whole_lines(outline, grind_line_mm=grind_line_mm, width=width, lengths=lengths)
    edge = edge_lines(
        outline, shoulder_mm=shoulder_mm, edge_thickness_mm=edge_thickness_mm, width=width, lengths=lengths
    )
    return [*textwrap.wrap(caption, width), *whole, "", *edge]


def whole_lines(
    outline: Outline,
    *,
    grind_line_mm: float,
    width: int = 76,
    rows: int | None = None,
    lengths: Lengths = Lengths(),  # noqa: B008 - frozen
) -> list[str]:
    """Draw one outline (v, 3) to scale with edge, grind line and spine marked, at most `width` by `rows`."""
    height = float(outline[:, 1].max())
    per_mm = _per_mm(height, width)
    if rows is not None:
        per_mm = min(per_mm, rows * CELL_DOTS[1] / float(np.ptp(outline[:, 0])))
    columns = max(round(height * per_mm / CELL_DOTS[0]), 1)
    labels = [(0, "edge")]
    if grind_line_mm < height - 1e-6:
        at = min(round(grind_line_mm * per_mm / CELL_DOTS[0]), columns - 1)
        labels.append((at, f"grind line {lengths(grind_line_mm, 1)}"))
        labels.append((columns - 1, f"spine {lengths(height, 1)}"))
    else:
        labels.append((columns - 1, f"grind line at the spine, {lengths(height, 1)}"))
    return braille(filled(outline, height, per_mm)) + marks(max(columns, 24), labels)


def _per_mm(height_mm: float, width: int) -> float:
    return min(_room(width) * CELL_DOTS[0] / height_mm, 16.0)


def _room(width: int) -> int:
    return max(24, width - 2)


def edge_lines(
    outline: Outline,
    *,
    shoulder_mm: float,
    edge_thickness_mm: float,
    width: int = 76,
    lengths: Lengths = Lengths(),  # noqa: B008 - frozen
) -> list[str]:
    """Draw the edge of one outline (v, 3) magnified, to scale; `shoulder_mm` 0 where it is ground to zero."""
    height = float(outline[:, 1].max())
    shown = min(max(EDGE_SHOWN_MM, 1.6 * shoulder_mm), height)
    edge = clipped(outline[None], np.array([shown]))[0]
    detail = min(_room(width) * CELL_DOTS[0] / shown, 28.0, MOST_ROWS * CELL_DOTS[1] / float(np.ptp(edge[:, 0])))
    columns = round(shown * detail / CELL_DOTS[0])
    times = detail / _per_mm(height, width)
    caption = f"Edge, {times:.1f} times larger: the first {lengths(shown, 1)}"
    lines = [*textwrap.wrap(caption, width), *braille(filled(edge, shown, detail))]
    labels = [(0, "edge")]
    if edge_thickness_mm > 0:
        labels.append(
            (
                min(round(shoulder_mm * detail / CELL_DOTS[0]), columns - 1),
                f"shoulder {lengths(shoulder_mm)} up, {lengths(edge_thickness_mm)} thick",
            )
        )
    return lines + marks(max(columns, 24), labels)
