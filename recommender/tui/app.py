"""The application: keys and messages passed on to what it owns, and the question; holds no computation."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any, ClassVar

from textual.app import App, ComposeResult, SystemCommand
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.message import Message
from textual.screen import Screen
from textual.widgets import Footer, Static, TabbedContent, TabPane

from recommender.drawing.text.answer.words_text import Audience
from recommender.errors import BevelwrightError
from recommender.models.answer.proposal import Answer
from recommender.models.brief import Brief
from recommender.service import block_plugin
from recommender.text import clean
from recommender.tui.actions.answer_display import AnswerDisplay
from recommender.tui.actions.answer_search import AnswerSearch
from recommender.tui.actions.answer_wait import AnswerWait
from recommender.tui.actions.catalogue_actions import CatalogueActions
from recommender.tui.actions.file_actions import FileActions
from recommender.tui.actions.form_actions import FormActions
from recommender.tui.actions.quitting import Quitting
from recommender.tui.actions.quote_actions import QuoteActions
from recommender.tui.actions.screen_actions import ScreenActions
from recommender.tui.actions.trial_actions import TrialActions
from recommender.tui.palette import Palette, commands
from recommender.tui.state.crash_report import CRASHED, report_failure
from recommender.tui.state.form_fields import groups, settings, values_of
from recommender.tui.state.kept_catalogue import KeptCatalogue
from recommender.tui.state.opening_questions import opening_questions
from recommender.tui.state.order_fields import OrderInHand
from recommender.tui.state.session_state import SessionState
from recommender.tui.tabs import MAKERS, TABS
from recommender.tui.themes import DARK, LIGHT
from recommender.tui.widgets.answer_page import AnswerHead, Care, Opened, TextPart
from recommender.tui.widgets.brief_form import BriefForm, Changed, ChoiceWanted
from recommender.tui.widgets.opening_page import OpeningLeft, OpeningPage, QuestionAnswered
from recommender.tui.widgets.order_form import ActionChosen, OrderForm, Written
from recommender.tui.widgets.search_line import SearchLine, SearchMoved
from recommender.tui.widgets.trial_rows import RowMoved
from recommender.worker.client import Engine, Reply, Trouble
from recommender.worker.messages import Done, Failed, Refused
from recommender.worker.parts import (
    AnswerPart,
    Catalogue,
    LifePart,
)
from recommender.worker.questions import (
    AnswerQuestion,
    Question,
)

BROAD = 160
"""Columns from which the drawing stands beside the page."""


class EngineTrouble(Message):
    """Something has happened to the engine."""

    def __init__(self, trouble: Trouble) -> None:
        super().__init__()
        self.trouble = trouble


class BevelwrightApp(App[None]):
    """Ask on the left, the blade and why on the right; on a narrow terminal one at a time."""

    CSS_PATH = Path(__file__).with_name("bevelwright.tcss")
    TITLE = "Bevelwright"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (100, "-wide"), (BROAD, "-broad")]  # noqa: RUF012 - as the base class
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f1,question_mark,h", "help_here", "Help", id="help"),
        Binding("f2,a", "turn", "Ask / answer", id="turn"),
        Binding("f3,b", "audience", "Buyer / maker", id="audience"),
        Binding("f4,i", "inches", "mm / inches", id="inches", show=False),
        Binding("f5,s", "save", "Save brief", id="save"),
        Binding("f6,n", "afresh", "Start afresh", id="afresh", show=False),
        Binding("f7,p", "next_tab", "Next page", id="next", show=False),
        Binding("f8,g", "dotted", "Another grind, dotted", id="dotted", show=False),
        Binding("f10,t", "two_blades", "Two blades instead", id="two-blades", show=False),
        Binding("f9,r", "rulebook", "Rulebook", id="rulebook", show=False),
        Binding("f12,k", "keep_trial", "Keep the trial", id="keep-trial", show=False),
        Binding("slash", "search", "Search the answer", id="search", show=False),
        Binding("ctrl+z,u", "undo", "Undo", id="undo", show=False),
        Binding("ctrl+y,y", "redo", "Redo", id="redo", show=False),
        Binding("escape", "drop_trial", "Back to the proposal", id="back", show=False),
        Binding("ctrl+q", "quit", "Quit", id="quit", show=False, priority=True),
        *(Binding(str(n % 10), f"nth_tab({n})", f"Page {n}", id=f"page-{n}", show=False) for n in range(1, 11)),
    ]

    def __init__(
        self,
        engine: Engine,
        brief: Brief,
        *,
        session: SessionState | None = None,
        folder: Path | None = None,
        flips: bool = True,
        keys: dict[str, str] | None = None,
        key_trouble: str = "",
        kept: KeptCatalogue | None = None,
        asks_first: bool = False,
    ) -> None:
        super().__init__()
        self.engine, self.session, self.flips = engine, session or SessionState(), flips
        self.choices = CatalogueActions(self, kept)
        self.values: dict[str, str] = values_of(brief) or self.session.left_off()
        """Of the form, as text."""
        self.asks_first = asks_first
        """Whether an empty form begins with its questions."""
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
        self.form = FormActions(self)
        self.waits = AnswerWait(self)
        self.quitting = Quitting(self)
        self.trials = TrialActions(self)
        self.answer_display = AnswerDisplay(self)
        self.search = AnswerSearch(self)
        self.screens = ScreenActions(self)
        self._action_said = False
        self.left_out = ""
        """The plug-in that brought the engine down last."""
        self.key_trouble = key_trouble
        """Why the user's own keys are not in force."""
        self.own_keys = keys or {}
        """The user's, by the names of what they do."""
        self.set_keymap(self.own_keys)

    @property
    def catalogue(self) -> Catalogue:
        """What there is to choose from."""
        return self.choices.now

    @property
    def main(self) -> Screen[Any]:
        """The screen with form and answer, whatever stands over it."""
        return self.screen_stack[0]

    def compose(self) -> ComposeResult:
        """Form, page, cautions, keys."""
        with Horizontal(id="body"):
            yield OpeningPage(opening_questions(self.catalogue))
            yield BriefForm(groups(self.catalogue), self.values)
            with Vertical(id="page"):
                yield Static(Content("Asking …"), id="state")
                yield AnswerHead(id="head")
                with TabbedContent(id="tabs"):
                    for name, title, kind, _ in TABS:
                        with TabPane(title, id=f"tab-{name}"):
                            yield kind(id=f"part-{name}")
                yield SearchLine(id="search")
            yield TextPart(id="drawing")
        yield Static(id="answer-line")
        yield Care(id="caution")
        yield Footer()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Over another screen only that screen's keys count, and quitting."""
        over = len(self.screen_stack) > 1
        return not (over and action in _OWN_ACTIONS)

    def on_unmount(self) -> None:
        """The engine ends with the interface."""
        self.engine.close()

    def on_load(self) -> None:
        """Settle colours and width before there are widgets: every one of them would be styled anew."""
        self.register_theme(DARK)
        self.register_theme(LIGHT)
        self.theme = LIGHT.name if self.session.view().get("theme") == LIGHT.name else DARK.name

    def get_default_screen(self) -> Screen[Any]:
        """The screen of form and answer, by the width that the terminal has."""
        screen = super().get_default_screen()
        screen.set_classes(
            next(name for least, name in reversed(self.HORIZONTAL_BREAKPOINTS) if self.size.width >= least)
        )
        return screen

    def on_mount(self) -> None:
        """Show the first answer."""
        self._show_shop()
        self.main.query_one(OrderForm).write(self.quotes.order)
        if self.size.width >= BROAD:
            # The drawing has a place of its own beside the page.
            self.main.query_one("#tabs", TabbedContent).active = "tab-why"
        for trouble in self.engine.troubles:  # while it was being loaded
            self.post_message(EngineTrouble(trouble))
        self.engine.on_trouble = self._tell_trouble
        self.choices.start()
        self.ask()
        self.form.begin()
        if self.values:
            self.notify("The form is as you left it; f6 starts afresh.", timeout=8, markup=False)
        for words in (self.session.set_aside(), self.key_trouble):
            if words:
                self.notify(words, title="Not as it was", severity="warning", timeout=60, markup=False)

    def end_without_engine(self, why: Refused | Failed) -> None:
        """Leave: there is nothing to choose from."""
        self.exit(return_code=why.exit_code if isinstance(why, Refused) else CRASHED)

    # Asking

    def on_changed(self, event: Changed) -> None:
        """A field has moved: ask again."""
        self.form.change(event)

    def on_question_answered(self, event: QuestionAnswered) -> None:
        """One of the questions before the form is answered."""
        self.form.answer(event)

    def on_opening_left(self, event: OpeningLeft) -> None:
        """They are left for something else."""
        self.form.leave(event)

    def action_undo(self) -> None:
        """Put the form as it was before the last change."""
        self.form.undo()

    def action_redo(self) -> None:
        """Do again what was undone last."""
        self.form.redo()

    def ask(self) -> None:
        """Have answered what the form says now; what is on the screen stays until then."""
        self.serial += 1
        self._action_said = False
        self.waits.asked()
        self._write_state("…")
        self._no_more_of("trial", "price")  # of the answer that is about to go
        given = tuple(settings(self.values))
        self.put(AnswerQuestion(settings=given, flips=self.flips), self.take_answer)

    def put(self, question: Question, take: Callable[[Reply], None], *, always: bool = False) -> None:
        """Put a question to the engine; `take` gets what is told on it.

        Unless `always`, nothing is told any more once another answer is asked for.
        """
        self.quitting.asked(question, take)
        replies: asyncio.Queue[Reply] = asyncio.Queue()
        loop = asyncio.get_running_loop()

        def tell(reply: Reply) -> None:
            with suppress(RuntimeError):  # the interface has closed
                loop.call_soon_threadsafe(replies.put_nowait, reply)

        self.engine.ask(question, tell)
        serial = None if always else self.serial

        async def listen() -> None:
            while True:
                reply = await replies.get()
                self.deliver(reply, serial, take)
                if isinstance(reply, (Done, Refused, Failed)):
                    self.quitting.answered(question.group, take)
                    return

        job: Callable[[], Any] = listen  # no coroutine yet: one that is dropped before it starts would complain
        self.run_worker(job, group=question.group, exclusive=True)

    async def action_quit(self) -> None:
        """Quit, once what was asked to be saved is."""
        self.quitting.quit()

    def deliver(self, reply: Reply, serial: int | None, take: Callable[[Reply], None]) -> None:
        """Hand on what the engine tells, unless another answer has been asked for since, or the interface closes."""
        if serial not in (None, self.serial) or not self.is_running:
            return
        if isinstance(reply, Failed):
            self.engine_failed(reply)
        take(reply)

    def _no_more_of(self, *groups: str) -> None:
        for group in groups:
            self.engine.drop(group)
            self.workers.cancel_group(self, group)

    def engine_failed(self, failed: Failed) -> None:
        """The program failed at a question: say so and where the report lies; the form is still there."""
        self.say(report_failure(self.session.folder, failed.words, failed.report))

    def take_answer(self, reply: Reply) -> None:
        """Show what comes on the question in the form."""
        match reply:
            case AnswerPart():
                self._show_answer(reply)
            case LifePart():
                self.answer_display.show_life(reply.life)
            case Refused():  # the answer before stays on the screen
                words = self.form.show_refused(reply.words)
                self._write_state(words)
                self.waits.refused(words)
            case Failed():
                self.waits.refused("the program failed at it")
            case Done():
                self.waits.ended()
        if isinstance(reply, (Done, Refused)):
            # Once the first question is answered and drawn, what was kept has done no harm.
            self.call_after_refresh(self.session.settle)

    def _show_answer(self, part: AnswerPart) -> None:
        answer = part.answer
        fresh = self.answer is None or answer.proposal != self.answer.proposal or part.brief != self.brief
        firmer = self.answer is not None and self.answer.tolerances != answer.tolerances
        if fresh:
            self.form.show_answered(answer.proposal, None if self.answer is None else self.answer.proposal)
        self.answer, self.brief = answer, part.brief
        self.answer_display.proposal_drawn = part.drawn
        self.trials.stand_beside(answer)
        if not self._action_said:
            self._write_state(self._notice(answer))
        if fresh:
            self.answer_display.start_over()
        if fresh or not self.trials.is_weighed:
            self.trials.start_over()
        if (fresh or firmer or not self.quotes.is_worked_out) and self.audience == "maker":
            self.quotes.work_out()
        self.show()
        self.waits.answered()

    def _notice(self, answer: Answer) -> str:
        if answer.brief_sources["tasks"].source == "given":
            return ""
        labels = ", ".join(self.catalogue.task_label(task) for task in answer.brief.tasks)
        return f"No task is named yet: answered for {labels}."

    def _tell_trouble(self, trouble: Trouble) -> None:
        self.post_message(EngineTrouble(trouble))

    def on_engine_trouble(self, event: EngineTrouble) -> None:
        """Say what has happened to the engine, and how to keep out the plug-in that did it."""
        if event.trouble.plugin is not None:
            self.left_out = event.trouble.plugin.plugin
        self.choices.ask_again()
        self.notify(
            event.trouble.words, title="The engine was started again", severity="warning", timeout=60, markup=False
        )

    def action_block_plugin(self) -> None:
        """Keep the plug-in that brought the engine down out for good."""
        if self.left_out:
            try:
                self.say(block_plugin(self.left_out))
            except BevelwrightError as error:
                self.say(str(error))

    # What is owned

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
        """Drop what waits for the answer; else the trial: the proposal is on the screen again."""
        if not self.waits.drop("it is not wanted any more"):
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
        """Open every field again, for another order."""
        self.quotes.end_revision()
        self.form.fill({}, OrderInHand())

    def action_save_answer(self, kind: str) -> None:
        """Write the answer to a file that does not exist yet."""
        self.files.save_answer(kind)

    def action_copy_answer(self, kind: str) -> None:
        """Copy the answer, where the terminal lets it."""
        self.files.copy_answer(kind)

    def action_dotted(self) -> None:
        """Draw the best of another grind dotted over the proposal, in turn, then none."""
        self.waits.do("draw another grind dotted over it", self.answer_display.turn_dotted)

    def action_two_blades(self) -> None:
        """Have two blades worked out instead of one."""
        self.waits.do("work out two blades", self.answer_display.ask_for_two_blades)

    def action_search(self) -> None:
        """Look for words in the answer."""
        self.search.start()

    def on_search_moved(self, event: SearchMoved) -> None:
        """Other words, or another place that has them."""
        self.search.move(event)

    def on_choice_wanted(self, event: ChoiceWanted) -> None:
        """Choose for a row from a list that is filtered as one types."""
        self.screens.choose(event.row)

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

    def unsay(self) -> None:
        """Write over what was said what the answer has to say."""
        self._action_said = False
        self._write_state("" if self.answer is None else self._notice(self.answer))

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
        asking = (self.main.query_one(BriefForm), self.main.query_one(OpeningPage))
        to_page = self.focused is None or any(part in self.focused.ancestors for part in asking)
        self.main.set_class(to_page, "-answer")
        if to_page:
            self.call_after_refresh(self.focus_page)
        elif self.main.has_class("-opening"):
            self.main.query_one(OpeningPage).answers.focus()
        else:
            self.main.query_one(BriefForm).focus_row()

    def action_show_tab(self, name: str) -> None:
        """Go to a page of the answer."""
        self.main.add_class("-answer")
        if name in MAKERS and self.audience == "buyer":
            self.action_audience()
        tabs = self.main.query_one("#tabs", TabbedContent)
        tabs.active = f"tab-{name}"
        self.focus_page()

    def focus_page(self) -> None:
        """The cursor goes where the page can be moved: a page left behind would come back with it."""
        tabs = self.main.query_one("#tabs", TabbedContent)
        part = self.main.query_one(f"#part-{tabs.active.removeprefix('tab-')}")
        steppers = list(part.query("Stepper"))
        (steppers[0] if steppers else part if part.can_focus else tabs.query_one("Tabs")).focus(scroll_visible=False)

    def action_next_tab(self) -> None:
        """Go to the next page of the answer."""
        names = self.tab_names()
        active = self.main.query_one("#tabs", TabbedContent).active.removeprefix("tab-")
        self.action_show_tab(names[(names.index(active) + 1) % len(names)] if active in names else names[0])

    def action_nth_tab(self, number: int) -> None:
        """Go to a page of the answer by its place."""
        names = self.tab_names()
        if number <= len(names):
            self.action_show_tab(names[number - 1])

    def tab_names(self) -> list[str]:
        """The pages that there are for whom it answers."""
        return [name for name, *_ in TABS if name not in MAKERS or self.audience == "maker"]

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
        self.screens.help([b for b in self.BINDINGS if isinstance(b, Binding)])

    def action_rulebook(self, rule: str | None = None) -> None:
        """Every loaded rule before this answer, and the plug-ins."""
        self.waits.do("open the rulebook", lambda answer: self.screens.rulebook(answer, rule))

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

        own = (
            replace(b, key=self.own_keys.get(str(b.id), b.key).split(",")[0])
            for b in self.BINDINGS
            if isinstance(b, Binding)
        )
        keys = {binding.action: self.get_key_display(binding) for binding in own}
        tabs = [(name, title) for name, title, *_ in TABS]
        return commands(action, tabs, self.catalogue.writers, self.left_out, keys)


_OWN_ACTIONS = {b.action.partition("(")[0] for b in BevelwrightApp.BINDINGS if isinstance(b, Binding)} - {"quit"}
