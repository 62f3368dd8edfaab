"""Trying and comparing: the blade that is moved, weighed beside the proposal, and blades side by side."""

from __future__ import annotations

from typing import TYPE_CHECKING

from recommender.drawing.text.answer.compare_text import compare_text, trial_text
from recommender.models.answer.proposal import Answer
from recommender.models.answer.trial import Weighed
from recommender.tui.state.comparison import COLUMNS, TRIAL, BladeComparison
from recommender.tui.widgets.trial_rows import GRIND, Steppers, knob_words, stepped
from recommender.worker.client import Reply
from recommender.worker.drawn_blade import DrawnBlade
from recommender.worker.messages import Refused
from recommender.worker.parts import ComparisonPart, TrialPart
from recommender.worker.questions import TrialQuestion

if TYPE_CHECKING:
    from recommender.tui.app import BevelwrightApp


class TrialActions:
    """Moves a blade away from the proposal and puts blades side by side."""

    def __init__(self, app: BevelwrightApp) -> None:
        self.app = app
        self.comparison: BladeComparison | None = None
        self.ready: TrialPart | None = None
        """The trial as it was last weighed."""
        self.compared: list[tuple[str, Weighed]] = []
        self.is_weighed = True
        """Nothing of it has been asked for that is not there yet."""

    @property
    def moved(self) -> bool:
        """Whether a trial differs from the proposal."""
        return self.comparison is not None and self.comparison.moved

    @property
    def shown(self) -> Weighed | None:
        """The trial that stands on the screen in place of the proposal."""
        return self.ready.trial if self.moved and self.ready is not None else None

    @property
    def shown_drawn(self) -> DrawnBlade | None:
        """What there is to draw of it."""
        return self.ready.drawn if self.moved and self.ready is not None else None

    # Weighing

    def stand_beside(self, answer: Answer) -> None:
        """Try and compare beside another answer."""
        self.comparison = BladeComparison(answer) if self.comparison is None else self.comparison.over(answer)

    def start_over(self) -> None:
        """The trial that was weighed was one of another answer: weigh anew."""
        self.ready = None
        self.weigh()

    def weigh(self) -> None:
        """Have weighed the blade that is moved and those side by side."""
        comparison = self.comparison
        if comparison is None or comparison.base is None or comparison.answer.proposal is None:
            self.is_weighed = True
            return
        self.is_weighed = False
        # The trial has no blade yet; the proposal holds its place.
        beside = comparison.side_by_side(comparison.answer.proposal)
        question = TrialQuestion(
            brief=self.app.brief,
            proposal=comparison.answer.proposal,
            base=comparison.base,
            values=comparison.values,
            beside=tuple((label, None if label == TRIAL else blade) for label, blade in beside),
        )
        self.app.put(question, self.take)

    def take(self, reply: Reply) -> None:
        """Show the trial with its figures and its drawing, and the blades side by side."""
        match reply:
            case TrialPart():
                self.ready, self.is_weighed = reply, True
                self.show_trial()
                self.app.answer_display.show_blade()
                self.app.waits.look()
            case ComparisonPart():
                self.compared = list(reply.blades)
                self.show_comparison()
            case Refused():
                self.is_weighed = True
                self.app.waits.drop(reply.words)
                self.app.say(reply.words)

    # What the keys do

    def step(self, name: str, by: int) -> None:
        """Move a row of the trial or of the comparison by steps; 0 puts it back."""
        comparison, ready = self.comparison, self.ready
        if comparison is None:
            return
        self.app.waits.drop("the trial was moved")
        if name.startswith("beside-"):
            blade = None if ready is None else ready.trial.proposal
            comparison.turn_pick(int(name.removeprefix("beside-")), by, blade)
        elif name == GRIND:
            comparison.turn_grind(by)
        elif ready is not None:
            knob = next((k for k in ready.knobs if k.name == name), None)
            if knob is None:
                return
            # From what was asked for last: it may not have been weighed yet, and quick keys would be lost.
            value = stepped(knob.model_copy(update={"value": comparison.values.get(name, knob.value)}), by)
            if value is None:
                return
            comparison.values[knob.name] = value
            if value == knob.proposed:
                comparison.values.pop(knob.name)
        self.weigh()

    def drop(self) -> None:
        """Drop the trial: the proposal is on the screen again."""
        if self.comparison is not None and self.comparison.moved:
            self.comparison.back()
            self.weigh()

    def keep(self) -> None:
        """Keep the trial to compare it, once it is weighed."""
        self.app.waits.do("keep the trial", lambda answer: self._keep(), trial=True)

    def _keep(self) -> None:
        comparison, ready = self.comparison, self.ready
        if comparison is None or ready is None or not comparison.moved:
            self.app.notify("Nothing has been moved yet; the rows under Try move the blade.", markup=False)
        elif ready.trial.refused:
            self.app.notify("A blade that cannot be ground is not kept.", markup=False)
        else:
            label = comparison.keep(ready.trial.proposal)
            self.app.notify(f"Kept as {label}; it stands under Compare.", markup=False)
            self.weigh()

    # Showing

    def show(self) -> None:
        """Write both pages."""
        self.show_trial()
        self.show_comparison()

    def show_trial(self) -> None:
        """Write the page on which a blade is moved."""
        app, comparison, ready = self.app, self.comparison, self.ready
        page = app.main.query_one("#part-try", Steppers)
        if comparison is None or comparison.base is None:
            page.show("Nothing fits, so there is nothing to try from.", [], "")
            return
        if ready is None:
            return
        blade, first = ready.trial.proposal, comparison.answer.proposal
        proposed = "" if first is None or blade.grind == first.grind else f"proposed {first.grind_label}"
        rows = [(GRIND, "grind", blade.grind_label, proposed)]
        sides = blade.edge_angle_included_deg / blade.edge_angle_per_side_deg
        rows += [(k.name, k.label, *knob_words(k, sides, app.inches)) for k in ready.knobs]
        hint = "Move with the arrow keys; backspace puts a row back, esc all of them; f12 keeps it under Compare."
        text = "This is the proposal; move a row to see what changes."
        if comparison.moved:
            text = trial_text(ready.proposal, ready.trial, width=app.page_width(), inches=app.inches)
        page.show(hint, rows, "\n" + text)

    def show_comparison(self) -> None:
        """Write the page with blades side by side."""
        app, comparison = self.app, self.comparison
        page = app.main.query_one("#part-compare", Steppers)
        if comparison is None or not self.compared or comparison.base is None:
            page.show("Nothing fits, so there is nothing to compare." if comparison else "Being worked out …", [], "")
            return
        rows = [(f"beside-{k}", f"beside it, column {k + 2}", comparison.picks[k], "") for k in range(COLUMNS - 1)]
        text = compare_text(self.compared, width=app.page_width(), inches=app.inches)
        page.show("Choose with the arrow keys what stands beside the proposal.", rows, "\n" + text)
