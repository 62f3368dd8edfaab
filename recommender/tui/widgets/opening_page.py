"""Where an empty form begins: what this is, three questions of one key each, and then the form."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from string import ascii_letters

from textual import events
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.content import Content
from textual.message import Message
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from recommender.text import clean
from recommender.tui.state.opening_questions import OpeningQuestion

_ABOUT = "How should a blade be ground? Say what it has to do, how it is sharpened and of which steel it is made."
_HOW = "A letter or enter chooses; backspace goes back, esc leaves all to the form."
_AFTER = ("I make knives: answer for a maker", "Open a brief, one of those that come along or your own")
"""What can be said besides at the first question."""
_UNKNOWN_KEY = "0"


class QuestionAnswered(Message):
    """A question is answered: fields with their values, none where it is not known."""

    def __init__(self, sets: Mapping[str, str], before: Mapping[str, str], *, last: bool) -> None:
        super().__init__()
        self.sets, self.before, self.last = sets, before, last
        """`before` is what the question had set when it was answered earlier."""


class OpeningLeft(Message):
    """The questions are left: for the form, for a maker's answer, or for a brief."""

    def __init__(self, towards: str) -> None:
        super().__init__()
        self.towards = towards


class _Answers(OptionList):
    """The answers to a question; a letter takes one at once, before anything else makes use of the key."""

    def on_key(self, event: events.Key) -> None:
        """A letter takes its answer; of the app's own keys the questions need backspace and esc."""
        page = self.parent
        assert isinstance(page, OpeningPage)
        if page.take_key(event.key if event.key in ("backspace", "escape") else event.character or ""):
            event.stop()
            event.prevent_default()


class OpeningPage(Vertical):
    """The questions one after the other."""

    def __init__(self, questions: Sequence[OpeningQuestion]) -> None:
        super().__init__(id="opening")
        self.questions = tuple(questions)
        self._at = 0
        self._set: dict[int, Mapping[str, str]] = {}
        """What each question has set."""

    def compose(self) -> ComposeResult:
        """What this is, the question, its answers."""
        yield Static(Content(_ABOUT), id="opening-about")
        yield Static(Content(""), id="opening-question")
        yield _Answers(id="opening-answers", markup=False)
        yield Static(Content(_HOW), id="opening-how")

    def on_mount(self) -> None:
        """Ask the first."""
        self._ask()

    @property
    def answers(self) -> OptionList:
        """The list of answers."""
        return self.query_one(OptionList)

    def offer(self, questions: Sequence[OpeningQuestion]) -> None:
        """Offer other answers than before, at the question that is being asked."""
        self.questions = tuple(questions)
        self._ask()

    def start(self) -> None:
        """From the first question on."""
        self._at, self._set = 0, {}
        self._ask()

    def take_key(self, key: str) -> bool:
        """Do what a key means; tells whether it means anything here."""
        if key == "escape":
            self.post_message(OpeningLeft("form"))
        elif key == "backspace":
            self._at = max(0, self._at - 1)
            self._ask()
        elif key in self._keys():
            self._take(self._keys().index(key))
        else:
            return False
        return True

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Take what the cursor is on, or what is clicked."""
        event.stop()
        self._take(event.option_index)

    def _keys(self) -> list[str]:
        return [_UNKNOWN_KEY, *ascii_letters][: len(self._rows())]

    def _rows(self) -> list[tuple[str, str]]:
        """Words and meaning of every answer."""
        rows = [(choice.words, choice.meaning) for choice in self.questions[self._at].choices]
        return [*rows, *((words, "") for words in _AFTER)] if self._at == 0 else rows

    def _ask(self) -> None:
        question = self.questions[self._at]
        words = f"{self._at + 1} of {len(self.questions)}  {question.words}"
        self.query_one("#opening-question", Static).update(Content(words))
        options = []
        for key, (answer, meaning) in zip(self._keys(), self._rows(), strict=True):
            about = (f"  {clean(meaning, one_line=True)}", "$text-muted")
            options.append(Option(Content.assemble((key, "$accent"), "  ", clean(answer, one_line=True), about)))
        self.answers.clear_options()
        self.answers.add_options(options)
        self.answers.highlighted = 0

    def _take(self, index: int) -> None:
        choices = self.questions[self._at].choices
        if index >= len(choices):
            self.post_message(OpeningLeft(("maker", "brief")[index - len(choices)]))
            return
        before = self._set.get(self._at, {})
        self._set[self._at] = choices[index].sets
        last = self._at == len(self.questions) - 1
        self.post_message(QuestionAnswered(choices[index].sets, before, last=last))
        if not last:
            self._at += 1
            self._ask()
