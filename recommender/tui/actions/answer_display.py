"""The answer on the screen: written into the head, the drawing, the cautions and the pages."""

from __future__ import annotations

import shlex
from typing import TYPE_CHECKING

from recommender.drawing.blade_view import BladeView
from recommender.drawing.lengths import Lengths
from recommender.drawing.text.answer.answer_text import answer_parts, headline
from recommender.drawing.text.answer.blade_text import blade_lines
from recommender.drawing.text.answer.life_text import life_text
from recommender.drawing.text.answer.section_text import whole_lines
from recommender.drawing.text.answer.summary_text import two_blades_text
from recommender.models.answer.proposal import Answer, Proposal
from recommender.models.answer.sharpening_life import Life
from recommender.tui.state.form_fields import settings
from recommender.tui.tabs import TABS
from recommender.tui.widgets.answer_page import AnswerHead, Care, Paragraphs, TextPart, paragraphs
from recommender.worker.client import Reply
from recommender.worker.drawn_blade import NOTHING_DRAWN, DrawnBlade
from recommender.worker.messages import Refused
from recommender.worker.parts import AlternativePart, TwoBladesPart
from recommender.worker.questions import AlternativeQuestion, TwoBladesQuestion

if TYPE_CHECKING:
    from recommender.tui.app import BevelwrightApp

SECTION_ROWS = {"-narrow": 3, "-wide": 5, "-broad": 6}
_SIDE_ROWS = 12


class AnswerDisplay:
    """Writes the answer at hand, for whom and in which lengths the app says."""

    def __init__(self, app: BevelwrightApp) -> None:
        self.app = app
        self.life: Life | None = None
        """Of the blades of the answer, once it is worked out."""
        self.dotted = ""
        """The grind drawn dotted over the proposal, "" for none."""
        self.proposal_drawn = NOTHING_DRAWN
        """What there is to draw of the answer's proposal."""
        self.others_drawn: dict[str, DrawnBlade] = {}
        """Of its alternatives by grind, those that were asked for."""
        self.two_blades: Answer | None = None
        """The first of two blades instead, once they were asked for."""

    def start_over(self) -> None:
        """What was worked out besides was of another answer."""
        self.life, self.others_drawn, self.two_blades = None, {}, None

    def ask_for_two_blades(self, answer: Answer) -> None:
        """Have worked out two blades instead of this one, and show them over the other grinds."""
        app = self.app
        if len(answer.task_fit) < 2:
            app.notify("One task takes one blade: say what else it has to do.", markup=False)
            return
        app.say("Working out two blades …")
        app.put(TwoBladesQuestion(brief=app.brief), self._take_two_blades)

    def _take_two_blades(self, reply: Reply) -> None:
        match reply:
            case TwoBladesPart():
                self.two_blades = reply.answer
                self.app.say("")
                self.app.show()
                self.app.action_show_tab("others")
            case Refused():
                self.app.say(reply.words)

    def _take_other(self, reply: Reply) -> None:
        """Take what there is to draw of an alternative."""
        if isinstance(reply, AlternativePart):
            self.others_drawn[reply.grind] = reply.drawn
            if self.app.answer is not None:
                self._show_drawing(self.app.answer)

    def show(self, answer: Answer) -> None:
        """Write the answer everywhere, besides the pages of trials and of the workshop."""
        main = self.app.main
        parts = self._parts(answer)
        for name, _, kind, wanted in TABS:
            text = "\n".join(parts[part] for part in wanted if part in parts) or self._nothing_there(name)
            if name == "others" and self.two_blades is not None:
                app = self.app
                text = f"{two_blades_text(self.two_blades, app.audience, app.page_width(), app.inches)}\n{text}"
            if kind is Paragraphs:
                main.query_one(f"#part-{name}", Paragraphs).show(paragraphs(text, answer))
            elif wanted and name != "blade":
                main.query_one(f"#part-{name}", TextPart).show(text)
        main.query_one("#part-save", TextPart).show(self._save_text())
        main.query_one(Care).show(answer, self.app.audience)
        self._show_head(answer)
        self._show_drawing(answer, parts)
        self._show_life()

    def show_blade(self) -> None:
        """Write head and drawing: another blade is on the screen."""
        if self.app.answer is not None:
            self._show_head(self.app.answer)
            self._show_drawing(self.app.answer)

    def show_life(self, life: Life) -> None:
        """Write the life of the answer's blades."""
        self.life = life
        self._show_life()

    def turn_dotted(self, answer: Answer) -> None:
        """Draw the best of another grind dotted over the proposal, in turn, then none."""
        if self.app.trials.moved:
            self.app.notify("Behind a trial the proposal is drawn; esc drops the trial.", markup=False)
        else:
            grinds = ["", *(a.grind for a in answer.alternatives if a.proposal is not None)]
            at = grinds.index(self.dotted) if self.dotted in grinds else 0
            self.dotted = grinds[(at + 1) % len(grinds)]
            self._show_drawing(answer)

    def _parts(self, answer: Answer) -> dict[str, str]:
        app = self.app
        return answer_parts(answer, None, audience=app.audience, width=app.page_width(), inches=app.inches)

    def _blade(self, answer: Answer) -> Proposal | None:
        """The blade on the screen."""
        trial = self.app.trials.shown
        return answer.proposal if trial is None else trial.proposal

    @property
    def _drawn(self) -> DrawnBlade:
        """What there is to draw of the blade on the screen."""
        trial = self.app.trials.shown_drawn
        return self.proposal_drawn if trial is None else trial

    def _show_head(self, answer: Answer) -> None:
        app, blade, trial = self.app, self._blade(answer), self.app.trials.shown
        head = app.main.query_one(AnswerHead)
        if blade is None:
            head.show(["Nothing fits this brief; what would help stands under Blade."], [])
            return
        lines = headline(answer, blade, inches=app.inches)
        if trial is not None:
            lines[0] = f"{'Trial that cannot be ground' if trial.refused else 'Trial'}: {lines[0]}"
        elif answer.points is not None:
            lines[0] += f" ({answer.points.total:.0f} of 100)"
        width = max(30, min(app.page_width(), 100))
        rows = next((rows for name, rows in SECTION_ROWS.items() if app.main.has_class(name)), 3)
        drawn, outline = ["It cannot be drawn: its faces cross."], self._drawn.section
        if outline is not None:
            drawn = whole_lines(
                outline, grind_line_mm=blade.grind_line_mm, width=width, rows=rows, lengths=Lengths(app.inches)
            )
        head.show(lines, drawn)

    def _show_drawing(self, answer: Answer, parts: dict[str, str] | None = None) -> None:
        app, blade = self.app, self._blade(answer)
        pane = app.main.query_one("#drawing", TextPart)
        broad = app.main.has_class("-broad")
        width = max(40, min((pane.size.width - 4) if broad and pane.size.width else app.page_width(), 110))
        lines = [] if blade is None else self._side_view(answer, width)
        parts = parts or self._parts(answer)
        text = "\n".join(parts[name] for name in ("summary", "blade") if name in parts)
        pane.show(lines)
        below = [] if broad else ["", *lines]
        app.main.query_one("#part-blade", TextPart).show([*text.rstrip().split("\n"), *below])

    def _side_view(self, answer: Answer, width: int) -> list[str]:
        trying = self.app.trials.shown is not None
        view = self._drawn.view
        ghost, label = self._dotted_view(answer, trying)
        if view is None:
            return ["It cannot be followed to the tip, so there is no side view."]
        return blade_lines(
            view,
            width=width,
            rows=_SIDE_ROWS,
            balance_mm=answer.blade.balance_mm if answer.blade and not trying else None,
            lengths=Lengths(self.app.inches),
            ghost=ghost,
            ghost_label=label,
        )

    def _dotted_view(self, answer: Answer, trying: bool) -> tuple[BladeView | None, str]:
        """What is drawn dotted: the proposal behind a trial, else the grind chosen with f8."""
        if answer.proposal is None:
            return None, ""
        if trying:
            return self.proposal_drawn.view, f"the proposal, {answer.proposal.grind_label}"
        other = next((other for other in answer.alternatives if other.grind == self.dotted), None)
        if other is None or other.proposal is None:
            return None, ""
        if other.grind not in self.others_drawn:
            self.app.put(AlternativeQuestion(blade=other.proposal), self._take_other)
            return None, ""
        return self.others_drawn[other.grind].view, f"the best {other.grind_label} instead (f8: another)"

    def _show_life(self) -> None:
        text = "Being worked out …"
        if self.life is not None:
            text = life_text(self.life, width=self.app.page_width(), inches=self.app.inches)
        self.app.main.query_one("#part-life", TextPart).show(text)

    def _save_text(self) -> str:
        given = " ".join(f"--set {shlex.quote(setting)}" for setting in settings(self.app.values))
        return (
            "On the command line the same is\n\n"
            f"  bevelwright recommend {given}\n\n"
            "f5 writes the brief below to a file. Everything else is in the palette (ctrl+p): open a brief, save it "
            "under a name, save or copy the answer as text, JSON or drawing. The form itself is kept as you leave it, "
            f"also when the terminal is closed on you.\n\n{self.app.files.brief_text()}"
        )

    def _nothing_there(self, name: str) -> str:
        if name == "change":
            if self.app.answer is not None and self.app.answer.brief.wishes.grind is not None:
                return "Nothing could change what is wished for."
            return "Being worked out …" if self.app.flips else "Not asked for."
        return "Nothing to say here."
