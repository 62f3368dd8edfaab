"""Screens over the answer: help, the rulebook, one of many choices."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual.binding import Binding

from recommender.models.answer.proposal import Answer
from recommender.tui.state.form_fields import ChoiceField
from recommender.tui.widgets.brief_form import FieldRow
from recommender.worker.client import Reply
from recommender.worker.messages import Refused
from recommender.worker.parts import GlossaryPart, GrindWords, RulebookPart, read_plugins, read_traces
from recommender.worker.questions import GlossaryQuestion, RulebookQuestion

if TYPE_CHECKING:
    from recommender.tui.app import BevelwrightApp


class ScreenActions:
    """Owned by the application; each screen is imported when it is first opened."""

    def __init__(self, app: BevelwrightApp) -> None:
        self.app = app
        self._grinds: tuple[GrindWords, ...] = ()
        """For the glossary, once they have been drawn."""

    def help(self, bindings: Sequence[Binding]) -> None:
        """What the cursor is on, the keys, the trade's words and the grinds."""
        from recommender.tui.screens.help_screen import HelpScreen

        here = self.app.focused
        about = getattr(here, "tooltip", None) or getattr(getattr(here, "parent", None), "tooltip", None)

        def text(width: int) -> str:
            from recommender.tui.key_names import bindings as named
            from recommender.tui.screens.help_text import help_text

            return help_text(self._grinds, str(about or ""), bindings, tuple(named()), width)

        screen = HelpScreen(text)
        self.app.push_screen(screen)

        def take(reply: Reply) -> None:
            if isinstance(reply, GlossaryPart):
                self._grinds = reply.grinds
                if screen in self.app.screen_stack:
                    screen.show()

        if not self._grinds:
            self.app.put(GlossaryQuestion(), take)

    def rulebook(self, answer: Answer, rule: str | None) -> None:
        """Every loaded rule before an answer, and the plug-ins."""
        from recommender.tui.screens.rulebook_screen import RulebookScreen  # brings the engine's traces along

        screen = RulebookScreen(rule)
        self.app.push_screen(screen)

        def take(reply: Reply) -> None:
            if screen not in self.app.screen_stack:
                return  # left meanwhile
            if isinstance(reply, RulebookPart):
                screen.take(read_traces(reply), reply.measures, read_plugins(reply))
            elif isinstance(reply, Refused):
                screen.say(reply.words)

        self.app.put(RulebookQuestion(brief=self.app.brief, answer=answer), take)

    def choose(self, row: FieldRow) -> None:
        """One of a row's many choices, from a list that is filtered as one types."""
        from recommender.tui.screens.choice_screen import ChoiceScreen

        field = row.field
        assert isinstance(field, ChoiceField)

        def chosen(value: str | None) -> None:
            if value is not None:
                row.put(value)

        self.app.push_screen(ChoiceScreen(field.label, field.options, row.value), chosen)
