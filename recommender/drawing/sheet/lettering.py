"""Text on paper: wrapped to a width and clipped to a number of lines, by the typeface's own widths."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

from recommender.drawing.pdf_font import text_width_mm
from recommender.text import clean

_UNIT_GAP = re.compile(r"(?<=\d) (?=(?:mm|in|HRC|µm)\b)")
"""No line ends between a figure and its unit."""
_MOST_CHARACTERS = 400
"""No cell holds more, so no more is measured."""


def wrapped(text: str, width_mm: float, size_mm: float, *, most: int, bold: bool = False) -> list[str]:
    """Break a text into at most `most` lines no longer than a width; what is left out ends in "…".

    >>> wrapped("one two three", 12.0, 3.0, most=2)
    ['one two', 'three']
    >>> wrapped("one two three", 12.0, 3.0, most=1)
    ['one…']
    """

    def fits(line: str) -> bool:
        return text_width_mm(line, size_mm, bold=bold) <= width_mm

    text = _UNIT_GAP.sub("\u00a0", clean(text, one_line=True))
    cut = len(text) > _MOST_CHARACTERS
    lines: list[str] = []
    for piece in _pieces(text[:_MOST_CHARACTERS], fits):
        if lines and fits(f"{lines[-1]} {piece}"):
            lines[-1] += f" {piece}"
        elif len(lines) < most:
            lines.append(piece)
        else:
            cut = True
            break
    if cut and lines:
        last = lines[-1]
        while last and not fits(f"{last}…"):
            last = last[:-1]
        # A word that does not fit with its mark goes whole, unless it is the only one.
        whole = last == lines[-1]
        lines[-1] = f"{last if whole or ' ' not in last else last.rsplit(' ', 1)[0]}…"
    return lines


def _pieces(text: str, fits: Callable[[str], bool]) -> Iterator[str]:
    """Words, those longer than a line in parts."""
    for word in filter(None, text.split(" ")):
        while not fits(word):
            length = next(k for k in range(len(word) - 1, 0, -1) if k == 1 or fits(word[:k]))
            yield word[:length]
            word = word[length:]
            if not word:
                break
        if word:
            yield word
