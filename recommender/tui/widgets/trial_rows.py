"""Blades of one's own: one row a dimension, moved with the arrow keys; and up to four blades side by side."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from recommender.drawing.lengths import Lengths
from recommender.models.answer.trial import Knob
from recommender.text import clean
from recommender.tui.widgets.answer_page import literal
from recommender.tui.widgets.form_rows import CursorRow, Rows, Styled, row_key
from recommender.units import Unit

GRIND = "grind"


class RowMoved(Message):
    """A row has been moved by steps; 0 puts it back."""

    def __init__(self, name: str, by: int) -> None:
        super().__init__()
        self.name, self.by = name, by


class Stepper(CursorRow):
    """One dimension, or one of some blades, on one line."""

    BINDINGS: ClassVar[list[BindingType]] = [
        row_key("up", "go(-1)", "row above", id="try.above"),
        row_key("down", "go(1)", "row below", id="try.below"),
        row_key("left", "move(-1)", "less", id="try.less"),
        row_key("right,space,enter", "move(1)", "more", id="try.more"),
        row_key("backspace,delete", "move(0)", "back", id="try.back"),
    ]

    def __init__(self, name: str) -> None:
        super().__init__()
        self.what, self.words = name, ("", "", "")

    def show(self, label: str, value: str, beside: str) -> None:
        """Label, value and what it was."""
        self.words = (clean(label, one_line=True), clean(value, one_line=True), clean(beside, one_line=True))
        self.refresh()

    def words_shown(self) -> list[Styled]:
        """On one line."""
        label, value, beside = self.words
        return [f"{label:<22}", (f"‹ {value} ›", "$accent"), (f"  {beside}", "$text-muted")]

    def action_move(self, by: int) -> None:
        """Tell it."""
        self.post_message(RowMoved(self.what, by))

    def on_click(self, event: events.Click) -> None:
        """On the left half of the line back, on the right half on."""
        self.action_move(-1 if event.x < 24 else 1)


def stepped(knob: Knob, by: int) -> float | str | None:
    """A knob's value so many steps on; what was proposed for 0; None where it cannot move."""
    if not by:
        return knob.proposed
    if knob.choices:
        at = knob.choices.index(knob.value) if knob.value in knob.choices else -1 if by > 0 else 0
        return knob.choices[(at + by) % len(knob.choices)]
    if not isinstance(knob.value, float) or not knob.step:
        return None
    steps = round(knob.value / knob.step + by)
    return min(knob.high, max(knob.low, round(steps * knob.step, 6)))


def knob_words(knob: Knob, sides: float, inches: bool) -> tuple[str, str]:
    """A knob's value, and what was proposed where that differs."""

    def words(value: float | str | None) -> str:
        if not isinstance(value, float):
            return "none" if value is None else str(value)
        if knob.name == "edge_angle_per_side_deg":
            return f"{value:g}° per side, {value * sides:g}° included"
        return Lengths(inches).figure(value, Unit(knob.unit))

    moved = knob.proposed is not None and knob.value != knob.proposed
    return words(knob.value), f"proposed {words(knob.proposed)}" if moved else ""


class Steppers(Rows):
    """Rows that move, with a text below."""

    def compose(self) -> ComposeResult:
        """Rows, then the text."""
        yield Static(Content(""), classes="hint")
        yield Vertical(classes="rows")
        yield Static(Content(""), classes="text")

    def show(self, hint: str, rows: Sequence[tuple[str, str, str, str]], text: str) -> None:
        """Rows as (name, label, value, beside); rows that stay keep the cursor."""
        self.query_one(".hint", Static).update(literal(hint))
        self.query_one(".text", Static).update(literal(text))
        holder = self.query_one(".rows", Vertical)
        steppers = list(holder.query(Stepper))
        order = [name for name, *_ in rows]
        if [s.what for s in steppers] != order:
            kept = {s.what: s for s in steppers}
            for what, stepper in kept.items():
                if what not in order:
                    stepper.remove()
            steppers = [kept.get(name) or Stepper(name) for name in order]
            holder.mount_all([s for s in steppers if s.what not in kept])
            place = {name: at for at, name in enumerate(order)}
            holder.sort_children(key=lambda s: place.get(s.what, -1) if isinstance(s, Stepper) else -1)
        for stepper, (_, label, value, beside) in zip(steppers, rows, strict=True):
            stepper.show(label, value, beside)
