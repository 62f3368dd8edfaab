"""The quote form: what is ordered besides the blade, who orders it, and what that costs, line by line."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.message import Message
from textual.widgets import Input, Static

from recommender.text import clean
from recommender.tui.state.order_fields import NONE, PIECES
from recommender.tui.widgets.answer_page import literal
from recommender.tui.widgets.form_rows import CursorRow, Rows, SafeInput, Styled, TypedRow, row_key
from recommender.tui.widgets.trial_rows import Stepper

WRITTEN = (("customer", "customer"), ("reference", "their reference"))


class Written(Message):
    """A line of the order has been typed in."""

    def __init__(self, name: str, text: str) -> None:
        super().__init__()
        self.name, self.text = name, text


class ActionChosen(Message):
    """An action is asked for by name."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self.name = name


class ActionRow(CursorRow):
    """Something that can be done, on one line."""

    BINDINGS: ClassVar[list[BindingType]] = [
        row_key("up", "go(-1)", "row above", id="deed.above"),
        row_key("down", "go(1)", "row below", id="deed.below"),
        row_key("enter,space", "do", "do it", id="deed.do"),
    ]

    def __init__(self, what: str, words: str) -> None:
        super().__init__()
        self.what, self.words = what, words

    def say(self, words: str) -> None:
        """Call it otherwise."""
        self.words = words
        self.refresh()

    def words_shown(self) -> list[Styled]:
        """What it is called."""
        return [(f"[ {clean(self.words, one_line=True)} ]", "$accent")]

    def action_do(self) -> None:
        """Ask for it."""
        self.post_message(ActionChosen(self.what))

    def on_click(self, event: events.Click) -> None:
        """Ask for it."""
        self.action_do()


class OrderBox(SafeInput):
    """A line of the order to type in."""

    BINDINGS: ClassVar[list[BindingType]] = [
        row_key("up", "go(-1)", "row above", id="order.above"),
        row_key("down,enter", "go(1)", "row below", id="order.below"),
    ]


class WrittenRow(TypedRow):
    """A label with a line of the order to type in."""

    def __init__(self, what: str, label: str) -> None:
        super().__init__(f"{label:<22}", OrderBox(compact=True, max_length=200))
        self.what = what

    def typed(self, text: str) -> Written:
        """What stands in the line by now: more may have been typed than is told."""
        return Written(self.what, self.text)

    @property
    def text(self) -> str:
        """What stands in the line."""
        return self.box.value.strip()


class OrderForm(Rows):
    """Rows that move, lines to type in, actions, and the price below."""

    def compose(self) -> ComposeResult:
        """All of it."""
        yield Static(Content("Left and right change; the price follows."), classes="hint")
        yield Static(Content(""), classes="total")
        for name in (PIECES, "finish", "handle", "sheath", "shipping"):
            yield Stepper(f"order-{name}")
        for what, label in WRITTEN:
            yield WrittenRow(what, label)
        yield ActionRow("save", "put it into the quote book")
        yield ActionRow("book", "open the quote book")
        yield Static(Content(""), classes="text")

    def show(self, rows: dict[str, tuple[str, str]], total: str, text: str, save: str) -> None:
        """Show every row's value and cost, the total, every line, and what saving is called."""
        for stepper in self.query(Stepper):
            name = stepper.what.removeprefix("order-")
            stepper.show(name, *rows.get(name, (NONE, "")))
        self.say_save(save)
        self.query_one(".total", Static).update(literal(total))
        self.query_one(".text", Static).update(literal(text))

    def when_typed(self, act: Callable[[dict[str, str]], None]) -> None:
        """Act on what stands in the lines, once every key pressed so far has come to them."""
        rows = list(self.query(WrittenRow))

        def through(rest: list[WrittenRow]) -> None:
            if rest:
                rest[0].box.call_later(through, rest[1:])  # behind the keys that wait in its queue
            else:
                act({row.what: row.text for row in rows})

        through(rows)

    def say_save(self, words: str) -> None:
        """Show what saving is called."""
        self.query(ActionRow).first().say(words)

    def write(self, texts: dict[str, str]) -> None:
        """Put texts into the lines, without telling each."""
        for row in self.query(WrittenRow):
            with row.box.prevent(Input.Changed):
                row.box.value = texts.get(row.what, "")
