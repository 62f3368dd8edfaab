"""A drawing as PDF: every page at its true size, with its typeface embedded and its text searchable."""

from __future__ import annotations

import io
import math
from collections.abc import Iterable
from typing import Any

from recommender.drawing.pdf_font import known_characters, register_fonts
from recommender.drawing.sheet.label_boxes import label_start, label_width_mm, view_box
from recommender.drawing.sheet.line_styles import STYLES
from recommender.models.workshop.sheet import Item, Label, Path, Sheet, View

POINTS_PER_MM = 72 / 25.4
_LARGEST_TURN = math.pi / 4
"""A Bezier curve strays from an arc of this angle by less than 5e-7 of its radius."""


def sheet_pdf(sheet: Sheet) -> bytes:
    """Write all pages; the same drawing gives the same bytes."""
    from reportlab.pdfgen.canvas import Canvas

    written = io.BytesIO()
    size = (sheet.width_mm * POINTS_PER_MM, sheet.height_mm * POINTS_PER_MM)
    canvas = Canvas(written, pagesize=size, invariant=1)
    canvas.setTitle(known_characters(sheet.title))
    canvas.setCreator("Bevelwright")
    for page in sheet.pages:
        canvas.saveState()
        canvas.scale(POINTS_PER_MM, POINTS_PER_MM)
        _draw(canvas, page.on_paper())
        canvas.restoreState()
        canvas.showPage()
    canvas.save()
    return written.getvalue()


def draw_view(canvas: Any, view: View, x_mm: float, y_mm: float, width_mm: float) -> float:
    """Draw a view with its lower left corner at (x, y) of a reportlab canvas, shrunk to a width; gives its height, mm.

    A view narrower than the width keeps its scale.
    """
    box = view_box(view)
    shrunk = min(1.0, width_mm / box.width)
    canvas.saveState()
    canvas.translate(x_mm * POINTS_PER_MM, y_mm * POINTS_PER_MM)
    canvas.scale(shrunk * POINTS_PER_MM, shrunk * POINTS_PER_MM)
    canvas.translate(-box.left, -box.bottom)
    _draw(canvas, view.on_paper())
    canvas.restoreState()
    return shrunk * box.height


def _draw(canvas: Any, items: Iterable[Item]) -> None:
    """Draw items, mm on paper, on a canvas whose unit is the mm."""
    fonts = register_fonts()
    canvas.setLineCap(1)
    canvas.setLineJoin(1)
    for item in items:
        if isinstance(item, Path):
            _draw_path(canvas, item)
        else:
            _draw_label(canvas, item, fonts)


def _draw_path(canvas: Any, path: Path) -> None:
    style = STYLES[path.layer]
    canvas.setStrokeColorRGB(*_shares(style.rgb))
    canvas.setFillColorRGB(*_shares(style.fill or style.rgb))
    canvas.setLineWidth(style.width_mm)
    canvas.setDash(list(style.dashes_mm) if path.dashed else [])
    drawn = canvas.beginPath()
    drawn.moveTo(float(path.points[0, 0]), float(path.points[0, 1]))
    for x0, y0, x1, y1, bulge in path.segments():
        if abs(bulge) < 1e-12:
            drawn.lineTo(x1, y1)
        else:
            for curve in _curves(x0, y0, x1, y1, bulge):
                drawn.curveTo(*curve)
    if path.closed:
        drawn.close()
    canvas.drawPath(drawn, stroke=1, fill=int(path.filled))


def _curves(x0: float, y0: float, x1: float, y1: float, bulge: float) -> Iterable[tuple[float, ...]]:
    """An arc as Bezier curves: control points lie 4/3 tan(angle/4) radii along the tangents."""
    turn = 4 * math.atan(bulge)
    # The centre lies on the chord's bisector, (1 - b^2)/(4 b) chords to the left of the way.
    off = (1 - bulge * bulge) / (4 * bulge)
    cx, cy = (x0 + x1) / 2 - off * (y1 - y0), (y0 + y1) / 2 + off * (x1 - x0)
    parts = math.ceil(abs(turn) / _LARGEST_TURN)
    step = turn / parts
    reach = 4 / 3 * math.tan(step / 4)
    cos, sin = math.cos(step), math.sin(step)
    dx, dy = x0 - cx, y0 - cy
    for _ in range(parts):
        ex, ey = dx * cos - dy * sin, dx * sin + dy * cos
        yield cx + dx - reach * dy, cy + dy + reach * dx, cx + ex + reach * ey, cy + ey - reach * ex, cx + ex, cy + ey
        dx, dy = ex, ey


def _draw_label(canvas: Any, label: Label, fonts: tuple[str, str]) -> None:
    x, y = label_start(label, label_width_mm(label))
    canvas.setFillColorRGB(*_shares(STYLES[label.layer].rgb))
    canvas.setFont(fonts[label.bold], label.size_mm)
    text = known_characters(label.text)
    if not label.turned_deg:
        canvas.drawString(x, y, text)
        return
    canvas.saveState()
    canvas.translate(x, y)
    canvas.rotate(label.turned_deg)
    canvas.drawString(0, 0, text)
    canvas.restoreState()


def _shares(rgb: tuple[int, int, int]) -> tuple[float, ...]:
    return tuple(part / 255 for part in rgb)
