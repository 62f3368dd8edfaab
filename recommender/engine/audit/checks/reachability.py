"""What only computing shows: goals that no blade comes near or that all have alike, limits that no blade passes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from functools import partial
from itertools import islice

import numpy as np

from recommender.engine.answer.recommend import surveyed
from recommender.engine.audit.checks.domains import Domains
from recommender.engine.audit.checks.probe import few
from recommender.engine.audit.checks.witness import brief_in, case_for, case_of
from recommender.engine.audit.designed_briefs import Question, designed
from recommender.engine.intake.case import Case
from recommender.engine.search.blade_form import choose, speaks_of_form
from recommender.engine.search.ranking import Field, bests_of
from recommender.engine.search.scoring import GoalScore
from recommender.errors import GeometryError, InputError
from recommender.geometry.arcs import Array
from recommender.packs.condition_boxes import Region, TooManyBoxesError
from recommender.packs.findings import RuleFinding
from recommender.packs.knowledge import LoadedRule

_DESIGNED = 120
"""Designed briefs among which those for a goal's tasks are sought, ..."""
_MOST_CONFIRMED = 8
"""... and how many of them a goal has to give alike in, before it is blamed."""
ALIKE = 0.01
"""Share of a goal by which what tells blades apart differs from blade to blade, at least."""
_Look = Callable[[Case], Iterable[Field]]


@dataclass
class _Seen:
    """What blades that were looked at get of a goal."""

    scores: list[GoalScore] = field(default_factory=list)
    most: float | None = None
    """0..1; None where the goal speaks of none of them."""
    least: float | None = None

    def add(self, score: GoalScore) -> None:
        """Take in what some blades get of it."""
        own = score.reached[score.weight > 0]
        if own.size:
            self.scores.append(score)
            self.most = max(float(own.max()), -np.inf if self.most is None else self.most)
            self.least = min(float(own.min()), np.inf if self.least is None else self.least)

    @property
    def gives(self) -> bool:
        """Whether some blade gets something."""
        return self.most is not None and self.most > 0

    @property
    def alike(self) -> bool:
        """Whether some blade gets something of it, and all within ALIKE of each other."""
        return self.most is not None and self.least is not None and self.most > 0 and self.most - self.least <= ALIKE

    @property
    def says(self) -> str:
        """What blades that get alike of it get."""
        assert self.most is not None
        assert self.least is not None
        if self.least >= 1:
            return "every blade gets all of it"
        return f"blades get from {100 * self.least:.3g} to {100 * self.most:.3g} % of it, no more apart"


def goals_in_vain(worlds: Domains) -> Iterator[RuleFinding]:
    """Goals of which no blade gets a point, or all blades alike, under a brief in which they speak.

    Some blades of each grind are looked at, a grind at a time, until one gets something of the goal and one much less.
    Only where none gets a point everything is surveyed; where all get alike, designed briefs for its tasks are asked.
    Goals on the form are never blamed for that: a light blade is light in every form.
    """
    every = [loaded for loaded in worlds.rules if loaded.rule.kind == "goal"]
    for settings, goals in _by_brief(every, worlds.fires, worlds).items():
        case = partial(case_of, settings, worlds)
        seen = _looked_at(case, goals, worlds, few)
        missing = [goal for goal in goals if not seen[goal.rule.id].gives]
        seen |= _looked_at(case, missing, worlds, surveyed)
        for goal in goals:
            found = seen[goal.rule.id]
            if found.most is None:
                says = f"{getattr(goal.rule.effect, 'metric', '')} is computed for no blade here"
                yield _finding("computed-nowhere", goal, says, "", settings)
            elif not found.gives:
                says = "no blade gets a point of it: its window lies beyond all that can be made"
                yield _finding("out-of-reach", goal, says, _best(goal, found.scores), settings)
            elif found.alike and not speaks_of_form(goal, worlds.registry) and (briefs := _alike_in(goal, worlds)):
                says = f"{found.says}; so in {briefs} briefs for its tasks: it tells no two apart"
                yield _finding("tells-nothing-apart", goal, says, "", settings)


def _by_brief(
    rules: Iterable[LoadedRule], region: Callable[[LoadedRule], Region], worlds: Domains
) -> dict[tuple[str, ...], list[LoadedRule]]:
    """Rules by the settings of a brief in the region of each in which they hold; those without one are left out."""
    by_brief: dict[tuple[str, ...], list[LoadedRule]] = defaultdict(list)
    for loaded in rules:
        with suppress(TooManyBoxesError):
            found = brief_in(region(loaded), worlds, [loaded])
            if found is not None:
                by_brief[found[0]].append(loaded)
    return by_brief


def _looked_at(
    case: Callable[[Iterable[LoadedRule]], Case],
    goals: Sequence[LoadedRule],
    worlds: Domains,
    look: _Look,
) -> dict[str, _Seen]:
    """What blades of a brief get of some goals, until each has given something, and to sections not alike.

    `case` is the brief under some rules.
    """
    seen = {goal.rule.id: _Seen() for goal in goals}
    of_form = [goal for goal in goals if speaks_of_form(goal, worlds.registry)]
    sections = [goal for goal in goals if goal not in of_form]
    # Sections are scored by the goals in question alone; whole blades are forms of the best by all rules.
    if sections:
        for scores in _of_sections(case(sections), look):
            _add(scores, seen, sections)
            if all(seen[goal.rule.id].gives and not seen[goal.rule.id].alike for goal in sections):
                break
    if of_form:
        for scores in _of_forms(case(worlds.rules), look):
            _add(scores, seen, of_form)
            if all(seen[goal.rule.id].gives for goal in of_form):
                break
    return seen


def _add(scores: list[GoalScore], seen: Mapping[str, _Seen], goals: Sequence[LoadedRule]) -> None:
    for score in scores:
        if score.rule in goals:
            seen[score.rule.rule.id].add(score)


def _of_sections(case: Case, look: _Look) -> Iterator[list[GoalScore]]:
    for found in look(case):
        if found.scores is not None:
            yield found.scores.goals


def _of_forms(case: Case, look: _Look) -> Iterator[list[GoalScore]]:
    for found in look(case):
        for best in bests_of([found], case):
            with suppress(GeometryError):
                yield choose(best, case).scores.goals


def _alike_in(goal: LoadedRule, worlds: Domains) -> int:
    """In how many designed briefs for its tasks all blades get alike of a goal; 0 where in one they do not."""
    asked = (q for q in _designed(worlds) if not goal.tasks or goal.tasks & set(q.brief.tasks or {}))
    briefs = 0
    for question in islice(asked, _MOST_CONFIRMED):
        with suppress(InputError):
            case = partial(case_for, question.brief, worlds)
            found = _looked_at(case, [goal], worlds, few)[goal.rule.id]
            if found.gives and not found.alike:
                return 0
            briefs += found.alike
    return briefs


def _designed(worlds: Domains) -> list[Question]:
    return designed(worlds.knowledge, worlds.registry.grinds, _DESIGNED)


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


def shut_everything_out(worlds: Domains) -> Iterator[RuleFinding]:
    """Limits that no blade passes under a brief in which they hold, with most of the work for their tasks.

    Some blades of each grind first; only where none of them passes is everything surveyed.
    """

    def kept(loaded: LoadedRule) -> Region:
        # A brief that a limit on briefs refuses is refused on purpose.
        return worlds.fires(loaded) & worlds.kept_by_brief(loaded)

    limits = [r for r in worlds.rules if r.rule.kind == "limit" and not speaks_of_form(r, worlds.registry)]
    for settings, left in _by_brief(limits, kept, worlds).items():
        case = case_of(settings, worlds, left)
        for fields in (few, surveyed):
            surveys = list(fields(case)) if left else []
            left = [loaded for loaded in left if _none_passes(loaded, surveys)]
        for loaded in left:
            asked = " and ".join(sorted(loaded.tasks))
            says = f"no blade passes it where {asked} is the work" if asked else "no blade passes it"
            yield RuleFinding("shuts-everything-out", (loaded.rule.id,), loaded.file, says, "", settings)


def _none_passes(loaded: LoadedRule, fields: Iterable[Field]) -> bool:
    """Whether a limit shuts out all blades that can be made, of which there are some."""
    made = [field.scores for field in fields if field.scores is not None]
    own = [[limit.broken.all() for limit in scores.limits if limit.rule is loaded] for scores in made]
    return bool(made) and all(broken and broken[0] for broken in own)


def _best(loaded: LoadedRule, scores: Sequence[GoalScore]) -> str:
    assert loaded.rule.kind == "goal"
    effect = loaded.rule.effect
    values: Array = np.concatenate([(s.value if s.of_usual is None else s.of_usual)[s.weight > 0] for s in scores])
    known = values[~np.isnan(values)]
    runs = f"runs from {known.min():.3g} to {known.max():.3g}" if known.size else "is reached by none"
    of = " of the usual blade's" if effect.of_usual else ""
    return f"{effect.metric} {runs}{of}; the goal begins at {effect.from_:g}"


def _finding(id_: str, loaded: LoadedRule, says: str, proof: str, settings: tuple[str, ...]) -> RuleFinding:
    return RuleFinding(id_, (loaded.rule.id,), loaded.file, says, proof, settings)
