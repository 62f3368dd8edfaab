"""The page: the blade with its section, a part of the answer, the cautions; text is shown literally, not as markup."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from recommender.drawing.answer_text import drawn_section
from recommender.drawing.lengths import Lengths
from recommender.geometry.outline import Outline
from recommender.models.proposal import Answer
from recommender.text import clean, plural


class Part(VerticalScroll, can_focus=True):
    """A part of the answer, scrolled by itself."""

    def compose(self) -> ComposeResult:
        """One text."""
        yield Static(Content(""))

    def show(self, text: str) -> None:
        """Show a text as it is."""
        self.query_one(Static).update(Content(clean(text)))


class Picture(VerticalScroll, can_focus=True):
    """The proposed dimensions, and the section to scale below them."""

    def compose(self) -> ComposeResult:
        """Dimensions, then the drawing."""
        yield Static(Content(""), id="blade")
        yield Static(Content(""), id="drawing")

    def show(self, blade: str, answer: Answer, outline: Outline | None, inches: bool) -> None:
        """Draw the section as wide as there is room."""
        self.query_one("#blade", Static).update(Content(clean(blade)))
        p = answer.proposal
        lines: list[str] = []
        if p is not None and outline is not None:
            lines = drawn_section(outline, p, max(30, min(self.size.width - 4, 100)), Lengths(inches))
        self.query_one("#drawing", Static).update(Content("\n".join(lines)))


class Care(Static):
    """Cautions, always on the screen: those of this blade in words, the rest counted."""

    def show(self, answer: Answer, audience: str) -> None:
        """Name what matters most for this blade first."""
        words = [w for w in answer.cautions if w.audience in ("everyone", audience)]
        own = [w for w in words if w.specific] or words
        first = clean(own[0].text, one_line=True) if own else ""
        more = f"  ({plural(len(words) - 1, 'more caution')} under Care)" if len(words) > 1 else ""
        room = max(20, 2 * self.size.width - len(more) - 8)
        first = first if len(first) <= room else first[: room - 1] + "…"
        self.update(Content(f"! {first}{more}"))
