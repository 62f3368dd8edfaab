"""The application: keys and messages passed on to what it owns, and the question; holds no computation."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import Any, ClassVar

from textual import work
from textual.app import App, ComposeResult, SystemCommand
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.message import Message
from textual.screen import Screen
from textual.widgets import Footer, Static, TabbedContent, TabPane
from textual.worker import get_current_worker

from recommender.cancellation import Cancelled, cancelled_once, checkpoint
from recommender.drawing.text.answer.words_text import Audience
from recommender.errors import BevelwrightError
from recommender.models.answer.proposal import Answer
from recommender.models.answer.sharpening_life import Life
from recommender.models.brief import Brief
from recommender.service import Service, with_settings
from recommender.text import clean
from recommender.tui.answer_display import AnswerDisplay
from recommender.tui.file_actions import FileActions
from recommender.tui.palette import Palette, commands
from recommender.tui.quote_actions import Priced, QuoteActions
from recommender.tui.screens.help_screen import HelpScreen
from recommender.tui.screens.help_text import help_text
from recommender.tui.screens.rulebook_screen import RulebookScreen
from recommender.tui.state.form_fields import groups, settings, values_of
from recommender.tui.state.session_state import SessionState
from recommender.tui.tabs import MAKERS, TABS
from recommender.tui.themes import DARK, LIGHT
from recommender.tui.trial_actions import ComparisonReady, TrialActions, TrialReady
from recommender.tui.widgets.answer_page import AnswerHead, Care, Opened, TextPart
from recommender.tui.widgets.brief_form import BriefForm, Changed
from recommender.tui.widgets.order_form import ActionChosen, OrderForm, Written
from recommender.tui.widgets.trial_rows import RowMoved

BROAD = 160
"""Columns from which the drawing stands beside the page."""


class Answered(Message):
    """An answer to the question numbered `serial`; flips come later, with the same number."""

    def __init__(self, serial: int, answer: Answer, brief: Brief) -> None:
        super().__init__()
        self.serial, self.answer, self.brief = serial, answer, brief


class Lived(Message):
    """The life of the blades of the answer numbered `serial`."""

    def __init__(self, serial: int, life: Life) -> None:
        super().__init__()
        self.serial, self.life = serial, life


class Refused(Message):
    """The question makes no sense; the old answer stays."""

    def __init__(self, serial: int, words: str) -> None:
        super().__init__()
        self.serial, self.words = serial, words


class BevelwrightApp(App[None]):
    """Ask on the left, the blade and why on the right; on a narrow terminal one at a time."""

    CSS_PATH = Path(__file__).with_name("bevelwright.tcss")
    TITLE = "Bevelwright"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (100, "-wide"), (BROAD, "-broad")]  # noqa: RUF012 - as the base class
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f1", "help_here", "Help", id="help"),
        Binding("f2", "turn", "Ask / answer", id="turn"),
        Binding("f3", "audience", "Buyer / maker", id="audience"),
        Binding("f4", "inches", "mm / inches", id="inches", show=False),
        Binding("f5", "save", "Save brief", id="save"),
        Binding("f6", "afresh", "Start afresh", id="afresh", show=False),
        Binding("f7", "next_tab", "Next page", id="next", show=False),
        Binding("f8", "ghost", "Ghost", id="ghost", show=False),
        Binding("f9", "rulebook", "Rulebook", id="rulebook", show=False),
        Binding("f12", "keep_trial", "Keep the trial", id="keep-trial", show=False),
        Binding("escape", "drop_trial", "Back to the proposal", id="back", show=False),
        Binding("ctrl+q", "quit", "Quit", id="quit", show=False, priority=True),
    ]

    def __init__(
        self,
        service: Service,
        brief: Brief,
        *,
        session: SessionState | None = None,
        folder: Path | None = None,
        flips: bool = True,
        keys: dict[str, str] | None = None,
        key_trouble: str = "",
    ) -> None:
        super().__init__()
        self.service, self.session, self.flips = service, session or SessionState(), flips
        self.values: dict[str, str] = values_of(brief) or self.session.left_off()
        """Of the form, as text."""
        view = self.session.view()
        self.audience: Audience = "maker" if view.get("audience") == "maker" else "buyer"
        self.inches = view.get("lengths") == "inches"
        self.serial = 0
        """Number of the question asked last."""
        self.answer: Answer | None = None
        self.brief = Brief()
        """As it was asked when the answer on the screen was given."""
        self.files = FileActions(self, folder or Path.cwd())
        self.quotes = QuoteActions(self)
        self.trials = TrialActions(self)
        self.answer_display = AnswerDisplay(self)
        self._action_said = False
        self.key_trouble = key_trouble
        """Why the user's own keys are not in force."""
        self.set_keymap(keys or {})

    @property
    def main(self) -> Screen[Any]:
        """The screen with form and answer, whatever stands over it."""
        return self.screen_stack[0]

    def compose(self) -> ComposeResult:
        """Form, page, cautions, keys."""
        with Horizontal(id="body"):
            yield BriefForm(groups(self.service), self.values)
            with Vertical(id="page"):
                yield Static(Content("Asking …"), id="state")
                yield AnswerHead(id="head")
                with TabbedContent(id="tabs"):
                    for name, title, kind, _ in TABS:
                        with TabPane(title, id=f"tab-{name}"):
                            yield kind(id=f"part-{name}")
            yield TextPart(id="drawing")
        yield Care(id="caution")
        yield Footer()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Over another screen only that screen's keys count, and quitting."""
        over = len(self.screen_stack) > 1
        return not (over and action in _OWN_ACTIONS)

    def on_mount(self) -> None:
        """Show the first answer."""
        self.register_theme(DARK)
        self.register_theme(LIGHT)
        self.theme = LIGHT.name if self.session.view().get("theme") == LIGHT.name else DARK.name
        self._show_shop()
        self.main.query_one(OrderForm).write(self.quotes.order)
        if self.size.width >= BROAD:
            # The drawing has a place of its own beside the page.
            self.main.query_one("#tabs", TabbedContent).active = "tab-why"
        self.ask()
        if self.values:
            self.notify("The form is as you left it; f6 starts afresh.", timeout=8, markup=False)
        for words in (self.session.set_aside(), self.key_trouble):
            if words:
                self.notify(words, title="Not as it was", severity="warning", timeout=60, markup=False)

    # Asking

    def on_changed(self, event: Changed) -> None:
        """A field has moved: ask again."""
        if event.value:
            self.values[event.key] = event.value
        else:
            self.values.pop(event.key, None)
        self.main.query_one(BriefForm).add_up()
        self.session.leave(self.values)
        self.ask()

    def fill(self, values: dict[str, str]) -> None:
        """Put other values into every field, and ask."""
        self.values.clear()
        self.values.update(values)
        self.main.query_one(BriefForm).fill(self.values)
        self.session.leave(self.values)
        self.ask()

    def ask(self) -> None:
        """Answer what the form says now, in a thread; what is on the screen stays until then."""
        self.serial += 1
        self._action_said = False
        self._write_state("…")
        for group in ("try", "price"):  # of the answer that is about to go
            self.workers.cancel_group(self, group)
        self._answer(self.serial, settings(self.values))

    @work(thread=True, exclusive=True, group="answer")
    def _answer(self, serial: int, given: list[str]) -> None:
        worker = get_current_worker()
        with suppress(Cancelled), cancelled_once(lambda: worker.is_cancelled):
            try:
                brief = with_settings(Brief(), given)
                for answer in self.service.answers(brief, flips=self.flips):
                    checkpoint()
                    self.post_message(Answered(serial, answer, brief))
                life = self.service.briefs.life_of(answer, brief)
                checkpoint()
                self.post_message(Lived(serial, life))
            except BevelwrightError as error:
                checkpoint()
                self.post_message(Refused(serial, str(error)))

    def on_worker_state_changed(self) -> None:
        """Once the first question is answered and drawn, what was kept has done no harm."""
        if all(worker.is_finished for worker in self.workers):
            self.call_after_refresh(self.session.settle)

    def is_awaited(self, serial: int) -> bool:
        """Whether what answers the question of that number is still to be shown: while it closes, nothing is."""
        return serial == self.serial and self.is_running

    def on_answered(self, event: Answered) -> None:
        """Show an answer, unless another question has been asked since."""
        if not self.is_awaited(event.serial):
            return
        fresh = self.answer is None or event.answer.proposal != self.answer.proposal or event.brief != self.brief
        firmer = self.answer is not None and self.answer.tolerances != event.answer.tolerances
        self.answer, self.brief = event.answer, event.brief
        self.trials.stand_beside(event.answer)
        if not self._action_said:
            self._write_state(self._notice(event.answer))
        if fresh:
            self.answer_display.life = None
            self.trials.start_over()
        if (fresh or firmer) and self.audience == "maker":
            self.quotes.work_out()
        self.show()

    def on_lived(self, event: Lived) -> None:
        """Show the blade's life, unless another question has been asked since."""
        if self.is_awaited(event.serial):
            self.answer_display.show_life(event.life)

    def on_refused(self, event: Refused) -> None:
        """Say what does not fit; the answer before stays on the screen."""
        if self.is_awaited(event.serial):
            self._write_state(event.words)

    def _notice(self, answer: Answer) -> str:
        if answer.brief_sources["tasks"].source == "given":
            return ""
        labels = ", ".join(self.service.knowledge.tasks[task].label for task in answer.brief.tasks)
        return f"No task is named yet: answered for {labels}."

    # What is owned

    def on_priced(self, event: Priced) -> None:
        """Set-up sheet and price are there."""
        self.quotes.take(event)

    def on_trial_ready(self, event: TrialReady) -> None:
        """The trial is weighed."""
        self.trials.take_trial(event)

    def on_comparison_ready(self, event: ComparisonReady) -> None:
        """The blades side by side are weighed."""
        self.trials.take_comparison(event)

    def on_row_moved(self, event: RowMoved) -> None:
        """A row of the order, of the trial or of the comparison has been moved."""
        if event.name.startswith("order-"):
            self.quotes.step(event.name.removeprefix("order-"), event.by)
        else:
            self.trials.step(event.name, event.by)

    def on_written(self, event: Written) -> None:
        """Customer or reference has been typed."""
        self.quotes.write(event.name, event.text)

    def on_action_chosen(self, event: ActionChosen) -> None:
        """Save the quote, or open the book."""
        (self.quotes.save if event.name == "save" else self.quotes.open_book)()

    def action_drop_trial(self) -> None:
        """Drop the trial: the proposal is on the screen again."""
        self.trials.drop()

    def action_keep_trial(self) -> None:
        """Keep the trial to compare it."""
        self.trials.keep()

    def action_save_quote(self) -> None:
        """Put the quote on the screen into the book."""
        self.quotes.save()

    def action_quote_book(self) -> None:
        """Open the quote book."""
        self.quotes.open_book()

    def action_save(self) -> None:
        """Write the brief to a file that does not exist yet."""
        self.files.save()

    def action_save_as(self) -> None:
        """Write the brief to a file that is asked for."""
        self.files.save_as()

    def action_open(self) -> None:
        """Fill the form from a brief."""
        self.files.choose()

    def action_afresh(self) -> None:
        """Open every field again."""
        self.fill({})

    def action_save_answer(self, kind: str) -> None:
        """Write the answer to a file that does not exist yet."""
        self.files.save_answer(kind)

    def action_copy_answer(self, kind: str) -> None:
        """Copy the answer, where the terminal lets it."""
        self.files.copy_answer(kind)

    def action_ghost(self) -> None:
        """Draw the best of another grind dotted over the proposal, in turn, then none."""
        self.answer_display.turn_ghost()

    # Showing

    def show(self) -> None:
        """Write the answer into every part of the page."""
        if self.answer is not None:
            self.answer_display.show(self.answer)
            self.trials.show()
            self.quotes.show()

    def say(self, words: str) -> None:
        """Say on the line over the answer what came of an action; it stays there until the next question.

        An answer that was asked for before and comes after must not wipe it off; a refusal does, for without its words
        the old answer looks like the one to this question.
        """
        self._action_said = True
        self._write_state(words)

    def _write_state(self, words: str) -> None:
        self.main.query_one("#state", Static).update(Content(clean(words, one_line=True)))

    def page_width(self) -> int:
        """Columns that a line of the page has."""
        width = self.main.query_one("#tabs").size.width
        return max(40, min((width or self.size.width) - 6, 100))

    def on_widened(self) -> None:
        """Lines are wrapped to the new width."""
        self.show()

    # Keys

    def action_turn(self) -> None:
        """From the form to the page and back; on a narrow terminal they take turns on the screen."""
        to_page = self.focused is None or self.main.query_one(BriefForm) in self.focused.ancestors
        self.main.set_class(to_page, "-answer")
        if to_page:
            self.call_after_refresh(self._focus_page)
        else:
            self.main.query("FieldRow").first().focus()

    def action_show_tab(self, name: str) -> None:
        """Go to a page of the answer."""
        self.main.add_class("-answer")
        if name in MAKERS and self.audience == "buyer":
            self.action_audience()
        tabs = self.main.query_one("#tabs", TabbedContent)
        tabs.active = f"tab-{name}"
        self._focus_page()

    def _focus_page(self) -> None:
        """The cursor goes where the page can be moved: a page left behind would come back with it."""
        tabs = self.main.query_one("#tabs", TabbedContent)
        part = self.main.query_one(f"#part-{tabs.active.removeprefix('tab-')}")
        steppers = list(part.query("Stepper"))
        (steppers[0] if steppers else part if part.can_focus else tabs.query_one("Tabs")).focus(scroll_visible=False)

    def action_next_tab(self) -> None:
        """Go to the next page of the answer."""
        names = [name for name, *_ in TABS if name not in MAKERS or self.audience == "maker"]
        active = self.main.query_one("#tabs", TabbedContent).active.removeprefix("tab-")
        self.action_show_tab(names[(names.index(active) + 1) % len(names)] if active in names else names[0])

    def action_audience(self) -> None:
        """Answer for a buyer or for a maker, who has a page about the shop."""
        self.audience = "maker" if self.audience == "buyer" else "buyer"
        self.session.leave_view(audience=self.audience)
        self.notify(f"Answered for a {self.audience}.", timeout=3, markup=False)
        self._show_shop()
        self.show()
        if self.audience == "maker" and self.answer is not None:
            self.quotes.work_out()

    def _show_shop(self) -> None:
        tabs = self.main.query_one("#tabs", TabbedContent)
        for name in MAKERS:
            (tabs.show_tab if self.audience == "maker" else tabs.hide_tab)(f"tab-{name}")

    def action_inches(self) -> None:
        """Show lengths in millimetres or inches."""
        self.inches = not self.inches
        self.session.leave_view(lengths="inches" if self.inches else "mm")
        self.show()

    def action_theme_turn(self) -> None:
        """Dark or light."""
        self.theme = LIGHT.name if self.theme == DARK.name else DARK.name
        self.session.leave_view(theme=self.theme)

    def action_help_here(self) -> None:
        """What the cursor is on, the keys, the trade's words and the grinds."""
        about = getattr(self.focused, "tooltip", None) or getattr(
            getattr(self.focused, "parent", None), "tooltip", None
        )
        bindings = [b for b in self.BINDINGS if isinstance(b, Binding)]
        self.push_screen(HelpScreen(lambda width: help_text(self.service, str(about or ""), bindings, width)))

    def action_rulebook(self, rule: str | None = None) -> None:
        """Every loaded rule before this answer, and the plug-ins."""
        if self.answer is None:
            return
        registry = self.service.registry
        metrics = {name: stamped.item for name, stamped in registry.metrics.items()}
        rulings = self.service.briefs.rule_traces(self.brief, self.answer)
        self.push_screen(RulebookScreen(rulings, metrics, self.service.loaded.plugin_statuses(self.answer), rule))

    def on_opened(self, event: Opened) -> None:
        """A reason is opened: its rule."""
        self.action_rulebook(event.rule)

    def action_command_palette(self) -> None:
        """Offer everything that can be done, by name."""
        if not isinstance(self.screen, Palette):
            self.push_screen(Palette(id="--command-palette"))

    def get_system_commands(self, screen: Screen[Any]) -> Iterable[SystemCommand]:
        """What the palette offers."""

        def action(name: str, *arguments: str) -> Callable[[], None]:
            return partial(getattr(self, f"action_{name}"), *arguments)

        return commands(action, [(name, title) for name, title, *_ in TABS], self.service.registry.writers)


_OWN_ACTIONS = {b.action for b in BevelwrightApp.BINDINGS if isinstance(b, Binding)} - {"quit"}
