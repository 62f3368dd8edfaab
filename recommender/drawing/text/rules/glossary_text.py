"""The trade's words, and each grind with a drawing."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Protocol

from recommender.drawing.text.answer.section_text import whole_lines
from recommender.drawing.text.text_page import TextPage
from recommender.geometry.outline import Outline


class GrindInWords(Protocol):
    """What is told of a grind."""

    @property
    def label(self) -> str:
        """How it is called."""

    @property
    def about(self) -> str:
        """What it is."""

    @property
    def made(self) -> str:
        """How it is ground."""

    @property
    def sharpened(self) -> str:
        """How it is sharpened."""


WORDS = (
    ("edge, spine", "The side that cuts, and the back of the blade."),
    ("stock", "The bar before it is ground; its thickness is that of the unground spine."),
    ("primary grind", "The large ground face that makes the blade thinner from the spine towards the edge."),
    ("grind line", "Where the primary grind meets the unground flat. At the spine, the blade is ground full height."),
    ("edge bevel", "The small bevel that makes the cutting edge."),
    ("per side, included", "An edge angle of one face, and of both together. A one-sided edge has one face only."),
    (
        "behind the edge",
        "Thickness where the edge bevel meets the primary grind: thin cuts easily, thick lasts rough use.",
    ),
    ("ground to zero", "The primary grind itself runs out into the edge; there is no separate edge bevel."),
    ("micro-bevel", "A tiny steeper bevel at the very edge, of any grind, so that it holds longer."),
    ("hollow", "Ground on a wheel: the face is a part of the wheel's round."),
    ("flat", "Ground on a platen, or on the face of a very large wheel: the face is straight."),
    ("convex", "Ground on a slack belt: the face bulges out."),
    ("hollowed back", "The unground face made slightly hollow, so that only a rim touches stone and work."),
    ("saber", "A grind whose line lies below the spine, so that full stock is left above it."),
    ("plunge line", "Where the primary grind starts, next to the handle."),
    ("swedge", "A bevel beside the spine near the tip; here it is left blunt."),
    ("distal taper", "The blade getting thinner from the handle to the tip."),
    ("edge zone, tip zone", "The two parts of a blade that is ground one way along the edge and another at the tip."),
    ("contact wheel, platen, slack belt", "What a belt runs over in the shop: a wheel, a flat plate, or nothing."),
    ("~ and points", "~ marks a figure that leans on estimates. Points compare blades for your work, out of 100."),
)


def glossary_text(grinds: Iterable[tuple[GrindInWords, Outline | None, float]], width: int) -> str:
    """Words first, then each grind with its section (v, 3) and grind line (mm), edge left and spine right."""
    page = TextPage(width)
    page.heading("Words")
    for word, meaning in WORDS:
        page.line(f"{word}: {meaning}", "  ", "    ")
    page.heading("The grinds, each drawn on a 4 mm bar 22 mm high: edge left, spine right")
    for grind, outline, line_mm in grinds:
        page.gap()
        page.line(f"{grind.label}: {grind.about}", "  ", "    ")
        if outline is not None:
            for drawn in whole_lines(outline, grind_line_mm=line_mm, width=min(page.width - 4, 72), rows=3):
                page.raw("    " + drawn if drawn else "")
        page.line(f"Made: {grind.made}", "    ")
        page.line(f"Sharpened: {grind.sharpened}", "    ")
    return page.text()
