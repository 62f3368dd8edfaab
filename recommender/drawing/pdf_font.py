"""The typeface of every PDF: embedded, so that a page looks the same everywhere and its text can be searched."""

from __future__ import annotations

import importlib.resources
from functools import cache
from typing import Any

from recommender.text import clean

REGULAR, BOLD = "SourceSansPro-Regular", "SourceSansPro-Bold"


def register_fonts() -> tuple[str, str]:
    """Make the typeface known to reportlab, once; gives the names of its regular and its bold."""
    for name in (REGULAR, BOLD):
        _font(name)
    return REGULAR, BOLD


def known_characters(text: str) -> str:
    r"""Text on one line with what the typeface has no letter for, or must not be printed, as "?".

    >>> known_characters("łřα°\x1b中\u202e")
    'łřα°???'
    """
    known = _font(REGULAR).face.charToGlyph
    return "".join(char if ord(char) in known else "?" for char in clean(text, one_line=True))


def text_width_mm(text: str, size_mm: float, *, bold: bool = False) -> float:
    """Width of a text whose letters stand on a body of `size_mm`, mm: the sum of the advances of its glyphs.

    >>> round(text_width_mm("0000", 1.0), 3)  # tabular figures, 497 of 1000 units each
    1.988
    """
    font = _font(BOLD if bold else REGULAR)
    return float(font.stringWidth(known_characters(text), size_mm))


@cache
def _font(name: str) -> Any:
    """A registered font. reportlab takes a while to import and only PDFs and the layout of sheets need it."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    file = importlib.resources.files("font_source_sans_pro") / "files" / f"{name}.ttf"
    with importlib.resources.as_file(file) as path:
        font = TTFont(name, path)
    pdfmetrics.registerFont(font)
    return font
