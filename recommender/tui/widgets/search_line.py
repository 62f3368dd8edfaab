"""The line in which one types what to look for in the answer."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal
from textual.content import Content
from textual.message import Message
from textual.widgets import Input, Static

from recommender.text import clean
from recommender.tui.widgets.form_rows import SafeInput, row_key


class SearchMoved(Message):
    """Other words are looked for, or the next place that has them, so many on; None leaves the search."""

    def __init__(self, words: str, by: int | None) -> None:
        super().__init__()
        self.words, self.by = words, by


class SearchBox(SafeInput):
    """The line itself."""

    BINDINGS: ClassVar[list[BindingType]] = [
        row_key("up", "turn(-1)", "place before", id="search.previous"),
        row_key("down,enter", "turn(1)", "next place", id="search.next"),
        row_key("escape", "leave", "leave the search", id="search.leave"),
    ]

    def action_turn(self, by: int) -> None:
        """Another place."""
        self.post_message(SearchMoved(self.value, by))

    def action_leave(self) -> None:
        """Back to the answer."""
        self.post_message(SearchMoved(self.value, None))

    def on_input_changed(self, event: Input.Changed) -> None:
        """Other words."""
        event.stop()
        self.post_message(SearchMoved(event.value, 0))


class SearchLine(Horizontal):
    """The line, and how many places there are."""

    def compose(self) -> ComposeResult:
        """A word, the line, the count."""
        yield Static(Content("Find "), id="search-word")
        yield SearchBox(compact=True, max_length=80, id="search-box")
        yield Static(Content(""), id="search-count")

    @property
    def box(self) -> SearchBox:
        """The line to type in."""
        return self.query_one(SearchBox)

    def say(self, words: str) -> None:
        """Say how many places there are."""
        self.query_one("#search-count", Static).update(Content(clean(words, one_line=True)))
