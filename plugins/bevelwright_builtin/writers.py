"""Documents that Bevelwright can write: the workshop drawing in several formats, each imported when it is written."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from recommender.plugin.api import Writer


def _svg(answer: Mapping[str, Any]) -> bytes:
    from recommender.drawing.sheet.writers.sheet_svg import sheet_svg

    return sheet_svg(answer["sheet"])


def _dxf(answer: Mapping[str, Any]) -> bytes:
    from recommender.drawing.sheet.writers.sheet_dxf import sheet_dxf

    return sheet_dxf(answer["sheet"])


def _pdf(answer: Mapping[str, Any]) -> bytes:
    from recommender.drawing.sheet.writers.sheet_pdf import sheet_pdf

    return sheet_pdf(answer["sheet"])


WRITERS = [
    Writer(id="svg", label="the workshop drawing as SVG, its first page", write=_svg),
    Writer(id="dxf", label="the drawing at true size as DXF", write=_dxf),
    Writer(id="pdf", label="drawing and 1:1 template as PDF", write=_pdf),
]
