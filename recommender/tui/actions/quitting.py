"""Quitting, once what was asked to be saved is."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from recommender.worker.client import Reply
from recommender.worker.questions import DocumentQuestion, Question, QuoteQuestion

if TYPE_CHECKING:
    from recommender.tui.app import BevelwrightApp


class Quitting:
    """Knows what is being saved, and ends the application after it."""

    def __init__(self, app: BevelwrightApp) -> None:
        self.app = app
        self._written: dict[str, Callable[[Reply], None]] = {}
        """Who takes what is being written to be saved, by group of question."""
        self._is_asked_for = False

    @property
    def _is_owed(self) -> bool:
        """Whether something is still to be saved."""
        return bool(self._written) or self.app.waits.is_to_save or self.app.quotes.is_being_read

    def is_saving(self, group: str) -> bool:
        """Whether what was asked for in a group is to be saved and not there yet."""
        return group in self._written

    def asked(self, question: Question, take: Callable[[Reply], None]) -> None:
        """A question is put; wait for it if it is to be saved."""
        if isinstance(question, (QuoteQuestion, DocumentQuestion)):
            self._written[question.group] = take

    def answered(self, group: str, take: Callable[[Reply], None]) -> None:
        """Nothing more comes on a question."""
        if self._written.get(group) is take:
            del self._written[group]
        self.look()

    def quit(self) -> None:
        """Quit now, or later."""
        self._is_asked_for = self._is_owed
        if self._is_owed:
            self.app.say("Still being saved; then it quits.")
        else:
            self.app.exit()

    def look(self) -> None:
        """Quit, where that was asked for and nothing is left to be saved."""
        if self._is_asked_for and not self._is_owed:
            self.app.exit()

    def stay(self) -> None:
        """Not quit: what it was put off for has not come about."""
        self._is_asked_for = False
