"""Questions about one brief: its answer, how blades do under it, what its rules say."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING, Literal

from recommender.engine.answer.recommend import STAGES, answers
from recommender.engine.intake.case import Case
from recommender.engine.intake.resolve import Resolved, resolve
from recommender.errors import InputError
from recommender.models.answer.proposal import Answer, Proposal
from recommender.models.answer.summary import Named, Summary
from recommender.models.brief import Brief
from recommender.service.loaded import Loaded
from recommender.text import clean

if TYPE_CHECKING:  # what only some commands need is imported by them
    from recommender.engine.answer.rule_trace import RuleTrace
    from recommender.engine.search.measuring import Measured
    from recommender.models.answer.sharpening_life import Life
    from recommender.models.answer.trial import Knob, Weighed


_STEELS: dict[str, Literal["stainless", "carbon-steel", "tool-steel"]] = {
    "stainless": "stainless",
    "carbon": "carbon-steel",
    "low-alloy": "carbon-steel",
    "tool": "tool-steel",
    "high-speed": "tool-steel",
}
"""What a family of steels is called in a shop."""


@dataclass(frozen=True)
class Briefs:
    """Answers briefs with what is loaded."""

    loaded: Loaded

    def resolve(self, brief: Brief, file: str = "brief") -> Resolved:
        """Fill a brief's open fields. Raises InputError."""
        return resolve(brief, self.loaded.knowledge, self.loaded.registry.grinds, file, self.loaded.bench)

    def case(self, brief: Brief, file: str = "brief") -> Case:
        """A brief with everything that is loaded. Raises InputError."""
        return Case.of(self.resolve(brief, file), self.loaded.knowledge, self.loaded.registry)

    def recommend(self, brief: Brief, file: str = "brief", *, flips: bool = True) -> Answer:
        """Answer a brief, `flips` and all unless that may wait. Raises InputError for a brief that makes no sense."""
        return list(self.answers(brief, file, flips=flips))[-1]

    def answers(self, brief: Brief, file: str = "brief", *, flips: bool = True) -> Iterator[Answer]:
        """The answer to a brief as soon as it stands, then how sure, then its flips unless they may be left out.

        Raises InputError like `recommend`.
        """
        return islice(self._answers(brief, file), STAGES if flips else STAGES - 1)

    def _answers(self, brief: Brief, file: str) -> Iterator[Answer]:
        """Asked again, from clean data, without plug-ins that are found to change what they are lent."""
        case = self.case(brief, file)
        for stage, answer in enumerate(answers(case)):
            if changers := case.registry.left_out:
                without = Briefs(self.loaded.doing_without(changers))
                try:
                    for at, again in enumerate(without._answers(brief, file)):
                        if at >= stage or again.proposal is None:
                            yield again
                except InputError:  # for a grind, a task or a steel of theirs
                    raise next(iter(changers.values())) from None
                return
            yield answer.model_copy(update={"summary": self._summary(answer, case)})

    def _summary(self, answer: Answer, case: Case) -> Summary:
        """The answer in one breath."""
        from recommender.drawing.text.answer.summary_text import summary

        p = answer.proposal
        if p is None:
            return summary(answer, None)
        steel = self.loaded.knowledge.steels[str(answer.brief.steel.grade)]
        main = max(case.resolved.tasks, key=lambda load: load.share)
        grinds = self.loaded.registry.grinds
        shown = [p.grind, *(a.grind for a in answer.alternatives if a.proposal is not None)]
        words = {id_: clean(grinds[id_].item.ground, one_line=True) for id_ in shown}
        return summary(answer, Named(blade=main.task.blade_name, steel=_STEELS[steel.family], grinds=words))

    def life(self, brief: Brief, file: str = "brief") -> Life:
        """Follow an answer's blades through their sharpenings. Raises InputError for a brief that makes no sense."""
        return self.life_of(self.recommend(brief, file, flips=False), brief, file)

    def life_of(self, answer: Answer, brief: Brief, file: str = "brief") -> Life:
        """Follow the blades of an answer already given to a brief."""
        from recommender.engine.answer.sharpening_course import life

        case = self.case(brief, file)
        return life(answer, case.resolved, case.registry)

    def weigh(self, brief: Brief, blade: Proposal) -> Weighed:
        """Measure and score any blade under a brief. Raises InputError for a brief that makes no sense."""
        from recommender.engine.answer import tried_blade

        return tried_blade.weigh(self.case(brief), blade)

    def changed(self, brief: Brief, blade: Proposal, values: Mapping[str, float | str]) -> Proposal:
        """A blade with some of its dimensions moved, by the names of its knobs; what follows from them follows."""
        from recommender.engine.answer import tried_blade

        return tried_blade.changed(self.case(brief), blade, values)

    def knobs(self, brief: Brief, blade: Proposal, base: Proposal) -> tuple[Knob, ...]:
        """What can be moved on a blade tried from another."""
        from recommender.engine.answer import tried_blade

        return tried_blade.knobs(self.case(brief), blade, base)

    def rule_traces(self, brief: Brief, answer: Answer) -> list[RuleTrace]:
        """What every loaded rule says of an answer given to a brief, and why it fired or not."""
        from recommender.engine.answer.rule_trace import rule_traces

        return rule_traces(self.case(brief), answer)

    def specimens(self, brief: Brief, sections: int, designs: int) -> Iterator[Measured]:
        """What a metric would be given for a brief: sections of each grind, then its best of some designs as blades."""
        from recommender.engine.audit import metric_samples as specimens

        case = self.case(brief)
        yield from specimens.sections(case, sections)
        yield from specimens.blades(case, designs)
