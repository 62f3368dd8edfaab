"""The quote book over the answer: quotes listed and searched, one of them whole, what becomes of it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from typing import ClassVar, Protocol

from textual.binding import Binding, BindingType
from textual.widget import Widget
from textual.widgets import Static

from recommender.drawing.text.workshop.quote_book_text import differences_text, names_of, passed_over_text, quote_text
from recommender.errors import BevelwrightError
from recommender.models.workshop.book import Damaged, Entry, Event
from recommender.models.workshop.quote import NEXT, Quote, Status
from recommender.service import quote_book
from recommender.text import plural
from recommender.tui.screens.list_screen import ListScreen
from recommender.tui.widgets.answer_page import literal
from recommender.worker.client import Reply
from recommender.worker.messages import Refused
from recommender.worker.parts import FreshPart
from recommender.worker.questions import FreshQuestion, Question

KEYS = "s sent, a accepted, d declined, x done, u draft again; r revise, w write papers, c compare with now, f9 filter"
MOST_NAMED = 3
"""Of what is damaged, on one line."""


class Put(Protocol):
    """Puts a question to the engine, as the app does."""

    def __call__(self, question: Question, take: Callable[[Reply], None], *, always: bool = False) -> None:
        """Ask; `take` gets the replies."""


class BookScreen(ListScreen):
    """Every quote, the newest first."""

    NAME = BODY = "book"
    SEARCHED = "search in number, customer, reference, title, grind"
    FILTERS = ("all", *NEXT)
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

    def __init__(self, put: Put, write: Callable[[Quote], str], revise: Callable[[Quote, Entry], None]) -> None:
        super().__init__()
        self.book = quote_book()
        self.put, self.write, self.revise = put, write, revise
        self.listed: list[Entry] = []
        self.damaged: list[Damaged] = []
        self.doubted: tuple[Entry, Status] | None = None
        """What was asked last, and is only done when it is asked again."""
        self.compared = ""
        """What was said of the quote that is marked, over its text."""

    def below(self) -> Iterator[Widget]:
        """The keys."""
        yield Static(literal(KEYS), id="book-keys")

    def found(self, words: str) -> list[str]:
        """Quotes in that status that hold the words."""
        self.listed, self.damaged = [], []
        self.damaged = self.book.damaged()
        self.listed = self.book.entries(words=words, status=self.status)
        return [_row(name, entry) for name, entry in zip(names_of(self.listed), self.listed, strict=True)]

    @property
    def status(self) -> str | None:
        """The status that alone is listed, None where all are."""
        return None if self.filter == "all" else self.filter

    def summary(self) -> str:
        """How many quotes are listed."""
        listed = f"Quote book, showing {self.filter}: {plural(len(self.listed), 'quote')}"
        if not self.damaged:
            return listed
        named = ", ".join(each.name for each in self.damaged[:MOST_NAMED])
        return f"{listed}; damaged: {named}{' …' if len(self.damaged) > MOST_NAMED else ''} (`book check` says how)"

    def nothing(self, words: str) -> str:
        """How to see a quote again, or how a first one comes in."""
        if words or self.status:
            return "No quote holds that; change search (/) or status (f9)."
        return "No quote yet. On the page Price, “put it into the quote book” saves the blade on the screen."

    @property
    def marked(self) -> Entry | None:
        """The quote that is marked."""
        index = self.choices.highlighted
        return self.listed[index] if index is not None and index < len(self.listed) else None

    def text_of_marked(self, width: int) -> str | None:
        """The quote, after what was said of it."""
        entry = self.marked
        if entry is None:
            return None
        try:
            quote, entry, history = self.book.quote(entry.number, entry.revision)
        except BevelwrightError as error:
            return f"{error}\n"
        return self.compared + quote_text(quote, entry, history, width=width)

    def turn_to(self) -> None:
        """Another quote has not been compared, and nothing was doubted of it."""
        self.compared, self.doubted = "", None
        super().turn_to()

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
        index = self.choices.highlighted or 0
        name, today = (entry.number, entry.revision), date.today()
        try:
            doubts = self.book.doubts(name, status, today)
            if doubts and self.doubted != (entry, status):
                self.doubted = (entry, status)
                self.say(
                    f"{' '.join(doubt.words for doubt in doubts)} The same key again notes it as {status} all the same."
                )
                return
            moved = self.book.move(name, status, today)
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
            self.revise(found[0], found[1])

    def action_compare(self) -> None:
        """Say what asking again today would change."""
        found = self._read()
        if found is not None:
            self._say_passed_over(found[1])
            self.say(f"Asking quote {found[1].name} again …")
            self._compare(found[0], found[1].name)

    def _say_passed_over(self, entry: Entry) -> None:
        """Say what a quote of a later version asks that is not asked again here."""
        words = passed_over_text(self.book.passed_over(entry.number, entry.revision))
        if words:
            self.app.notify(words, markup=False)

    def _compare(self, quote: Quote, name: str) -> None:
        def take(reply: Reply) -> None:
            if isinstance(reply, FreshPart):
                self._compared(name, differences_text(name, list(reply.differences)))
            elif isinstance(reply, Refused):
                self._compared(name, f"{reply.words}\n")

        self.put(FreshQuestion(quote=quote), take, always=True)

    def _compared(self, name: str, text: str) -> None:
        if self in self.app.screen_stack and self.marked is not None and self.marked.name == name:
            self.compared = f"{text}\n"
            self.say(f"Quote {name} compared with today")
            self.show()


def _row(name: str, entry: Entry) -> str:
    who = entry.customer or entry.reference or entry.title or entry.grind
    return f"{name:<6} {entry.status:<10} {entry.total:>9} {entry.currency}  {who}"
