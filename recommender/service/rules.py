"""Questions about the rules themselves: what is wrong with them, which matter, what others would change."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterable, Sequence
from dataclasses import dataclass, replace
from operator import attrgetter, methodcaller
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from recommender.engine.answer.recommend import answers
from recommender.models.brief import Brief
from recommender.packs.fields import fields
from recommender.packs.knowledge import Knowledge
from recommender.packs.sources import named_packs, own_packs
from recommender.service.many import Many

if TYPE_CHECKING:  # what only some commands need is imported by them
    from recommender.engine.audit.checks.check import CheckReport
    from recommender.engine.audit.consequences import PackComparison
    from recommender.engine.audit.designed_briefs import Question
    from recommender.engine.audit.rule_coverage import RuleRoles
    from recommender.models.knowledge.coverage import Coverage
    from recommender.models.knowledge.rules_diff import BriefChanged

T = TypeVar("T")


@dataclass
class Rules(Many):
    """Asked about rules."""

    def check(self, places: Sequence[str] = (), *, deep: bool = False) -> CheckReport:
        """Check all rules that are loaded and those of some places, drafts too; `deep` computes as well.

        Nothing that is wrong with a file stops it. Raises PackError for a place without a pack.
        """
        from recommender.engine.audit.checks.check import check

        plugins = [stamped.item for stamped in self.registry.packs]
        given = named_packs(places)
        beside = [p for p in named_packs(self.packs) if p.resolve() not in {own.resolve() for own in given}]
        return check([*plugins, *(own_packs() if self.own_packs else ()), *beside], given, self.registry, deep=deep)

    def questions(self, folder: str | None, sample: int) -> list[Question]:
        """The briefs of a folder, then at most `sample` designed ones. Raises InputError."""
        from recommender.engine.audit.designed_briefs import briefs_in, designed

        given = briefs_in(Path(folder)) if folder is not None else []
        return given + designed(self.knowledge, self.grinds, sample)

    def parts(self, question: Question) -> RuleRoles:
        """What every rule has to do with the answer to a brief, as it stands first. Raises InputError."""
        from recommender.engine.audit.rule_coverage import parts

        case = self.case(question.brief, question.name)
        return parts(case, next(answers(case)))

    def parts_of_all(
        self, questions: Iterable[Question], jobs: int = 1
    ) -> Generator[tuple[Question, RuleRoles], None, None]:
        """The same of many briefs, in their order and in several processes. Raises InputError."""
        return self._shared_out(questions, attrgetter("parts"), jobs)

    def coverage(self, found: Iterable[RuleRoles]) -> Coverage:
        """Which rules matter over all the answers that they had to do with."""
        from recommender.engine.audit.rule_coverage import coverage

        return coverage(self.knowledge, found)

    def comparison(self, old: str | None, new: str | None) -> PackComparison:
        """Two places of packs, each laid over what is loaded; None for that alone. Raises PackError."""
        from recommender.engine.audit.consequences import PackComparison

        def over(place: str | None) -> Knowledge:
            return self.knowledge if place is None else replace(self, packs=(*self.packs, place)).knowledge

        return PackComparison(over(old), over(new), self.registry)

    def consequences(
        self, questions: Iterable[Question], old: str | None, new: str | None, jobs: int = 1
    ) -> Generator[tuple[Question, BriefChanged | None], None, None]:
        """How briefs come out otherwise under other packs, in order. Raises PackError."""
        return self._shared_out(questions, methodcaller("comparison", old, new), jobs)

    def schema(self, kind: str) -> dict[str, Any]:
        """JSON Schema of a kind of file, with the names that are loaded."""
        from recommender.packs.schema import schema_of
        from recommender.packs.schema_names import with_names

        knowledge, metrics = self.knowledge, self.registry.metrics
        return with_names(schema_of(kind), knowledge, fields(knowledge, self.grinds, metrics), self.grinds, metrics)

    def pages(self, told: Callable[[int], None] = lambda done: None) -> dict[str, bytes]:
        """Everything that is loaded, as pages of Markdown and pictures by path; `told` hears of every task drawn."""
        from recommender.drawing.pages.page_set import book
        from recommender.drawing.pages.site import DrawnSection, Site
        from recommender.packs.findings import KINDS

        drawn = {
            grind.id: DrawnSection(outline, line) for grind, outline, line in self.grinds_drawn() if outline is not None
        }
        proposed = {}
        for done, task in enumerate(self.knowledge.tasks):
            told(done)
            blade = next(self.answers(Brief(tasks={task: 1.0}))).proposal
            if blade is not None:
                proposed[task] = blade, DrawnSection(self.section_of(blade), blade.grind_line_mm)
        kinds = {k.id: (k.title, (k.what, k.why, f"Example: {k.example}", k.fix)) for k in KINDS.values()}
        return book(Site(self.knowledge, self.registry.grinds, self.registry.metrics, drawn, proposed, findings=kinds))
