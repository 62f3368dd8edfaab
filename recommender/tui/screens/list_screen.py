"""A screen over the answer: a list, searched and filtered, and what is marked in it beside it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets import Footer, Input, OptionList, Static
from textual.widgets.option_list import Option

from recommender.errors import BevelwrightError
from recommender.text import clean
from recommender.tui.widgets.answer_page import TextPart, literal
from recommender.tui.widgets.form_rows import SafeInput


class ListScreen(Screen[None]):
    """Lists what search and filter leave; each kind says what that is and binds keys of its own to the actions."""

    NAME: ClassVar[str]
    """What the ids of its widgets start with."""
    BODY: ClassVar[str]
    """Id of list and page together."""
    SEARCHED: ClassVar[str]
    """What the search looks in, shown while it is empty."""
    FILTERS: ClassVar[tuple[str, ...]]
    """In the order in which they take turns; the first lets everything through."""

    def __init__(self) -> None:
        super().__init__()
        self.filter = self.FILTERS[0]
        self.first = 0
        """Place of the row that is marked when the screen opens."""

    # What each kind says

    def found(self, words: str) -> list[str]:
        """The rows that filter and search leave, one line each. Raises BevelwrightError."""
        raise NotImplementedError

    def summary(self) -> str:
        """What is listed, on the line over the list."""
        raise NotImplementedError

    def nothing(self, words: str) -> str:
        """The page where nothing is listed."""
        raise NotImplementedError

    def text_of_marked(self, width: int) -> str | None:
        """What is shown of the row that is marked; None leaves the page as it is."""
        raise NotImplementedError

    def below(self) -> Iterator[Widget]:
        """What stands below list and page."""
        return iter(())

    # The widgets

    def compose(self) -> ComposeResult:
        """Search, list, and what is marked."""
        yield Static("", id=f"{self.NAME}-state")
        yield SafeInput(placeholder=self.SEARCHED, compact=True, id=f"{self.NAME}-search")
        with Horizontal(id=self.BODY):
            yield OptionList(id=f"{self.NAME}-list", markup=False)
            yield TextPart(id=f"{self.NAME}-text")
        yield from self.below()
        yield Footer()

    @property
    def search(self) -> Input:
        """The line to type in what is looked for."""
        return self.query_one(f"#{self.NAME}-search", Input)

    @property
    def choices(self) -> OptionList:
        """The list."""
        return self.query_one(f"#{self.NAME}-list", OptionList)

    @property
    def part(self) -> TextPart:
        """The page beside it."""
        return self.query_one(f"#{self.NAME}-text", TextPart)

    def on_mount(self) -> None:
        """List everything."""
        self.refill(self.first)
        self.choices.focus()
        self.choices.scroll_to_highlight()
        self.call_after_refresh(self.show)

    def refill(self, at: int = 0) -> None:
        """List what filter and search leave, and mark the row at a place."""
        words = self.search.value
        self.choices.clear_options()
        try:
            rows = self.found(words)
        except BevelwrightError as error:
            self.say(str(error))
            return
        self.choices.add_options([Option(literal(row)) for row in rows])
        self.say(self.summary())
        if rows:
            self.choices.highlighted = min(at, len(rows) - 1)
        else:
            self.part.show(self.nothing(words))

    def say(self, words: str) -> None:
        """Say something on the line over the list."""
        self.query_one(f"#{self.NAME}-state", Static).update(literal(clean(words, one_line=True)))

    def show(self) -> None:
        """Show what is marked, wrapped to the width of the page."""
        text = self.text_of_marked(max(40, min(self.part.size.width - 4, 100)))
        if text is not None:
            self.part.show(text)

    def turn_to(self) -> None:
        """Show another row, from its first line."""
        self.show()
        self.part.scroll_home(animate=False)

    def on_input_changed(self) -> None:
        """Search as one types."""
        self.refill()

    def on_input_submitted(self) -> None:
        """Back to the list."""
        self.choices.focus()

    def on_option_list_option_highlighted(self) -> None:
        """Show what is marked."""
        self.turn_to()

    def on_resize(self) -> None:
        """Wrap to the new width."""
        self.call_after_refresh(self.show)

    # Keys

    def action_filter(self) -> None:
        """Every filter in turn."""
        self.filter = self.FILTERS[(self.FILTERS.index(self.filter) + 1) % len(self.FILTERS)]
        self.refill()

    def action_search(self) -> None:
        """Type what to look for."""
        self.search.focus()

    def action_leave(self) -> None:
        """From the search to the list, from the list back to the answer."""
        if self.focused is self.search:
            self.choices.focus()
        else:
            self.dismiss()
