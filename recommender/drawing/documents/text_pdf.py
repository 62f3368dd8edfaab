"""A page of text as PDF, its columns kept: for a sheet that hangs over the grinder."""

from __future__ import annotations

from io import BytesIO

from recommender.drawing.sheet.writers.sheet_pdf import POINTS_PER_MM
from recommender.models.workshop.sheet import PAPERS_MM, Paper
from recommender.text import clean

FONT, SIZE_PT, LEADING_PT = "Courier", 9.0, 11.0
"""Courier comes with every reader of PDF and has no letters beyond Latin-1: others become "?"."""
MARGIN_MM = 15.0
COLUMNS = 90
"""That fit between the margins of either paper."""


def text_pdf(text: str, title: str, paper: Paper = "a4") -> bytes:
    """Write text of at most COLUMNS as PDF, standing; the same text gives the same bytes."""
    from reportlab.pdfgen.canvas import Canvas

    height, width = (side * POINTS_PER_MM for side in PAPERS_MM[paper])
    margin = MARGIN_MM * POINTS_PER_MM
    out = BytesIO()
    canvas = Canvas(out, pagesize=(width, height), invariant=1)
    canvas.setTitle(_latin(title))
    canvas.setCreator("Bevelwright")
    lines = text.rstrip().split("\n")
    room = int((height - 2 * margin) / LEADING_PT) - 2
    pages = [lines[k : k + room] for k in range(0, len(lines), room)] or [[]]
    for number, page in enumerate(pages, 1):
        canvas.setFont(FONT, SIZE_PT)
        for row, line in enumerate(page):
            canvas.drawString(margin, height - margin - (row + 1) * LEADING_PT, _latin(line))
        canvas.drawRightString(width - margin, margin, f"{number} of {len(pages)}")
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _latin(line: str) -> str:
    """What the font has letters for."""
    plain = clean(line, one_line=True).replace("→", ">").replace("≤", "<=").replace("≥", ">=")
    return plain.encode("cp1252", errors="replace").decode("cp1252")
