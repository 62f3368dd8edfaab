"""A section as SVG: to scale with true arcs, its dimensions, and the edge ten times larger."""

from __future__ import annotations

from html import escape

import numpy as np

from recommender.drawing.lengths import Lengths, angle
from recommender.geometry.outline import Outline
from recommender.geometry.profile import clipped
from recommender.models.proposal import Proposal
from recommender.text import clean

_WIDTH, _MARGIN = 900.0, 40.0
_SECTION_TOP = 130.0
_INK, _STEEL, _DIM = "#1d2733", "#9fb1c1", "#5a6b7b"


def _path(outline: Outline, scale: float, x0: float, y0: float) -> str:
    """SVG path of an outline turned on its side: height along x, thickness along y, arcs as arcs.

    An arc of bulge b over a chord c has radius c (1 + b^2)/(4 |b|).
    """
    points = [(x0 + y * scale, y0 - x * scale) for x, y, _ in outline]
    parts = [f"M{points[0][0]:.3f} {points[0][1]:.3f}"]
    for k, (_, _, bulge) in enumerate(outline):
        x, y = points[(k + 1) % len(points)]
        chord = float(np.hypot(x - points[k][0], y - points[k][1]))
        if chord < 1e-9:
            continue
        if abs(bulge) < 1e-12:
            parts.append(f"L{x:.3f} {y:.3f}")
        else:
            radius = chord * (1 + bulge * bulge) / (4 * abs(bulge))
            # (x, y) -> (y, -x) is a turn, so an anticlockwise arc stays one: SVG's positive sweep.
            parts.append(f"A{radius:.3f} {radius:.3f} 0 0 {1 if bulge > 0 else 0} {x:.3f} {y:.3f}")
    return " ".join([*parts, "Z"])


def _text(x: float, y: float, text: str, size: float = 15, anchor: str = "start", weight: str = "normal") -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" text-anchor="{anchor}" font-weight="{weight}" '
        f'fill="{_INK}">{escape(clean(text, one_line=True))}</text>'
    )


def _line(x1: float, y1: float, x2: float, y2: float) -> str:
    return f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{_DIM}" stroke-width="1"/>'


def section_svg(outline: Outline, proposal: Proposal, title: str, tip_outline: Outline | None = None) -> str:
    """Draw a proposal's section (v, 3) with its dimensions as an SVG document; a different tip zone's dashed."""
    lengths = Lengths()
    p = proposal
    height, stock = p.blade_height_mm, p.stock_thickness_mm
    scale = (_WIDTH - 2 * _MARGIN) / height
    low, high = float(outline[:, 0].min()), float(outline[:, 0].max())
    axis = _SECTION_TOP + high * scale
    bottom = axis - low * scale
    shown = min(4.0, height)
    detail = 10 * scale if shown * 10 * scale <= _WIDTH - 2 * _MARGIN else (_WIDTH - 2 * _MARGIN) / shown
    edge = clipped(outline[None], np.array([shown]))[0]
    edge_high, edge_low = float(edge[:, 0].max()), float(edge[:, 0].min())
    detail_top = bottom + 120
    detail_axis = detail_top + edge_high * detail
    total = detail_axis - edge_low * detail + 70
    line_x = _MARGIN + p.grind_line_mm * scale
    shoulder = sorted(float(y) for y in outline[:, 1] if y > 0)[0] if p.edge_thickness_mm else 0.0
    full = p.grind_line_below_spine_mm < 1e-6
    where = "grind line at the spine" if full else f"grind line {lengths(p.grind_line_mm, 1)}"
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH:g} {total:.0f}" '
        f'width="{_WIDTH:g}" height="{total:.0f}" font-family="Helvetica, Arial, sans-serif">',
        f"<title>{escape(clean(title, one_line=True))}</title>",
        '<rect width="100%" height="100%" fill="#ffffff"/>',
        _text(_MARGIN, 44, f"{p.grind_label[0].upper()}{p.grind_label[1:]}: {title}", 22, weight="bold"),
        _text(
            _MARGIN,
            72,
            f"edge {angle(p.edge_angle_per_side_deg, p.edge_angle_included_deg)}; "
            f"{lengths(p.edge_thickness_mm)} behind the edge; {lengths(stock)} stock"
            + (f"; {lengths(p.wheel_diameter_mm, 0)} wheel" if p.wheel_diameter_mm else ""),
        ),
        f'<path d="{_path(outline, scale, _MARGIN, axis)}" fill="{_STEEL}" stroke="{_INK}" stroke-width="1.2"/>',
        _line(line_x, _SECTION_TOP - 8, line_x, bottom + 22),
        *(
            [
                f'<path d="{_path(tip_outline, scale, _MARGIN, axis)}" fill="none" stroke="{_INK}" '
                'stroke-dasharray="6 4"/>'
            ]
            if tip_outline is not None
            else []
        ),
        _text(line_x, bottom + 40, where, anchor="end" if line_x > _WIDTH * 0.6 else "middle"),
        *([_text(_MARGIN, 98, "solid: edge zone; dashed: tip zone")] if tip_outline is not None else []),
        _text(_MARGIN, bottom + 40, "edge"),
        *([] if full else [_text(_WIDTH - _MARGIN, bottom + 60, f"spine {lengths(height, 1)}", anchor="end")]),
        _text(
            _MARGIN, detail_top - 24, f"The edge, {detail / scale:.1f} times larger: the first {lengths(shown, 1)}", 15
        ),
        f'<path d="{_path(edge, detail, _MARGIN, detail_axis)}" fill="{_STEEL}" stroke="{_INK}" stroke-width="1.2"/>',
    ]
    if p.edge_thickness_mm:
        x = _MARGIN + shoulder * detail
        y = detail_axis - edge_low * detail
        parts += [
            _line(x, detail_top - 6, x, y + 22),
            _text(
                max(x, 190.0),
                y + 40,
                f"shoulder {lengths(shoulder)} up, {lengths(p.edge_thickness_mm)} thick",
                anchor="middle",
            ),
        ]
    parts.append("</svg>")
    return "\n".join(parts) + "\n"
