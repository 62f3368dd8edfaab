"""From a box to a brief that lies in it, as `--set` takes it: what is claimed of a brief can be asked."""

from __future__ import annotations

import dataclasses
from collections.abc import Container, Iterable, Iterator, Sequence
from itertools import islice, product
from typing import Any

from recommender.engine.audit.checks.domains import Domains, of_brief
from recommender.engine.intake.brief_text import with_settings
from recommender.engine.intake.case import Case
from recommender.engine.intake.conditions import fires, ruled_out
from recommender.engine.intake.resolve import resolve
from recommender.errors import InputError
from recommender.models.brief import Brief
from recommender.models.knowledge.rule import fields_of
from recommender.packs.condition_boxes import FactBox, Region
from recommender.packs.facts import BRIEF, FACTS
from recommender.packs.knowledge import LoadedRule

_MOST_BRIEFS = 300
_MOST_BOXES = 8
BESIDE = 0.2
"""Of what a limit is on: what another task has that stands beside it, enough for its cautions to hold."""
_TOGETHER = ("brief.tasks", "brief.owner.gear", "brief.steel.grade", "brief.steel.hardness_hrc")
"""Stated together with facts that follow from them; a brief states its other fields as they are."""


def brief_in(
    region: Region, worlds: Domains, fire: Sequence[LoadedRule], silent: Sequence[LoadedRule] = ()
) -> tuple[tuple[str, ...], FactBox] | None:
    """Settings of a brief in a region, with the box it lies in: it is asked, and the rules looked at.

    Those that fire must do so, or for some blades may; those that are silent must be so whatever the blade. Tasks of
    limits have most of the work: below half of it nothing is shut out. None where no such brief is found: nothing is
    then claimed.
    """
    limited = frozenset[str]().union(*(r.tasks for r in fire if r.rule.kind == "limit"))
    for box in islice(region, _MOST_BOXES):
        for settings in islice(_briefs(box, worlds, limited), _MOST_BRIEFS):
            case = _case(settings, worlds)
            if case is not None and all(_may_fire(r, case) for r in fire) and not any(_fires(r, case) for r in silent):
                return settings, box
    return None


def case_of(settings: Sequence[str], worlds: Domains, rules: Iterable[LoadedRule] = ()) -> Case:
    """A brief made of settings alone, under some rules alone. Raises InputError."""
    return case_for(with_settings(Brief(), settings), worlds, rules)


def case_for(brief: Brief, worlds: Domains, rules: Iterable[LoadedRule] = ()) -> Case:
    """A brief under some rules alone. Raises InputError."""
    knowledge = dataclasses.replace(worlds.knowledge, rules={loaded.rule.id: loaded for loaded in rules})
    return Case.of(resolve(brief, knowledge, worlds.registry.grinds, "--set"), knowledge, worlds.registry)


def _case(settings: Sequence[str], worlds: Domains) -> Case | None:
    try:
        return case_of(settings, worlds)
    except InputError:
        return None


def _facts(loaded: LoadedRule, case: Case) -> Any:
    facts = case.rules.facts if loaded.rule.kind in ("goal", "lean", "limit") else case.rules.weighty_facts
    return facts.get


def _fires(loaded: LoadedRule, case: Case) -> bool:
    return bool(fires(loaded.rule.when, _facts(loaded, case)))


def _may_fire(loaded: LoadedRule, case: Case) -> bool:
    when = loaded.rule.when
    if all(of_brief(field) for field in fields_of(when)):
        return _fires(loaded, case)
    return not ruled_out(when, _facts(loaded, case))


def _briefs(box: FactBox, worlds: Domains, limited: Container[str]) -> Iterator[tuple[str, ...]]:
    """Briefs that may lie in a box, the plainest first."""
    knowledge = worlds.knowledge
    choices = [_tasks(box, knowledge.tasks, limited), _gear(box, knowledge.gear), _steel(box, worlds)]
    for fact in BRIEF:
        if fact.name not in _TOGETHER and (known := _known(box, fact.name)):
            choices.append([(f"{fact.key}={_shown(known[0])}",)])
    for name, fact in FACTS.items():
        if fact.brought_about_by and name in box.fields:
            choices.append([(setting,) for setting in fact.brought_about_by])
    for parts in product(*choices):
        yield tuple(setting for part in parts for setting in part)


def _tasks(box: FactBox, known: Iterable[str], limited: Container[str]) -> list[tuple[str, ...]]:
    asked, without = box.members("brief.tasks")
    others = [task for task in known if task not in asked | without]
    sets: list[list[str]] = [sorted(asked)] if asked else [[], *([task] for task in others)]
    if box.fields & {"derived.task_count", "derived.task_strife"}:
        sets += [[*sorted(asked), *others[:n]] for n in range(1, len(others) + 1)]
    return [tuple(_shares(tasks, limited)) for tasks in sets]


def _shares(tasks: Sequence[str], limited: Container[str]) -> Iterator[str]:
    beside = any(task in limited for task in tasks)
    for task in tasks:
        yield f"tasks.{task}={BESIDE if beside and task not in limited else 1}"


def _gear(box: FactBox, known: Iterable[str]) -> list[tuple[str, ...]]:
    asked, without = box.members("brief.owner.gear")
    if not box.fields & {"brief.owner.gear", "derived.gear_fixed_angle_deg"}:
        return [()]
    sets = [sorted(asked)] if asked else []
    sets += [sorted({*asked, gear}) for gear in known if gear not in without]
    return [(f"owner.gear={','.join(gear)}",) for gear in sets]


def _steel(box: FactBox, worlds: Domains) -> list[tuple[str, ...]]:
    stated = _known(box, "brief.steel.hardness_hrc")
    over, under = (_known(box, f"derived.hardness_{side}_range_hrc") for side in ("over", "under"))
    if "brief.steel.grade" not in box.fields and not over and not under:
        return [(f"steel.hardness_hrc={hrc:g}",) for hrc in stated] or [()]
    found: list[tuple[str, ...]] = []
    for grade in _known(box, "brief.steel.grade") or worlds.knowledge.steels:
        usual = worlds.knowledge.steels[grade].hardness
        hardness = [*stated, *(usual.high_hrc + by for by in over), *(usual.low_hrc - by for by in under)]
        states: list[tuple[str, ...]] = [(f"steel.hardness_hrc={hrc:g}",) for hrc in hardness] or [()]
        found += [(f"steel.grade={grade}", *state) for state in states]
    return found


def _known(box: FactBox, field: str) -> list[Any]:
    """What a box allows of a field that it says something of, where it is known."""
    return [value for value in box.allowed(field) if value is not None] if field in box.fields else []


def _shown(value: Any) -> str:
    return str(value).lower() if isinstance(value, bool) else f"{value:g}" if isinstance(value, float) else str(value)
