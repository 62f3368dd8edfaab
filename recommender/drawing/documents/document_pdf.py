"""A document as PDF, A4 or Letter, through reportlab's flowing layout; the same document gives the same bytes."""

from __future__ import annotations

from html import escape
from io import BytesIO
from typing import Any

from recommender.drawing.documents.picture import view_of
from recommender.drawing.pdf_font import known_characters, register_fonts, text_width_mm
from recommender.drawing.sheet.label_boxes import view_box
from recommender.drawing.sheet.writers.sheet_pdf import POINTS_PER_MM, draw_view
from recommender.models.workshop.document import Block, Bullets, Document, Heading, Paragraph, Picture, Table
from recommender.models.workshop.sheet import PAPERS_MM, Paper

_MARGIN_MM = 20.0
_TALLEST_MM = 58.0
"""Of a picture."""
SCALES = (1.0, 0.95, 0.9, 0.85, 0.8)
"""Of letters, in turn: text of 10 points down to 8, the least that is read with ease."""
_FRAME_PT = 6.0
"""Room that the layout leaves inside its frame."""
_FOOT_PT = 8.0
_PAGE_NUMBER_PT = 50.0
"""Room for it at the foot."""


def document_pdf(document: Document, paper: Paper = "a4") -> bytes:
    """Write a document as PDF with its text embedded and searchable, on as few pages as it asks for where it can be."""
    written = b""
    for scale in SCALES if document.pages else SCALES[:1]:
        written, pages = _written(document, paper, scale)
        if document.pages is None or pages <= document.pages:
            break
    return written


def _written(document: Document, paper: Paper, scale: float) -> tuple[bytes, int]:
    """A document with its letters and pictures in a scale, and how many pages that takes."""
    from reportlab.platypus import SimpleDocTemplate

    height, width = (side * POINTS_PER_MM for side in PAPERS_MM[paper])  # standing
    regular, _ = register_fonts()
    out = BytesIO()
    inset, low = _MARGIN_MM * POINTS_PER_MM + _FRAME_PT, 12 * POINTS_PER_MM

    room = width - 2 * inset

    def foot(canvas: Any, template: Any) -> None:
        canvas.saveState()
        canvas.setFont(regular, _FOOT_PT)
        canvas.drawString(inset, low, _clipped(document.foot, room - _PAGE_NUMBER_PT))
        canvas.drawRightString(width - inset, low, f"page {template.page}")
        canvas.restoreState()

    template = SimpleDocTemplate(
        out,
        pagesize=(width, height),
        leftMargin=_MARGIN_MM * POINTS_PER_MM,
        rightMargin=_MARGIN_MM * POINTS_PER_MM,
        topMargin=18 * POINTS_PER_MM,
        bottomMargin=20 * POINTS_PER_MM,
        title=known_characters(document.title),
        author="",
        creator="Bevelwright",
        invariant=1,
    )
    styles = _styles(scale)
    flowing = [part for block in document.blocks for part in _flowables(block, styles, room, scale)]
    template.build(flowing, onFirstPage=foot, onLaterPages=foot)
    return out.getvalue(), template.page


def _clipped(text: str, room_pt: float) -> str:
    """As much of a foot as stands in that room."""
    shown = known_characters(text)
    if text_width_mm(shown, _FOOT_PT) <= room_pt:
        return shown
    while shown and text_width_mm(f"{shown}…", _FOOT_PT) > room_pt:
        shown = shown[:-1]
    return f"{shown}…"


def _styles(scale: float) -> dict[str, Any]:
    from reportlab.lib.colors import HexColor
    from reportlab.lib.styles import ParagraphStyle

    regular, bold = register_fonts()
    ink = HexColor("#1d2733")
    text = ParagraphStyle("text", fontName=regular, fontSize=10, leading=13.5, textColor=ink, spaceAfter=5)
    styles = {
        "text": text,
        "cell": ParagraphStyle("cell", parent=text, spaceAfter=0),
        "name": ParagraphStyle("name", parent=text, spaceAfter=0, textColor=HexColor("#4a5a69")),
        "total": ParagraphStyle("total", parent=text, fontName=bold, spaceAfter=0),
        "caption": ParagraphStyle("caption", parent=text, fontSize=8.5, leading=11, alignment=1),
        "bullet": ParagraphStyle("bullet", parent=text, leftIndent=12, bulletIndent=2, spaceAfter=3),
        "1": ParagraphStyle("1", parent=text, fontName=bold, fontSize=19, leading=24, spaceAfter=8),
        "2": ParagraphStyle(
            "2", parent=text, fontName=bold, fontSize=12, leading=16, spaceBefore=9, spaceAfter=4, keepWithNext=1
        ),
    }
    for style in styles.values() if scale != 1 else ():
        for size in ("fontSize", "leading", "spaceBefore", "spaceAfter", "bulletFontSize"):
            setattr(style, size, getattr(style, size) * scale)
    return styles


def _flowables(block: Block, styles: dict[str, Any], width: float, scale: float) -> list[Any]:
    from reportlab.platypus import Paragraph as Text

    match block:
        case Heading():
            return [Text(_shown(block.text), styles[str(block.level)])]
        case Paragraph():
            return [Text(_shown(block.text), styles["text"])]
        case Bullets():
            return [Text(_shown(item), styles["bullet"], bulletText="–") for item in block.items]
        case Table():
            return _table(block, styles, width, scale)
        case Picture():
            return [_drawn(block, width, scale), Text(_shown(block.caption), styles["caption"])]


def _drawn(picture: Picture, width: float, scale: float) -> Any:
    """A picture as something that flows, in the middle and shrunk to the width; words get the room before it."""
    from reportlab.platypus import Flowable

    view = view_of(picture)
    box = view_box(view)
    shown_mm = min(width / POINTS_PER_MM, box.width, box.width * _TALLEST_MM * scale**2 / box.height)

    class Drawn(Flowable):  # type: ignore[misc]
        def __init__(self) -> None:
            super().__init__()
            self.width, self.height = width, box.height * shown_mm / box.width * POINTS_PER_MM

        def draw(self) -> None:
            draw_view(self.canv, view, (width / POINTS_PER_MM - shown_mm) / 2, 0.0, shown_mm)

    return Drawn()


def _table(table: Table, styles: dict[str, Any], width: float, scale: float) -> list[Any]:
    from reportlab.lib.colors import HexColor
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import Paragraph as Text
    from reportlab.platypus import Spacer
    from reportlab.platypus import Table as Grid

    if not table.rows:
        return []
    plain = len(table.rows) - table.totals
    right = {name: ParagraphStyle(f"{name}-right", parent=styles[name], alignment=2) for name in ("cell", "total")}

    def cell(text: str, column: int, row: int) -> Any:
        kind = "total" if row >= plain else "cell"
        if table.figures and column:
            return Text(_shown(text), right[kind])
        return Text(_shown(text), styles[kind if table.figures or column else "name"])

    columns = len(table.rows[0])
    first = 0.62 if table.figures else 0.27
    widths = [width * first] + [width * (1 - first) / (columns - 1)] * (columns - 1)
    rows = [[cell(text, column, k) for column, text in enumerate(row)] for k, row in enumerate(table.rows)]
    rule = HexColor("#c9d2da")
    style = [
        ("LINEBELOW", (0, 0), (-1, -1), 0.4, rule),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 2),
        ("TOPPADDING", (0, 0), (-1, -1), 2 * scale),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 3 * scale),
    ]
    return [Grid(rows, colWidths=widths, style=style), Spacer(0, 6 * scale)]


def _shown(text: str) -> str:
    """Text that the layout takes literally."""
    return escape(known_characters(text), quote=False)
