"""The first page of a drawing as SVG: arcs as arcs, sizes in mm."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from recommender.drawing.sheet.label_boxes import label_width_mm
from recommender.drawing.sheet.line_styles import STYLES
from recommender.models.workshop.sheet import Label, Layer, Path, Sheet
from recommender.text import clean


def sheet_svg(sheet: Sheet) -> bytes:
    """Write page 1; its layers are groups named after them, in the order in which they are drawn."""
    width, height = f"{sheet.width_mm:g}", f"{sheet.height_mm:g}"
    items = sheet.pages[0].on_paper()
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}mm" '
        f"height=\"{height}mm\" font-family=\"'Source Sans 3', 'Source Sans Pro', Helvetica, Arial, sans-serif\">",
        f"<title>{_escaped(sheet.title)}</title>",
        '<rect width="100%" height="100%" fill="#ffffff"/>',
    ]
    for layer in Layer:
        style = STYLES[layer]
        of_layer = [item for item in items if item.layer is layer]
        if of_layer:
            parts.append(
                f'<g id="{layer}" fill="none" stroke="{_colour(style.rgb)}" stroke-width="{style.width_mm:g}" '
                'stroke-linecap="round" stroke-linejoin="round">'
            )
            for item in of_layer:
                parts.append(_path(item, sheet) if isinstance(item, Path) else _text(item, sheet))
            parts.append("</g>")
    return "\n".join([*parts, "</svg>", ""]).encode()


def _path(path: Path, sheet: Sheet) -> str:
    style = STYLES[path.layer]
    fill = f' fill="{_colour(style.fill or style.rgb)}"' if path.filled else ""
    dashes = f' stroke-dasharray="{" ".join(f"{d:g}" for d in style.dashes_mm)}"' if path.dashed else ""
    return f'<path d="{" ".join(_commands(path, sheet.height_mm))}"{fill}{dashes}/>'


def _commands(path: Path, top: float) -> Iterator[str]:
    """SVG's path commands, its y running down from the top of the page.

    An arc of bulge b over a chord c has radius c (1 + b^2)/(4 |b|).
    """
    yield f"M{_point(path.points[0, 0], path.points[0, 1], top)}"
    for x0, y0, x1, y1, bulge in path.segments():
        if abs(bulge) < 1e-12:
            yield f"L{_point(x1, y1, top)}"
            continue
        chord = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
        radius = chord * (1 + bulge * bulge) / (4 * abs(bulge))
        # Anticlockwise stays so to the eye, and that is SVG's negative sweep.
        yield f"A{radius:.4f} {radius:.4f} 0 0 {0 if bulge > 0 else 1} {_point(x1, y1, top)}"
    if path.closed:
        yield "Z"


def _point(x: float, y: float, top: float) -> str:
    return f"{x:.4f} {top - y:.4f}"


def _text(label: Label, sheet: Sheet) -> str:
    """A label, held to the width it was laid out with whatever typeface the reader has."""
    x, y = label.x, sheet.height_mm - label.y
    turned = f' transform="rotate({-label.turned_deg:g} {x:.3f} {y:.3f})"' if label.turned_deg else ""
    bold = ' font-weight="bold"' if label.bold else ""
    anchor = f' text-anchor="{label.anchor}"' if label.anchor != "start" else ""
    return (
        f'<text x="{x:.3f}" y="{y:.3f}" font-size="{label.size_mm:g}"{anchor}{bold}{turned} '
        f'textLength="{label_width_mm(label):.3f}" lengthAdjust="spacingAndGlyphs" '
        f'fill="{_colour(STYLES[label.layer].rgb)}" stroke="none">{_escaped(label.text)}</text>'
    )


def _escaped(text: str) -> str:
    return escape(clean(text, one_line=True))


def _colour(rgb: tuple[int, int, int]) -> str:
    return "#" + "".join(f"{part:02x}" for part in rgb)
