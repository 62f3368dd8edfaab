"""Looking for words in the answer: every page of it, from the one on the screen on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual.widgets import TabbedContent

from recommender.tui.widgets.answer_page import Paragraphs, TextPart
from recommender.tui.widgets.search_line import SearchLine, SearchMoved

if TYPE_CHECKING:
    from recommender.tui.app import BevelwrightApp


@dataclass(frozen=True)
class Place:
    """A line of a page that has the words."""

    page: str
    line: int


class AnswerSearch:
    """Owned by the application, whose pages it turns."""

    def __init__(self, app: BevelwrightApp) -> None:
        self.app = app
        self._places: list[Place] = []
        self._at = 0
        self._words = ""

    @property
    def _line(self) -> SearchLine:
        return self.app.main.query_one(SearchLine)

    def start(self) -> None:
        """Ask what to look for."""
        self.app.main.add_class("-answer", "-searching")
        self._line.box.focus()
        self._line.box.select_all()
        if self._line.box.value:
            self._look(self._line.box.value)

    def move(self, event: SearchMoved) -> None:
        """Look for other words, go to another place, or leave."""
        if event.by is None:
            self.leave()
        elif event.by == 0 or event.words != self._words:
            self._look(event.words)
        elif self._places:
            self._at = (self._at + event.by) % len(self._places)
            self._show()

    def leave(self) -> None:
        """Put the pages back as they were; the place that was found stays on the screen."""
        self.app.main.remove_class("-searching")
        self._mark("")
        self._words = ""
        self.app.focus_page()

    def _look(self, words: str) -> None:
        self._words, self._at = words, 0
        names = self.app.tab_names()
        active = self.app.main.query_one("#tabs", TabbedContent).active.removeprefix("tab-")
        start = names.index(active) if active in names else 0
        sought = words.strip().casefold()
        self._places = [
            Place(name, number)
            for name in [*names[start:], *names[:start]]
            for number, line in enumerate(self._text(name).split("\n"))
            if sought and sought in line.casefold()
        ]
        self._show()

    def _show(self) -> None:
        self._mark(self._words)
        if not self._places:
            self._line.say("nothing there" if self._words.strip() else "in every page; esc leaves")
            return
        place = self._places[self._at]
        self._line.say(f"{self._at + 1} of {len(self._places)}: enter, up")
        self.app.main.query_one("#tabs", TabbedContent).active = f"tab-{place.page}"
        part = self._part(place.page)
        if part is not None:
            self.app.call_after_refresh(part.reveal, place.line)

    def _mark(self, words: str) -> None:
        for name in self.app.tab_names():
            part = self._part(name)
            if part is not None:
                part.mark(words.strip())

    def _part(self, name: str) -> TextPart | Paragraphs | None:
        """A page that is a text; those with rows to move are not looked through."""
        found = self.app.main.query_one(f"#part-{name}")
        return found if isinstance(found, (TextPart, Paragraphs)) else None

    def _text(self, name: str) -> str:
        part = self._part(name)
        return "" if part is None else part.text
