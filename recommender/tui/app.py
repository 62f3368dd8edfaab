"""The application: passes messages between the form, the service and the page; holds no computation."""

from __future__ import annotations

import shlex
from collections.abc import Iterable
from pathlib import Path
from typing import Any, ClassVar

from textual import work
from textual.app import ComposeResult, SystemCommand
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.message import Message
from textual.screen import Screen
from textual.widgets import Footer, Static, TabbedContent, TabPane
from textual.worker import get_current_worker

from recommender.drawing.blade_view import BladeView
from recommender.drawing.lengths import Lengths
from recommender.drawing.text.answer.answer_text import answer_parts, headline
from recommender.drawing.text.answer.blade_text import blade_lines
from recommender.drawing.text.answer.compare_text import compare_text, trial_text
from recommender.drawing.text.answer.life_text import life_text
from recommender.drawing.text.answer.section_text import whole_lines
from recommender.errors import BevelwrightError
from recommender.models.answer.life import Life
from recommender.models.answer.proposal import Answer, Proposal
from recommender.models.answer.trial import Knob, Weighed
from recommender.models.brief import Brief
from recommender.service import Service, with_settings
from recommender.tui.palette import commands
from recommender.tui.quoting import Quoting
from recommender.tui.screens.help_screen import HelpScreen
from recommender.tui.screens.help_text import help_text
from recommender.tui.screens.rulebook_screen import RulebookScreen
from recommender.tui.state.comparison import COLUMNS, PROPOSAL, TRIAL, Comparison
from recommender.tui.state.form_fields import groups, settings
from recommender.tui.state.session_state import SessionState
from recommender.tui.themes import DARK, LIGHT
from recommender.tui.widgets.answer_page import AnswerHead, Care, Opened, Paragraphs, TextPart, paragraphs
from recommender.tui.widgets.brief_form import BriefForm, Changed
from recommender.tui.widgets.order_form import OrderForm
from recommender.tui.widgets.trial_rows import GRIND, RowMoved, Steppers, knob_words, stepped

TABS = (
    ("blade", "Blade", TextPart, ("blade",)),
    ("why", "Why", Paragraphs, ("why", "figures")),
    ("others", "Others", TextPart, ("others",)),
    ("change", "What if", TextPart, ("change",)),
    ("try", "Try", Steppers, ()),
    ("compare", "Compare", Steppers, ()),
    ("life", "Life", TextPart, ()),
    ("shop", "Shop", TextPart, ()),
    ("price", "Price", OrderForm, ()),
    ("care", "Care", Paragraphs, ("care", "advice")),
    ("given", "Given", TextPart, ("assumed", "made with")),
    ("keep", "Keep", TextPart, ()),
)
"""Tab, its title, what it is made of, and the parts of the answer on it."""
MAKERS = ("shop", "price")
"""Tabs that only a maker has."""
SECTION_ROWS = {"-narrow": 3, "-wide": 5, "-broad": 6}
_SIDE_ROWS = 12
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


class TrialReady(Message):
    """The blade that is moved, weighed beside the proposal, and what can be moved on it."""

    def __init__(self, serial: int, proposal: Weighed, trial: Weighed, knobs: tuple[Knob, ...]) -> None:
        super().__init__()
        self.serial, self.proposal, self.trial, self.knobs = serial, proposal, trial, knobs


class ComparisonReady(Message):
    """Blades weighed side by side."""

    def __init__(self, serial: int, blades: list[tuple[str, Weighed]]) -> None:
        super().__init__()
        self.serial, self.blades = serial, blades


class BevelwrightApp(Quoting):
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
    ) -> None:
        super().__init__(service, brief, session or SessionState(), folder or Path.cwd())
        self.flips = flips
        self.life: Life | None = None
        self.bench: Comparison | None = None
        self.trial: TrialReady | None = None
        self.compared: list[tuple[str, Weighed]] = []
        self.ghost = ""
        self.set_keymap(keys or {})

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
        self.main.query_one(OrderForm).write(self.order)
        if self.size.width >= BROAD:
            # The drawing has a place of its own beside the page.
            self.main.query_one("#tabs", TabbedContent).active = "tab-why"
        self.ask()
        if self.values:
            self.notify("The form is as you left it; f6 starts afresh.", timeout=8, markup=False)

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

    def ask(self) -> None:
        """Answer what the form says now, in a thread; what is on the screen stays until then."""
        self.serial += 1
        self.state("…")
        self._answer(self.serial, settings(self.values))

    @work(thread=True, exclusive=True, group="answer")
    def _answer(self, serial: int, given: list[str]) -> None:
        worker = get_current_worker()
        try:
            brief = with_settings(Brief(), given)
            for answer in self.service.answers(brief, flips=self.flips):
                if worker.is_cancelled:
                    return
                self.post_message(Answered(serial, answer, brief))
            life = self.service.life_of(answer, brief)
            if not worker.is_cancelled:
                self.post_message(Lived(serial, life))
        except BevelwrightError as error:
            if not worker.is_cancelled:
                self.post_message(Refused(serial, str(error)))

    def on_answered(self, event: Answered) -> None:
        """Show an answer, unless another question has been asked since."""
        if event.serial != self.serial:
            return
        fresh = self.answer is None or event.answer.proposal != self.answer.proposal or event.brief != self.brief
        firmer = self.answer is not None and self.answer.tolerances != event.answer.tolerances
        self.answer, self.brief = event.answer, event.brief
        self.bench = Comparison(event.answer) if self.bench is None else self.bench.over(event.answer)
        self.state(self._notice(event.answer))
        if fresh:
            self.life, self.trial = None, None
            self.weigh()
        if (fresh or firmer) and self.audience == "maker":
            self.work_out()
        self.show()

    def on_lived(self, event: Lived) -> None:
        """Show the blade's life, unless another question has been asked since."""
        if event.serial == self.serial:
            self.life = event.life
            self._show_life()

    def on_refused(self, event: Refused) -> None:
        """Say what does not fit; the answer before stays on the screen."""
        if event.serial == self.serial:
            self.state(event.words)

    def _notice(self, answer: Answer) -> str:
        if answer.brief_sources["tasks"].source == "given":
            return ""
        labels = ", ".join(self.service.knowledge.tasks[task].label for task in answer.brief.tasks)
        return f"No task is named yet: answered for {labels}."

    # Trying and comparing

    def weigh(self) -> None:
        """Weigh the blade that is moved and those side by side, in threads."""
        if self.bench is not None and self.bench.base is not None:
            self._try(self.serial, self.brief, self.bench, dict(self.bench.values))

    @work(thread=True, exclusive=True, group="try")
    def _try(self, serial: int, brief: Brief, bench: Comparison, values: dict[str, float | str]) -> None:
        worker = get_current_worker()
        first, base = bench.answer.proposal, bench.base
        if first is None or base is None:
            return
        blade = self.service.changed(brief, base, values)
        trial = self.service.weigh(brief, blade)
        known = {TRIAL: trial, PROPOSAL: trial if blade == first else self.service.weigh(brief, first)}
        knobs = self.service.knobs(brief, blade, base)
        if worker.is_cancelled:
            return
        self.post_message(TrialReady(serial, known[PROPOSAL], trial, knobs))
        blades = [
            (label, known.get(label) or self.service.weigh(brief, other)) for label, other in bench.side_by_side(blade)
        ]
        if not worker.is_cancelled:
            self.post_message(ComparisonReady(serial, blades))

    def on_trial_ready(self, event: TrialReady) -> None:
        """Show the trial, its figures and its drawing."""
        if event.serial == self.serial:
            self.trial = event
            self._show_try()
            self._show_head()
            self._show_drawing()

    def on_comparison_ready(self, event: ComparisonReady) -> None:
        """Show the blades side by side."""
        if event.serial == self.serial:
            self.compared = event.blades
            self._show_compare()

    def on_row_moved(self, event: RowMoved) -> None:
        """A row of the trial or of the comparison has been moved."""
        bench, trial = self.bench, self.trial
        if bench is None:
            return
        if event.name.startswith("beside-"):
            blade = None if trial is None else trial.trial.proposal
            bench.turn_pick(int(event.name.removeprefix("beside-")), event.by, blade)
        elif event.name == GRIND:
            bench.turn_grind(event.by)
        elif trial is not None:
            knob = next((k for k in trial.knobs if k.name == event.name), None)
            value = None if knob is None else stepped(knob, event.by)
            if knob is None or value is None:
                return
            bench.values[knob.name] = value
            if value == knob.proposed:
                bench.values.pop(knob.name)
        self.weigh()

    def action_drop_trial(self) -> None:
        """Drop the trial: the proposal is on the screen again."""
        if self.bench is not None and self.bench.moved:
            self.bench.back()
            self.weigh()

    def action_keep_trial(self) -> None:
        """Keep the trial to compare it."""
        if self.bench is None or self.trial is None or not self.bench.moved:
            self.notify("Nothing has been moved yet; the rows under Try move the blade.", markup=False)
        elif self.trial.trial.refused:
            self.notify("A blade that cannot be ground is not kept.", markup=False)
        else:
            label = self.bench.keep(self.trial.trial.proposal)
            self.notify(f"Kept as {label}; it stands under Compare.", markup=False)
            self.weigh()

    # Showing

    def show(self) -> None:
        """Write the answer into every part of the page."""
        answer = self.answer
        if answer is None:
            return
        parts = self._parts(answer)
        for name, _, kind, wanted in TABS:
            text = "\n".join(parts[part] for part in wanted if part in parts) or self._nothing_there(name)
            if kind is Paragraphs:
                self.main.query_one(f"#part-{name}", Paragraphs).show(paragraphs(text, answer))
            elif wanted and name != "blade":
                self.main.query_one(f"#part-{name}", TextPart).show(text)
        self.main.query_one("#part-keep", TextPart).show(self._keep_text())
        self.main.query_one(Care).show(answer, self.audience)
        self._show_head()
        self._show_drawing(parts)
        self._show_life()
        self._show_try()
        self._show_compare()
        self.show_workshop()

    def _parts(self, answer: Answer) -> dict[str, str]:
        return answer_parts(answer, None, audience=self.audience, width=self._page_width(), inches=self.inches)

    def _on_show(self) -> tuple[Proposal | None, bool]:
        """The blade on the screen, and whether it is a trial."""
        if self.bench is not None and self.bench.moved and self.trial is not None:
            return self.trial.trial.proposal, True
        return (None if self.answer is None else self.answer.proposal), False

    def _show_head(self) -> None:
        answer, (blade, trying) = self.answer, self._on_show()
        if answer is None:
            return
        head = self.main.query_one(AnswerHead)
        if blade is None:
            head.show(["Nothing fits this brief; what would help stands under Blade."], [])
            return
        lines = headline(answer, blade, inches=self.inches)
        if trying and self.trial is not None:
            refused = self.trial.trial.refused
            lines[0] = f"{'Trial that cannot be ground' if refused else 'Trial'}: {lines[0]}"
        elif answer.points is not None:
            lines[0] += f" ({answer.points.total:.0f} of 100)"
        width = max(30, min(self._page_width(), 100))
        rows = next((rows for name, rows in SECTION_ROWS.items() if self.main.has_class(name)), 3)
        try:
            outline = self.service.section_of(blade)
            drawn = whole_lines(
                outline, grind_line_mm=blade.grind_line_mm, width=width, rows=rows, lengths=Lengths(self.inches)
            )
        except BevelwrightError:
            drawn = ["It cannot be drawn: its faces cross."]
        head.show(lines, drawn)

    def _show_drawing(self, parts: dict[str, str] | None = None) -> None:
        answer, (blade, trying) = self.answer, self._on_show()
        if answer is None:
            return
        pane = self.main.query_one("#drawing", TextPart)
        broad = self.main.has_class("-broad")
        width = max(40, min((pane.size.width - 4) if broad and pane.size.width else self._page_width(), 110))
        lines: list[str] = []
        if blade is not None:
            view = self.service.view(blade)
            ghost, label = self._ghost(trying)
            if view is None:
                lines = ["It cannot be followed to the tip, so there is no side view."]
            else:
                lines = blade_lines(
                    view,
                    width=width,
                    rows=_SIDE_ROWS,
                    balance_mm=answer.blade.balance_mm if answer.blade and not trying else None,
                    lengths=Lengths(self.inches),
                    ghost=ghost,
                    ghost_label=label,
                )
        parts = parts or self._parts(answer)
        text = "\n".join(parts[name] for name in ("poor", "blade") if name in parts)
        pane.show(lines)
        below = [] if broad else ["", *lines]
        self.main.query_one("#part-blade", TextPart).show([*text.rstrip().split("\n"), *below])

    def _ghost(self, trying: bool) -> tuple[BladeView | None, str]:
        """What is drawn dotted: the proposal behind a trial, else the grind chosen with f8."""
        answer = self.answer
        if answer is None or answer.proposal is None:
            return None, ""
        if trying:
            return self.service.view(answer.proposal), f"the proposal, {answer.proposal.grind_label}"
        for other in answer.alternatives:
            if other.grind == self.ghost and other.proposal is not None:
                return self.service.view(other.proposal), f"the best {other.grind_label} instead (f8: another)"
        return None, ""

    def _show_life(self) -> None:
        text = "Being worked out …"
        if self.life is not None:
            text = life_text(self.life, width=self._page_width(), inches=self.inches)
        self.main.query_one("#part-life", TextPart).show(text)

    def _show_try(self) -> None:
        steppers = self.main.query_one("#part-try", Steppers)
        bench, tried = self.bench, self.trial
        if bench is None or bench.base is None:
            steppers.show("Nothing fits, so there is nothing to try from.", [], "")
            return
        if tried is None:
            return
        blade, first = tried.trial.proposal, bench.answer.proposal
        proposed = "" if first is None or blade.grind == first.grind else f"proposed {first.grind_label}"
        rows = [(GRIND, "grind", blade.grind_label, proposed)]
        sides = blade.edge_angle_included_deg / blade.edge_angle_per_side_deg
        rows += [(k.name, k.label, *knob_words(k, sides, self.inches)) for k in tried.knobs]
        hint = "Move with the arrow keys; backspace puts a row back, esc all of them; f12 keeps it under Compare."
        text = trial_text(tried.proposal, tried.trial, width=self._page_width(), inches=self.inches)
        steppers.show(
            hint, rows, "\n" + (text if bench.moved else "This is the proposal; move a row to see what changes.")
        )

    def _show_compare(self) -> None:
        steppers = self.main.query_one("#part-compare", Steppers)
        bench = self.bench
        if bench is None or not self.compared or bench.base is None:
            steppers.show("Nothing fits, so there is nothing to compare." if bench else "Being worked out …", [], "")
            return
        rows = [(f"beside-{k}", f"beside it, column {k + 2}", bench.picks[k], "") for k in range(COLUMNS - 1)]
        text = compare_text(self.compared, width=self._page_width(), inches=self.inches)
        steppers.show("Choose with the arrow keys what stands beside the proposal.", rows, "\n" + text)

    def _keep_text(self) -> str:
        given = " ".join(f"--set {shlex.quote(setting)}" for setting in settings(self.values))
        return (
            "On the command line the same is\n\n"
            f"  bevelwright recommend {given}\n\n"
            "f5 writes the brief below to a file. Everything else is in the palette (ctrl+p): open a brief, save it "
            "under a name, save or copy the answer as text, JSON or drawing. The form itself is kept as you leave it, "
            f"also when the terminal is closed on you.\n\n{self.brief_text()}"
        )

    def _nothing_there(self, name: str) -> str:
        if name == "change":
            if self.answer is not None and self.answer.brief.wishes.grind is not None:
                return "Nothing could change what is wished for."
            return "Being worked out …" if self.flips else "Not asked for."
        return "Nothing to say here."

    def _page_width(self) -> int:
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
            self.work_out()

    def _show_shop(self) -> None:
        tabs = self.main.query_one("#tabs", TabbedContent)
        for name in MAKERS:
            (tabs.show_tab if self.audience == "maker" else tabs.hide_tab)(f"tab-{name}")

    def action_inches(self) -> None:
        """Show lengths in millimetres or inches."""
        self.inches = not self.inches
        self.session.leave_view(lengths="inches" if self.inches else "mm")
        self.show()

    def action_ghost(self) -> None:
        """Draw the best of another grind dotted over the proposal, in turn, then none."""
        if self.bench is not None and self.bench.moved:
            self.notify("Behind a trial the proposal is drawn; esc drops the trial.", markup=False)
        elif self.answer is not None:
            grinds = ["", *(a.grind for a in self.answer.alternatives if a.proposal is not None)]
            at = grinds.index(self.ghost) if self.ghost in grinds else 0
            self.ghost = grinds[(at + 1) % len(grinds)]
            self._show_drawing()

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
        rulings = self.service.rule_traces(self.brief, self.answer)
        self.push_screen(RulebookScreen(rulings, metrics, self.service.plugin_statuses(self.answer), rule))

    def on_opened(self, event: Opened) -> None:
        """A reason is opened: its rule."""
        self.action_rulebook(event.rule)

    def get_system_commands(self, screen: Screen[Any]) -> Iterable[SystemCommand]:
        """What the palette offers."""
        return commands(self, [(name, title) for name, title, *_ in TABS])


_OWN_ACTIONS = {b.action for b in BevelwrightApp.BINDINGS if isinstance(b, Binding)} - {"quit"}
