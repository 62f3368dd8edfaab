"""Actions on the answer: each is done on the answer to what the form says now, once that is there."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple

from recommender.models.answer.proposal import Answer

if TYPE_CHECKING:
    from recommender.tui.app import BevelwrightApp


class Held(NamedTuple):
    """An action that waits."""

    what: str
    """As an order: save the quote."""
    act: Callable[[Answer], None]
    saves: bool
    """It needs the whole answer, how sure it is and what would change it, and quitting waits for it."""
    trial: bool
    """It is done on the trial, which has to be weighed too."""


class AnswerWait:
    """Does what is asked for at once where the answer on the screen is that of the form, else when it comes.

    One action waits at a time, the last; another change of form, trial or order, or esc, drops it.
    """

    def __init__(self, app: BevelwrightApp) -> None:
        self.app = app
        self.held: Held | None = None
        self._is_told = False
        """It stands on the screen that something waits."""
        self._is_answered = False
        """The answer on the screen is that of the form."""
        self._is_whole = False
        """Nothing of it is worked out any more."""
        self._refused = ""
        """Why the form has none."""

    @property
    def is_to_save(self) -> bool:
        """Whether something waits to be saved."""
        return self.held is not None and self.held.saves

    def do(self, what: str, act: Callable[[Answer], None], *, saves: bool = False, trial: bool = False) -> None:
        """Do it on the answer to what the form says, now or later.

        What `saves` is done on the whole answer, what is of the `trial` once that is weighed.
        """
        self.held = Held(what, act, saves, trial)
        self.look()
        if self.held is not None:
            words = f"Waiting for the answer, to {what}; esc or another change drops that."
            self._is_told = True
            self.app.say(words)
            self.app.form.say_waiting(words)

    def look(self) -> None:
        """Do what waits, if it need not any longer."""
        held, answer = self.held, self.app.answer
        if held is None:
            return
        if self._refused:
            self.drop(f"the form has no answer: {self._refused}")
        elif answer is not None and self._is_there_for(held):
            self._let_go()
            held.act(answer)
            self.app.quitting.look()

    def _is_there_for(self, held: Held) -> bool:
        if held.trial and not self.app.trials.is_weighed:
            return False
        return self._is_whole if held.saves else self._is_answered

    def drop(self, why: str) -> bool:
        """Do not do what waits, and say so; False where nothing does."""
        held = self.held
        if held is None:
            return False
        self._let_go()
        self.app.quitting.stay()
        self.app.notify(f"Not done: {held.what}; {why}.", severity="warning", markup=False)
        return True

    def _let_go(self) -> None:
        """Take away what was said of waiting."""
        self.held = None
        if self._is_told:
            self._is_told = False
            self.app.unsay()
            self.app.form.say_answered()

    def asked(self) -> None:
        """The form has changed, and its answer is not there yet."""
        self.drop("the form was changed")
        self._is_answered, self._is_whole, self._refused = False, False, ""

    def answered(self) -> None:
        """The answer on the screen is that of the form."""
        self._is_answered = True
        self.look()

    def refused(self, why: str) -> None:
        """The form has no answer, or where it has one no more will come of it."""
        if self._is_answered:
            self.ended()
        else:
            self._refused = why
            self.look()

    def ended(self) -> None:
        """Nothing more will come of the answer."""
        self._is_whole = self._is_answered
        self.look()
