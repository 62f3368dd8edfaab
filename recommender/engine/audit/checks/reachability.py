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
            left = [loaded for loaded in left if not _most(loaded, every)]
        for loaded in left:
            if _most(loaded, every) is not None:
                says = "no blade gets a point of it: its window lies beyond all that can be made"
                yield RuleFinding("out-of-reach", (loaded.rule.id,), loaded.file, says, _best(loaded, every), settings)


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
    values = np.concatenate([s.value[s.weight > 0] for s in scores if s.rule.rule.id == loaded.rule.id])
    known = values[~np.isnan(values)]
    runs = f"runs from {known.min():.3g} to {known.max():.3g}" if known.size else "is reached by none"
    return f"{effect.metric} {runs}; the goal begins at {effect.from_:g}"
