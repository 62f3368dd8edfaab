"""All checks of all rules: packs are read through, laid over each other, and everything sound is analysed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from importlib.resources.abc import Traversable
from itertools import chain

from recommender.engine.audit.checks.domains import Domains
from recommender.engine.audit.checks.doubts import doubts
from recommender.engine.audit.checks.reachability import goals_in_vain, shut_everything_out, without_answer
from recommender.engine.audit.checks.rule_pairs import together
from recommender.engine.audit.checks.rulebook import clipped, unspoken
from recommender.engine.audit.checks.single_rule import alone
from recommender.engine.audit.checks.usual_blades import usual_blades
from recommender.errors import PackError
from recommender.packs.cross_checks import (
    everyday_words,
    rule_problems,
    table_problems,
    usual_goal_problems,
    usual_grind_problems,
)
from recommender.packs.fields import fields
from recommender.packs.findings import RuleFinding
from recommender.packs.knowledge import Knowledge
from recommender.packs.known_names import meant_at
from recommender.packs.load import Reading, lay, read_through
from recommender.plugin.registry import Registry
from recommender.text import nearest

_TELL_ENOUGH = frozenset({"never-fires", "nothing-passes"})
"""Findings beside which doubts about the same rule say nothing more."""


@dataclass(frozen=True)
class CheckReport:
    """What was looked at, and what was found, by file."""

    rules: int
    packs: tuple[str, ...]
    deep: bool
    findings: tuple[RuleFinding, ...]

    @property
    def passed(self) -> bool:
        """Whether nothing is wrong: warnings may be there."""
        return not any(finding.level == "error" for finding in self.findings)


def check(
    loaded: Iterable[Traversable], given: Iterable[Traversable], registry: Registry, *, deep: bool = False
) -> CheckReport:
    """Check the rules of packs, the later over the earlier; of those given, drafts too.

    A pack that is given stands in the place of a loaded one of the same id: it may be a copy that is being worked on.
    """
    unreadable: list[PackError] = []
    readings = _readings(loaded, given, unreadable)
    knowledge = Knowledge()
    misfits = [*lay((reading.pack for reading in readings), knowledge), *table_problems(knowledge)]
    unread = frozenset().union(*(reading.unread for reading in readings)) | _set_aside(knowledge)
    worlds = _sound(knowledge, registry, misfits)
    # One defect is told once: whoever names what cannot be read has it right.
    misfits = [problem for problem in misfits if problem.given not in unread]
    _name_nearest([*unreadable, *misfits], knowledge, registry)
    findings = [*(_located("cannot-be-read", p) for p in unreadable), *(_located("does-not-fit", p) for p in misfits)]
    if _can_be_asked(knowledge):
        findings += chain.from_iterable(alone(loaded, worlds) for loaded in worlds.rules)
        findings += chain.from_iterable(part(worlds) for part in (together, clipped, unspoken, usual_blades))
        broken = {f.rules for f in findings if f.id in _TELL_ENOUGH}
        findings += (doubt for doubt in doubts(worlds) if doubt.rules not in broken)
        if deep:
            findings += chain(goals_in_vain(worlds), without_answer(worlds))
            told = {id_ for f in findings if f.id in ("nothing-passes", "no-answer") for id_ in f.rules}
            findings += (f for f in shut_everything_out(worlds) if told.isdisjoint(f.rules))
    packs = tuple(pack.id for pack in knowledge.packs)
    return CheckReport(
        len(knowledge.rules), packs, deep, tuple(sorted(findings, key=lambda f: (f.file, f.id, f.rules)))
    )


def _readings(loaded: Iterable[Traversable], given: Iterable[Traversable], problems: list[PackError]) -> list[Reading]:
    own = [_with_drafts(read_through(folder, problems.extend)) for folder in given]
    before = []
    for folder in loaded:
        noted: list[PackError] = []
        reading = read_through(folder, noted.extend)
        if reading.pack.info.id not in {mine.pack.info.id for mine in own}:
            before.append(reading)
            problems += noted
    return [*before, *own]


def _with_drafts(reading: Reading) -> Reading:
    return replace(reading, pack=replace(reading.pack, rules=(*reading.pack.rules, *reading.drafts)))


def _set_aside(knowledge: Knowledge) -> set[str]:
    """Take out tasks of which the material is not known; gives their names."""
    gone = {task.id for task in knowledge.tasks.values() if task.material not in knowledge.materials}
    for id_ in gone:
        del knowledge.tasks[id_]
    return gone


def _sound(knowledge: Knowledge, registry: Registry, problems: list[PackError]) -> Domains:
    """The rules that fit what there is; the problems of the others are added."""
    known = fields(knowledge, registry.grinds, registry.metrics)
    words = everyday_words(knowledge)
    sound = []
    problems += usual_grind_problems(knowledge, known)
    for loaded in knowledge.rules.values():
        found = [*rule_problems(loaded, known, words), *usual_goal_problems(loaded, knowledge)]
        problems += found
        if not found:
            sound.append(loaded)
    return Domains(knowledge, registry, tuple(sound))


def _name_nearest(problems: Iterable[PackError], knowledge: Knowledge, registry: Registry) -> None:
    """Tell the ids of what somebody named by its label, or by whatever else it is called."""
    grinds = {id_: stamped.item for id_, stamped in registry.grinds.items()}
    metrics = {id_: stamped.item for id_, stamped in registry.metrics.items()}
    for problem in problems:
        keys = [part for part in (problem.key or "").split(".") if not part.isdigit()]
        meant = keys and problem.given and meant_at(keys[-1], problem.given, knowledge, grinds, metrics)
        if not meant and problem.given and keys[-1:] in (["task"], ["tasks"]):
            meant = nearest(problem.given, knowledge.tasks)
        if meant:
            problem.nearest = meant
            problem.located(problem.rule, problem.key)


def _can_be_asked(knowledge: Knowledge) -> bool:
    """Whether enough is there to answer any brief at all."""
    stated = any(pack.defaults for pack in knowledge.packs)
    return stated and bool(knowledge.steels) and knowledge.defaults.task in knowledge.tasks


def _located(kind: str, problem: PackError) -> RuleFinding:
    file = problem.file or "pack.toml"
    details = {"key": problem.key, "expected": problem.expected, "nearest": problem.nearest}
    says = str(problem).removeprefix(f"{problem.file}: ").removeprefix(f"{problem.rule}: ")
    rules = (problem.rule,) if problem.rule else ()
    return RuleFinding(kind, rules, file, says, details={k: v for k, v in details.items() if v is not None})
