"""Questions about the rules themselves: what is wrong with them, which matter, what others would change."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from recommender.engine.answer.recommend import answers
from recommender.packs.fields import fields
from recommender.packs.knowledge import Knowledge
from recommender.packs.sources import named_packs, own_packs
from recommender.service.batch import shared_out
from recommender.service.briefs import Briefs
from recommender.service.loaded import Loaded

if TYPE_CHECKING:  # what only some commands need is imported by them
    from recommender.engine.audit.checks.check import CheckReport
    from recommender.engine.audit.consequences import Compared, PackComparison
    from recommender.engine.audit.designed_briefs import Question
    from recommender.engine.audit.rule_coverage import RuleRoles
    from recommender.models.knowledge.coverage import Coverage
    from recommender.models.knowledge.rules_diff import Change, Reach
    from recommender.packs.findings import Kind
    from recommender.packs.known_names import KnownName
    from recommender.packs.written_rules.rule_conversion import Converted


@dataclass(frozen=True)
class Rules:
    """Examines the rules that are loaded, and others beside them."""

    loaded: Loaded
    briefs: Briefs

    def check(self, places: Sequence[str] = (), *, deep: bool = False) -> CheckReport:
        """Check all rules that are loaded and those of some places, drafts too; `deep` computes as well.

        Nothing that is wrong with a file stops it. Raises PackError for a place without a pack.
        """
        from recommender.engine.audit.checks.check import check

        registry, own = self.loaded.registry, own_packs() if self.loaded.own_packs else ()
        plugins = [stamped.item for stamped in registry.packs]
        given = named_packs(places)
        beside = [p for p in named_packs(self.loaded.packs) if p.resolve() not in {g.resolve() for g in given}]
        return check([*plugins, *own, *beside], given, registry, deep=deep)

    def questions(self, folder: str | None, sample: int) -> list[Question]:
        """The briefs of a folder, then at most `sample` designed ones. Raises InputError."""
        from recommender.engine.audit.designed_briefs import briefs_in, designed

        given = briefs_in(Path(folder)) if folder is not None else []
        return given + designed(self.loaded.knowledge, self.loaded.grinds, sample)

    def parts(self, question: Question) -> RuleRoles:
        """What every rule has to do with the answer to a brief, as it stands first. Raises InputError."""
        from recommender.engine.audit.rule_coverage import parts

        case = self.briefs.case(question.brief, question.name)
        return parts(case, next(answers(case)))

    def parts_of_all(
        self, questions: Iterable[Question], jobs: int = 1
    ) -> Generator[tuple[Question, RuleRoles], None, None]:
        """The same of many briefs, in their order and in several processes. Raises InputError."""
        return shared_out(self.loaded, questions, _roles, jobs)

    def coverage(self, found: Iterable[RuleRoles]) -> Coverage:
        """Which rules matter over all the answers that they had to do with."""
        from recommender.engine.audit.rule_coverage import coverage

        return coverage(self.loaded.knowledge, found)

    def comparison(self, old: str | None, new: str | None) -> PackComparison:
        """Two places of packs, each laid over what is loaded; None for that alone. Raises PackError."""
        from recommender.engine.audit.consequences import PackComparison

        def over(place: str | None) -> Knowledge:
            others = self.loaded if place is None else replace(self.loaded, packs=(*self.loaded.packs, place))
            return others.knowledge

        return PackComparison(over(old), over(new), self.loaded.registry)

    def consequences(
        self, questions: Iterable[Question], old: str | None, new: str | None, jobs: int = 1
    ) -> Generator[tuple[Question, Compared], None, None]:
        """What other packs make of briefs, in order. Raises PackError."""
        return shared_out(self.loaded, questions, partial(_consequences, old, new), jobs)

    def reaches(self, changes: Iterable[Change], compared: Iterable[Compared]) -> tuple[Reach, ...]:
        """How far every change reaches that can move a blade, over the briefs that were compared."""
        from recommender.engine.audit.consequences import reaches

        return reaches(changes, compared)

    def schema(self, kind: str) -> dict[str, Any]:
        """JSON Schema of a kind of file, with the names that are loaded."""
        from recommender.packs.schema import schema_of
        from recommender.packs.schema_names import with_names

        knowledge, metrics = self.loaded.knowledge, self.loaded.registry.metrics
        return with_names(
            schema_of(kind), knowledge, fields(knowledge, self.loaded.grinds, metrics), self.loaded.grinds, metrics
        )

    def pack_problems(self, pack: str) -> list[str]:
        """What is wrong with a loaded pack, by its id, beyond what loading it finds."""
        from recommender.engine.audit.pack_trial import pack_problems

        return list(pack_problems(pack, self.loaded.knowledge, partial(self.briefs.recommend, flips=False)))

    def convert(self, place: str) -> Converted:
        """Turn a pack of one rule a file, the form of 0.1, into topics. Raises PackError."""
        from recommender.packs.written_rules.rule_conversion import convert_pack

        return convert_pack(place)

    def called(self, name: str) -> list[KnownName]:
        """Every task, steel, gear, material, grind or metric that goes by a name."""
        from recommender.packs.known_names import called

        metrics = {id_: stamped.item for id_, stamped in self.loaded.registry.metrics.items()}
        return called(name, self.loaded.knowledge, self.loaded.grinds, metrics)

    def kinds_of_findings(self) -> Mapping[str, Kind]:
        """What `check` can find, by id."""
        from recommender.packs.findings import KINDS

        return KINDS

    def new_rule(
        self, id_: str, kind: str, pack: Path | None, topic: str | None = None, *, tasks: Sequence[str] = ()
    ) -> tuple[Path, Path]:
        """Write a draft of a rule into a pack, the user's own unless one is given: file and pack. Raises InputError."""
        from recommender.packs.written_rules.rule_scaffold import new_rule

        return new_rule(id_, kind, pack, topic, tasks=tasks)


def _roles(loaded: Loaded) -> Callable[[Question], RuleRoles]:
    """What tells the roles of rules in a brief's answer."""
    return Rules(loaded, Briefs(loaded)).parts


def _consequences(old: str | None, new: str | None, loaded: Loaded) -> Callable[[Question], Compared]:
    """What compares a brief's answers under two places of packs."""
    return Rules(loaded, Briefs(loaded)).comparison(old, new)
