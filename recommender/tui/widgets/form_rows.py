"""Rows of a form, one a line: the cursor stands on one and goes up and down among them."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.widget import Widget
from textual.widgets import Input, Static

from recommender.text import clean

Styled = str | tuple[str, str]
"""Words, plain or with their style."""


def row_key(keys: str, action: str, label: str, id: str) -> Binding:
    """A key of a row. Handled by the application, one after the other: a row's own queue would lag behind the cursor.

    Keys faster than the screen then neither get lost nor act on a row that the cursor has left.
    """
    return Binding(keys, action, label, id=id, show=False, priority=True)


class Rows(VerticalScroll, can_focus=False):
    """A form: rows of every kind below each other, with texts between them."""

    def go(self, by: int) -> None:
        """To the row above or below, never out of the form."""
        among = list(self.query("CursorRow, SafeInput"))
        # Of the screen, at once: a row learns of its focus, and `focus` gives it, when its turn comes.
        at = next((k for k, row in enumerate(among) if row is self.screen.focused), 0)
        self.screen.set_focus(among[min(max(at + by, 0), len(among) - 1)])


def rows_of(row: Widget) -> Rows | None:
    """The form that a row stands in, None for one that stands elsewhere."""
    return next((above for above in row.ancestors if isinstance(above, Rows)), None)


class CursorRow(Widget, can_focus=True):
    """A row on one line, marked while the cursor is on it."""

    def render(self) -> Content:
        """The mark and what the row says."""
        return Content.assemble("▸" if self.has_focus else " ", *self.words_shown())

    def words_shown(self) -> list[Styled]:
        """What the row says, each part plain or with its style."""
        raise NotImplementedError

    def action_go(self, by: int) -> None:
        """To the row above or below."""
        form = rows_of(self)
        if form is not None:
            form.go(by)


class SafeInput(Input):
    """A line to type in; what is pasted or opened into it is made safe to show."""

    BINDINGS: ClassVar[list[BindingType]] = [
        row_key("up", "go(-1)", "field above", id="box.above"),
        row_key("down", "go(1)", "field below", id="box.below"),
    ]

    def validate_value(self, value: str) -> str:
        """No control characters, escapes or bidi overrides."""
        return clean(value, one_line=True)

    def action_go(self, by: int) -> None:
        """Up or down in the form; a line to type in elsewhere has no other above, and below it what comes next."""
        form = rows_of(self)
        if form is not None:
            form.go(by)
        elif by > 0:
            self.screen.focus_next()


class TypedRow(Widget):
    """A label with a line to type in."""

    def __init__(self, label: str, box: SafeInput) -> None:
        super().__init__()
        self.label, self.box = label, box

    def compose(self) -> ComposeResult:
        """Label and line."""
        yield Static(Content(f" {self.label}"))
        yield self.box

    def typed(self, text: str) -> Message:
        """The message that says what stands in the line."""
        raise NotImplementedError

    def on_input_changed(self, event: Input.Changed) -> None:
        """Tell what stands in the line."""
        event.stop()
        self.post_message(self.typed(event.value.strip()))
