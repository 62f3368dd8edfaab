"""The form of the interface: its changes, undoing them, and the line under it that says what they did."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.content import Content
from textual.widgets import Static

from recommender.drawing.lengths import Lengths
from recommender.models.answer.proposal import Proposal
from recommender.text import clean
from recommender.tui.state.answer_line import answer_line, field_words, refusal_line
from recommender.tui.state.form_history import FormHistory, FormState
from recommender.tui.state.order_fields import OrderInHand
from recommender.tui.widgets.brief_form import BriefForm, Changed
from recommender.tui.widgets.opening_page import OpeningLeft, OpeningPage, QuestionAnswered

if TYPE_CHECKING:
    from recommender.tui.app import BevelwrightApp


class FormActions:
    """Owned by the application, whose `values` are the form's."""

    def __init__(self, app: BevelwrightApp) -> None:
        self.app = app
        self._history = FormHistory(app.values, app.quotes.in_hand)
        self._line = ""
        """Under the form, as it was written last."""
        self._moved = ""
        """The field that was moved last, in words."""

    @property
    def _form(self) -> BriefForm:
        return self.app.main.query_one(BriefForm)

    def change(self, event: Changed) -> None:
        """Take another value of a field, and ask again."""
        values = self.app.values
        if event.value:
            values[event.key] = event.value
        else:
            values.pop(event.key, None)
        self._form.add_up()
        self._moved = field_words(event.key, event.value, self._form.groups)
        self._history.changed(values, self.app.quotes.in_hand, event.key if event.typed else "")
        self.app.session.leave(values)
        self.app.ask()

    def fill(self, values: dict[str, str], order: OrderInHand | None = None) -> None:
        """Put other values into every field, and ask, for another order or for the one in hand.

        An empty form begins with its questions.
        """
        order = order or self.app.quotes.in_hand
        self._history.changed(values, order)
        self._put(values, order)
        self.begin()

    # The questions before the form

    def begin(self) -> None:
        """Begin with the questions where the form is empty, else with the form."""
        asks = self.app.asks_first and not self.app.values
        self.app.main.set_class(asks, "-opening")
        self.app.main.remove_class("-answer")
        page = self.app.main.query_one(OpeningPage)
        if asks:
            page.start()
            page.answers.focus()
        else:
            self._form.focus_row()

    def answer(self, event: QuestionAnswered) -> None:
        """Take the answer to a question into the form; after the last one comes the form."""
        values = {key: value for key, value in self.app.values.items() if key not in event.before}
        values.update(event.sets)
        if values != self.app.values:
            self._history.changed(values, self.app.quotes.in_hand)
            self._put(values, self.app.quotes.in_hand)
        if event.last:
            self._leave_questions()

    def leave(self, event: OpeningLeft) -> None:
        """Leave the questions: for the form or a brief, or answer for a maker and go on with them."""
        if event.towards == "maker":
            self.app.action_audience()
        elif event.towards == "brief":
            self.app.files.choose()
        else:
            self._leave_questions()

    def _leave_questions(self) -> None:
        self.app.main.remove_class("-opening")
        self._form.focus_row()

    def undo(self) -> None:
        """Put the form as it was before the last change."""
        self._turn(self._history.undo(), "undo")

    def redo(self) -> None:
        """Do again what was undone last."""
        self._turn(self._history.redo(), "redo")

    def _turn(self, state: FormState | None, what: str) -> None:
        if state is None:
            self.app.notify(f"Nothing to {what}.", timeout=3, markup=False)
        else:
            self._put(state.values, state.order)
            if state.values and self.app.main.has_class("-opening"):
                self._leave_questions()

    def _put(self, values: dict[str, str], order: OrderInHand) -> None:
        app = self.app
        app.quotes.take_up(order)
        app.values.clear()
        app.values.update(values)
        self._form.fill(app.values)
        self._moved = ""
        app.session.leave(app.values)
        app.ask()

    def show_answered(self, now: Proposal | None, before: Proposal | None) -> None:
        """Say under the form, where the answer may be out of sight, what the last change did."""
        self._write(answer_line(now, before, self._moved, Lengths(self.app.inches)))

    def show_refused(self, words: str) -> str:
        """Say there why there is no answer; gives it in the form's words."""
        said = refusal_line(words, self._form.groups)
        self._write(f"! {said}")
        return said

    def say_waiting(self, words: str) -> None:
        """Say there what waits for the answer."""
        self._show_line(words)

    def say_answered(self) -> None:
        """Say there again what the last change did."""
        self._show_line(self._line)

    def _write(self, words: str) -> None:
        self._line = words
        self._show_line(words)

    def _show_line(self, words: str) -> None:
        self.app.main.query_one("#answer-line", Static).update(Content(clean(words, one_line=True)))
