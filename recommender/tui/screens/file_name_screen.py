"""A line over the answer to type a file's name in, with files to choose from."""

from __future__ import annotations

from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option

from recommender.tui.widgets.answer_page import literal
from recommender.tui.widgets.form_rows import SafeInput


class FileNameScreen(ModalScreen[Path | None]):
    """A line to type a file's name in, with files to choose from."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "leave", "Leave it", id="path.leave")]

    def __init__(self, title: str, given: str, files: list[Path]) -> None:
        super().__init__()
        self.words, self.given, self.files = title, given, files

    def compose(self) -> ComposeResult:
        """Title, line, files."""
        with Vertical(id="path"):
            yield Static(literal(self.words))
            yield SafeInput(self.given, compact=True, id="path-box")
            yield OptionList(*(Option(literal(str(file))) for file in self.files), id="path-list", markup=False)
            yield Static(literal("enter takes it, tab goes to the list, esc leaves it"))

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Take what is typed."""
        self.dismiss(Path(event.value.strip()).expanduser() if event.value.strip() else None)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Take a file."""
        self.dismiss(self.files[event.option_index])

    def action_leave(self) -> None:
        """Take nothing."""
        self.dismiss(None)
