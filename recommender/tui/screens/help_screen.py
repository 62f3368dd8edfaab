"""Help over the answer: what the cursor is on, the keys, the glossary."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import Screen
from textual.widgets import Footer

from recommender.tui.widgets.answer_page import TextPart


class HelpScreen(Screen[None]):
    """What the cursor is on, the keys, the trade's words and the grinds."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,f1", "leave", "Back", id="help.back")]

    def __init__(self, write: Callable[[int], str]) -> None:
        super().__init__()
        self.write = write

    def compose(self) -> ComposeResult:
        """One text."""
        yield TextPart(id="help")
        yield Footer()

    def on_mount(self) -> None:
        """Scroll with the arrow keys at once."""
        self.query_one(TextPart).focus()

    def on_resize(self) -> None:
        """Wrap to the width."""
        self.show()

    def show(self) -> None:
        """Write the text, as much of it as is there yet."""
        if not self.is_mounted:
            return
        self.query_one(TextPart).show(self.write(max(40, min(self.size.width - 4, 100))))

    def action_leave(self) -> None:
        """Back to the answer."""
        self.dismiss()
