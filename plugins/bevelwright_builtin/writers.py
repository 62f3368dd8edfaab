"""Documents that Bevelwright can write: the workshop drawing in several formats."""

from __future__ import annotations

from recommender.drawing.sheet.writers.sheet_dxf import sheet_dxf
from recommender.drawing.sheet.writers.sheet_pdf import sheet_pdf
from recommender.drawing.sheet.writers.sheet_svg import sheet_svg
from recommender.plugin.api import Writer

WRITERS = [
    Writer(
        id="svg", label="the workshop drawing as SVG, its first page", write=lambda answer: sheet_svg(answer["sheet"])
    ),
    Writer(id="dxf", label="the drawing at true size as DXF", write=lambda answer: sheet_dxf(answer["sheet"])),
    Writer(id="pdf", label="drawing and 1:1 template as PDF", write=lambda answer: sheet_pdf(answer["sheet"])),
]
