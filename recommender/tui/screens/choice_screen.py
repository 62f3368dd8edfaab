"""A long list of choices for one field, filtered as one types."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from recommender.tui.widgets.answer_page import literal
from recommender.tui.widgets.form_rows import SafeInput, row_key


class ChoiceScreen(ModalScreen[str | None]):
    """Gives the value that is chosen, None where none is."""

    BINDINGS: ClassVar[list[BindingType]] = [
        row_key("up", "go(-1)", "choice above", id="choice.above"),
        row_key("down", "go(1)", "choice below", id="choice.below"),
        row_key("enter", "take", "take it", id="choice.take"),
        row_key("escape", "leave", "leave it", id="choice.leave"),
    ]

    def __init__(self, title: str, options: Sequence[tuple[str, str]], value: str) -> None:
        super().__init__()
        self.words, self.options, self.value = title, tuple(options), value
        self._left = list(self.options)
        """What the words typed leave of them."""

    def compose(self) -> ComposeResult:
        """Title, line, choices."""
        with Vertical(id="choice"):
            yield Static(literal(self.words))
            yield SafeInput(placeholder="type a part of it", compact=True, id="choice-box")
            yield OptionList(id="choice-list", markup=False)
            yield Static(literal("enter takes it, esc leaves it"))

    @property
    def choices(self) -> OptionList:
        """The list."""
        return self.query_one("#choice-list", OptionList)

    def on_mount(self) -> None:
        """Everything, the present value marked."""
        self.choices.can_focus = False
        self._fill("")

    def on_input_changed(self) -> None:
        """What is typed leaves fewer of them."""
        self._fill(self.query_one(SafeInput).value)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """A click takes it."""
        self.dismiss(self._left[event.option_index][0])

    def action_go(self, by: int) -> None:
        """The choice above or below."""
        if self._left:
            at = (self.choices.highlighted or 0) + by
            self.choices.highlighted = min(max(at, 0), len(self._left) - 1)

    def action_take(self) -> None:
        """Take what is marked."""
        at = self.choices.highlighted
        if at is not None and self._left:
            self.dismiss(self._left[at][0])

    def action_leave(self) -> None:
        """Take none."""
        self.dismiss(None)

    def _fill(self, words: str) -> None:
        sought = words.strip().casefold()
        self._left = [(value, label) for value, label in self.options if sought in f"{label} {value}".casefold()]
        self.choices.clear_options()
        self.choices.add_options([Option(literal(label)) for _, label in self._left])
        values = [value for value, _ in self._left]
        if values:
            self.choices.highlighted = values.index(self.value) if self.value in values else 0
