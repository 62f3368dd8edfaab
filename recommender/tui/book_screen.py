"""The quote book over the answer: quotes listed and searched, one of them whole, what becomes of it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.screen import Screen
from textual.widgets import Footer, Input, OptionList, Static
from textual.widgets.option_list import Option

from recommender.drawing.book_text import differences_text, names_of, passed_over_text, quote_text
from recommender.errors import BevelwrightError
from recommender.models.book import Entry, Event
from recommender.models.quote import NEXT, Quote, Status
from recommender.service import Service
from recommender.text import clean, plural
from recommender.tui.form_rows import Box
from recommender.tui.page import Part, literal

SHOWN = ("all", *NEXT)
KEYS = "s sent, a accepted, d declined, x done, u draft again; r revise, w write papers, c compare with now, f9 filter"


class BookScreen(Screen[None]):
    """Every quote, the newest first."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "Back", id="book.back"),
        Binding("slash", "search", "Search", id="book.search"),
        Binding("f9", "filter", "Status", id="book.filter", show=False),
        Binding("s", "move('sent')", "Sent", id="book.sent", show=False),
        Binding("a", "move('accepted')", "Accepted", id="book.accepted", show=False),
        Binding("d", "move('declined')", "Declined", id="book.declined", show=False),
        Binding("x", "move('done')", "Done", id="book.done", show=False),
        Binding("u", "move('draft')", "Draft again", id="book.reopened", show=False),
        Binding("r", "revise", "Revise", id="book.revise", show=False),
        Binding("w", "write", "Write documents", id="book.write", show=False),
        Binding("c", "compare", "Compare with today", id="book.compare", show=False),
    ]

    def __init__(self, service: Service, write: Callable[[Quote], str], revise: Callable[[Quote], None]) -> None:
        super().__init__()
        self.service, self.book = service, service.book()
        self.write, self.revise = write, revise
        self.filter = "all"
        self.listed: list[Entry] = []
        self.below = ""
        """What was said of the quote that is marked, below its text."""

    def compose(self) -> ComposeResult:
        """Search, list, and the quote that is marked."""
        yield Static(
            "",
            id="book-state",
        )
        yield Box(placeholder="search in number, customer, reference, title, grind", compact=True, id="book-search")
        with Horizontal(id="book"):
            yield OptionList(id="book-list", markup=False)
            yield Part(id="book-text")
        yield Static(literal(KEYS), id="book-keys")
        yield Footer()

    def on_mount(self) -> None:
        """List everything."""
        self.refill()
        self.query_one("#book-list", OptionList).focus()
        self.call_after_refresh(self.show)

    def refill(self, at: int = 0) -> None:
        """List what status and search leave."""
        words = self.query_one("#book-search", Input).value
        status = None if self.filter == "all" else self.filter
        listed = self.query_one("#book-list", OptionList)
        listed.clear_options()
        try:
            self.listed = self.book.entries(words=words, status=status)
        except BevelwrightError as error:
            self.listed = []
            self.say(str(error))
            return
        rows = zip(names_of(self.listed), self.listed, strict=True)
        listed.add_options([Option(literal(_row(name, entry))) for name, entry in rows])
        self.say(f"Quote book, showing {self.filter}: {plural(len(self.listed), 'quote')}")
        if self.listed:
            listed.highlighted = min(at, len(self.listed) - 1)
        else:
            empty = (
                "No quote holds that; change search (/) or status (f9)."
                if words or status
                else ("No quote yet. On the page Price, “put it into the quote book” saves the blade on the screen.")
            )
            self.query_one("#book-text", Part).show(empty)

    def say(self, words: str) -> None:
        """Say something on the line over the list."""
        self.query_one("#book-state", Static).update(literal(clean(words, one_line=True)))

    def on_input_changed(self) -> None:
        """Search as one types."""
        self.refill()

    def on_input_submitted(self) -> None:
        """Back to the list."""
        self.query_one("#book-list", OptionList).focus()

    def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        """Show the quote that is marked."""
        self.below = ""
        self.show()
        self.query_one("#book-text", Part).scroll_home(animate=False)

    def on_resize(self) -> None:
        """Wrap to the new width."""
        self.call_after_refresh(self.show)

    @property
    def marked(self) -> Entry | None:
        """The quote that is marked."""
        index = self.query_one("#book-list", OptionList).highlighted
        return self.listed[index] if index is not None and index < len(self.listed) else None

    def show(self) -> None:
        """Show the quote that is marked."""
        found = self._read()
        if found is None:
            return
        part = self.query_one("#book-text", Part)
        width = max(40, min(part.size.width - 4, 100))
        quote, entry, history = found
        part.show(self.below + quote_text(quote, entry.status, history, width=width))

    def _read(self) -> tuple[Quote, Entry, list[Event]] | None:
        entry = self.marked
        if entry is None:
            return None
        try:
            return self.book.quote(entry.number, entry.revision)
        except BevelwrightError as error:
            self.say(str(error))
            return None

    # Keys

    def action_move(self, status: Status) -> None:
        """Note what has become of the quote."""
        entry = self.marked
        if entry is None:
            return
        index = self.query_one("#book-list", OptionList).highlighted or 0
        try:
            moved = self.book.move((entry.number, entry.revision), status, date.today())
        except BevelwrightError as error:
            self.say(str(error))
            return
        self.refill(index)
        self.say(f"Quote {moved.name} is {moved.status}.")

    def action_write(self) -> None:
        """Write the documents as they were given."""
        found = self._read()
        if found is not None:
            try:
                self.say(self.write(found[0]))
            except BevelwrightError as error:
                self.say(str(error))

    def action_revise(self) -> None:
        """Fill the form from the quote; saving makes its next revision."""
        found = self._read()
        if found is not None:
            self._say_passed_over(found[1])
            self.dismiss()
            self.revise(found[0])

    def action_compare(self) -> None:
        """Say what asking again today would change."""
        found = self._read()
        if found is not None:
            self._say_passed_over(found[1])
            self.say(f"Asking quote {found[0].name} again …")
            self._compare(found[0])

    def _say_passed_over(self, entry: Entry) -> None:
        """Say what a quote of a later version asks that is not asked again here."""
        words = passed_over_text(self.book.passed_over(entry.number, entry.revision))
        if words:
            self.app.notify(words, markup=False)

    @work(thread=True, exclusive=True, group="compare")
    def _compare(self, quote: Quote) -> None:
        try:
            text = differences_text(quote.name, self.service.fresh(quote, self.service.shop()))
        except BevelwrightError as error:
            text = f"{error}\n"
        self.app.call_from_thread(self._compared, quote.name, text)

    def _compared(self, name: str, text: str) -> None:
        if self.marked is not None and self.marked.name == name:
            self.below = f"{text}\n"
            self.say(f"Quote {name} compared with today")
            self.show()

    def action_filter(self) -> None:
        """All, then every status in turn."""
        self.filter = SHOWN[(SHOWN.index(self.filter) + 1) % len(SHOWN)]
        self.refill()

    def action_search(self) -> None:
        """Type what to look for."""
        self.query_one("#book-search", Input).focus()

    def action_leave(self) -> None:
        """From the search to the list, from the list back to the answer."""
        listed = self.query_one("#book-list", OptionList)
        if self.focused is self.query_one("#book-search", Input):
            listed.focus()
        else:
            self.dismiss()


def _row(name: str, entry: Entry) -> str:
    who = entry.customer or entry.reference or entry.title or entry.grind
    return f"{name:<6} {entry.status:<9} {entry.total:>9} {entry.currency}  {who}"
