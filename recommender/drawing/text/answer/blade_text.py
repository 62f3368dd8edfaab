"""A whole blade drawn in the terminal: the side view with its lines, and three sections, all to scale."""

from __future__ import annotations

import textwrap

import numpy as np

from recommender.drawing.blade_view import BladeView, Station
from recommender.drawing.lengths import Lengths
from recommender.drawing.text.answer.section_text import edge_lines, filled
from recommender.drawing.text.braille_canvas import CELL_DOTS, Canvas, braille, marks
from recommender.geometry.outline import Outline
from recommender.geometry.profile import faces_at

_DOTS_PER_MM = 16.0
_LEAST_COLUMNS = 24


def side_lines(
    view: BladeView,
    *,
    width: int = 76,
    rows: int = 12,
    balance_mm: float | None = None,
    lengths: Lengths = Lengths(),  # noqa: B008 - frozen
    ghost: BladeView | None = None,
) -> list[str]:
    """Draw the side view at most `width` columns wide and `rows` high, tip right and edge down; a ghost dotted."""
    every = (view,) if ghost is None else (view, ghost)
    long, high = max(v.length_mm for v in every), max(v.height_mm for v in every)
    per_mm = min((width - 1) * CELL_DOTS[0] / long, (rows * CELL_DOTS[1] - 1) / high, _DOTS_PER_MM)
    columns = max(round(view.length_mm * per_mm / CELL_DOTS[0]), 1)
    canvas = Canvas(int(long * per_mm / CELL_DOTS[0]) + 1, int(high * per_mm / CELL_DOTS[1]) + 1)
    x, base = view.x_mm * per_mm, min(float(v.edge_mm.min()) for v in every)

    def up(mm: np.ndarray) -> np.ndarray:
        return np.asarray((mm - base) * per_mm)

    if ghost is not None:
        for outline in (ghost.edge_mm, ghost.spine_mm):
            canvas.curve(ghost.x_mm * per_mm, up(outline), off=2)
    canvas.curve(x, up(view.line_mm), on=3, off=2)
    canvas.curve(x, up(view.swedge_mm), on=2, off=1)
    for at in view.transition_mm or ():
        edge, spine = (np.interp(at, view.x_mm, curve) for curve in (view.edge_mm, view.spine_mm))
        canvas.curve([at * per_mm] * 2, up(np.array([edge, spine])), on=1, off=3)
    canvas.curve([0, 0], up(np.array([view.edge_mm[0], view.spine_mm[0]])))
    canvas.curve(x, up(view.edge_mm))
    canvas.curve(x, up(view.spine_mm))

    def column(mm: float) -> int:
        return min(round(mm * per_mm / CELL_DOTS[0]), columns - 1)

    labels = [(0, "plunge line")]
    if balance_mm is not None:
        labels.append((column(balance_mm), f"balance {lengths(balance_mm, 0)}"))
    labels.append((columns - 1, f"tip {lengths(view.length_mm, 0)}"))
    caption = f"Side view to scale: {_key(view, lengths)}"
    return [*textwrap.wrap(caption, width), *canvas.lines(), *marks(max(columns, _LEAST_COLUMNS), labels)]


def _key(view: BladeView, lengths: Lengths) -> str:
    """What the lines are."""
    words = ["tip right, edge down"]
    line = view.line_mm[view.x_mm > view.plunge_radius_mm]
    if np.isfinite(line).any():
        words.append("grind line dashed")
        if np.isnan(line[:-2]).any():
            words.append("it ends where it runs out at the spine")
    else:
        words.append("ground up to the spine")
    if view.transition_mm:
        start, end = (lengths(mm, 0) for mm in view.transition_mm)
        words.append(f"edge zone turns into tip zone between the dotted lines, {start} to {end} from the plunge line")
    begun = np.flatnonzero(np.isfinite(view.swedge_mm))
    if begun.size:
        words.append(f"swedge from {lengths(float(view.x_mm[begun[0]]), 0)} on below the spine")
    return ", ".join(words)


def station_lines(
    view: BladeView,
    *,
    width: int = 76,
    lengths: Lengths = Lengths(),  # noqa: B008 - frozen
    ghost: BladeView | None = None,
) -> list[str]:
    """Draw the three sections below each other at one scale, edge left and spine right; a ghost as a line in them."""
    others = ghost.stations if ghost is not None else (None,) * len(view.stations)
    tallest = max(s.height_mm for s in [*view.stations, *(o for o in others if o)])
    per_mm = min((width - 1) * CELL_DOTS[0] / tallest, _DOTS_PER_MM)
    lines: list[str] = []
    for station, other in zip(view.stations, others, strict=True):
        lines += ["", *textwrap.wrap(_caption(station, lengths), width)]
        lines += _drawn(station.outline, per_mm, None if other is None else other.outline)
    return lines[1:]


def _caption(s: Station, lengths: Lengths) -> str:
    line = (
        "ground to the spine"
        if s.line_mm >= s.height_mm - 1e-6
        else f"grind line {lengths(s.line_mm, 1)} above the edge"
    )
    return (
        f"Section {s.label}, {lengths(s.from_plunge_mm, 0)} from the plunge line: {lengths(s.height_mm, 1)} high, "
        f"{lengths(float(np.ptp(s.outline[:, 0])))} thick, {line}, "
        f"{'one bevel' if s.one_bevel else lengths.behind_edge(s.edge_thickness_mm)}"
    )


def _drawn(outline: Outline, per_mm: float, ghost: Outline | None) -> list[str]:
    height = float(outline[:, 1].max())
    dots = filled(outline, height, per_mm)
    if ghost is None:
        return braille(dots)
    tall, wide = float(ghost[:, 1].max()), float(max(np.abs(ghost[:, 0]).max(), np.abs(outline[:, 0]).max()))
    columns = int(max(tall, height) * per_mm / CELL_DOTS[0]) + 1
    half = int(np.ceil(wide * per_mm))
    canvas = Canvas(columns, -(-(2 * half + 1) // CELL_DOTS[1]))
    top = half - round(float(outline[:, 0].max()) * per_mm)
    canvas.dots[top : top + dots.shape[0], : dots.shape[1]] = dots
    y = np.linspace(0.0, tall, 4 * columns)
    left, right = faces_at(ghost, y[None, :])
    middle = canvas.dots.shape[0] - 1 - half
    for x in (left, right):
        canvas.curve(y * per_mm, middle + x * per_mm, off=2, invert=True)
    return canvas.lines()


def blade_lines(
    view: BladeView,
    *,
    width: int = 76,
    rows: int = 12,
    balance_mm: float | None = None,
    lengths: Lengths = Lengths(),  # noqa: B008 - frozen
    ghost: BladeView | None = None,
    ghost_label: str = "",
) -> list[str]:
    """Side view, sections and the edge magnified, below each other."""
    lines = side_lines(view, width=width, rows=rows, balance_mm=balance_mm, lengths=lengths, ghost=ghost)
    if ghost is not None:
        lines = [*textwrap.wrap(f"Dotted: {ghost_label}", width), "", *lines]
    lines += ["", *station_lines(view, width=width, lengths=lengths, ghost=ghost), ""]
    heel = view.stations[0]
    return lines + edge_lines(
        heel.outline,
        shoulder_mm=heel.shoulder_mm,
        edge_thickness_mm=heel.edge_thickness_mm,
        width=width,
        lengths=lengths,
    )
