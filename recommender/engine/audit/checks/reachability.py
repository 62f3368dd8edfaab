"""What only computing shows: goals that no blade comes near."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from contextlib import suppress

import numpy as np

from recommender.engine.answer.recommend import surveyed
from recommender.engine.audit.checks.domains import Domains
from recommender.engine.audit.checks.probe import few
from recommender.engine.audit.checks.witness import brief_in, case_of
from recommender.engine.intake.case import Case
from recommender.engine.search.blade_form import choose, speaks_of_form
from recommender.engine.search.ranking import Field, bests_of
from recommender.engine.search.scoring import GoalScore
from recommender.errors import GeometryError
from recommender.packs.condition_boxes import TooManyBoxesError
from recommender.packs.findings import RuleFinding
from recommender.packs.knowledge import LoadedRule


def out_of_reach(worlds: Domains) -> Iterator[RuleFinding]:
    """Goals of which no blade gets a point under a brief in which they speak.

    Some blades of each grind are looked at first; only where none of them gets a point is everything surveyed.
    """
    by_brief: dict[tuple[str, ...], list[LoadedRule]] = defaultdict(list)
    for loaded in worlds.rules:
        if loaded.rule.kind == "goal":
            with suppress(TooManyBoxesError):
                found = brief_in(worlds.fires(loaded), worlds, [loaded])
                if found is not None:
                    by_brief[found[0]].append(loaded)
    for settings, left in by_brief.items():
        case = case_of(settings, worlds, worlds.rules)
        formed = any(speaks_of_form(loaded, worlds.registry) for loaded in left)
        every: list[GoalScore] = []
        for fields in (few, surveyed):
            every = list(_goals(fields(case), case, formed)) if left else every
            left = [loaded for loaded in left if (_most(loaded, every) or 0.0) <= 0]
        for loaded in left:
            if _most(loaded, every) is None:
                says = f"{getattr(loaded.rule.effect, 'metric', '')} is computed for no blade here"
                yield RuleFinding("computed-nowhere", (loaded.rule.id,), loaded.file, says, "", settings)
            else:
                says = "no blade gets a point of it: its window lies beyond all that can be made"
                yield RuleFinding("out-of-reach", (loaded.rule.id,), loaded.file, says, _best(loaded, every), settings)


def without_answer(worlds: Domains) -> Iterator[RuleFinding]:
    """Tasks for which, asked for alone, nothing passes: some blades of each grind first, then all."""
    for task in worlds.knowledge.tasks:
        settings = (f"tasks.{task}=1",)
        case = case_of(settings, worlds, worlds.rules)
        if any(field.feasible for field in few(case)):
            continue
        fields = surveyed(case)
        if any(field.feasible for field in fields):
            continue
        limits = {s.rule.rule.id: s.rule for f in fields if f.scores for s in f.scores.limits if s.broken.all()}
        own = list(limits.values())
        file = own[-1].file if own else f"tables/tasks/{task}.toml"
        named = f": {', '.join(limits)} shuts out everything" if limits else ""
        yield RuleFinding("no-answer", tuple(limits), file, f"nothing fits {task}{named}", "", settings)


def always_full(worlds: Domains) -> Iterator[RuleFinding]:
    """Goals of a single task of which every blade gets everything."""
    for task in worlds.knowledge.tasks:
        settings = (f"tasks.{task}=1",)
        case = case_of(settings, worlds, worlds.rules)
        scores = [g for field in few(case) if field.scores is not None for g in field.scores.goals]
        by_rule: dict[str, list[GoalScore]] = defaultdict(list)
        for goal in scores:
            if goal.rule.tasks == {task} and not speaks_of_form(goal.rule, case.registry):
                by_rule[goal.rule.rule.id].append(goal)
        for id_, found in by_rule.items():
            reached = np.concatenate([g.reached[g.weight > 0] for g in found])
            if reached.size and float(reached.min()) == 1.0:
                says = "every blade gets all of it: it tells no two apart"
                yield RuleFinding("tells-nothing-apart", (id_,), found[0].rule.file, says, "", settings)


def _goals(fields: list[Field], case: Case, formed: bool) -> Iterator[GoalScore]:
    """Goals over sections, and where forms matter over the best of each grind in every form."""
    for field in fields:
        if field.scores is not None:
            yield from (g for g in field.scores.goals if not speaks_of_form(g.rule, case.registry))
    for best in bests_of(fields, case) if formed else ():
        with suppress(GeometryError):
            yield from choose(best, case).scores.goals


def _most(loaded: LoadedRule, scores: Iterable[GoalScore]) -> float | None:
    """The most that a blade gets of a goal, 0..1; None where it speaks of none."""
    own = [s.reached[s.weight > 0] for s in scores if s.rule.rule.id == loaded.rule.id]
    return max((float(reached.max()) for reached in own if reached.size), default=None)


def _best(loaded: LoadedRule, scores: Iterable[GoalScore]) -> str:
    assert loaded.rule.kind == "goal"
    effect = loaded.rule.effect
    own = [s for s in scores if s.rule.rule.id == loaded.rule.id]
    values = np.concatenate([(s.value if s.of_usual is None else s.of_usual)[s.weight > 0] for s in own])
    known = values[~np.isnan(values)]
    runs = f"runs from {known.min():.3g} to {known.max():.3g}" if known.size else "is reached by none"
    of = " of the usual blade's" if effect.of_usual else ""
    return f"{effect.metric} {runs}{of}; the goal begins at {effect.from_:g}"
