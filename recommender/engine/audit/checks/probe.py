"""A few blades of each grind, on which is seen whether rules do what their conditions seem to allow."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from recommender.engine.intake.case import Case
from recommender.engine.intake.conditions import fires
from recommender.engine.search.candidate_facts import CandidateFacts
from recommender.engine.search.measuring import Measured
from recommender.engine.search.ranking import Field, survey
from recommender.engine.search.scoring import Scores
from recommender.packs.knowledge import LoadedRule

LOOKED_AT = 60
"""Designs of each grind."""


@dataclass(frozen=True)
class ExcludedBlades:
    """How many blades limits shut out where all of them fire, and how many pass."""

    out: int
    passed: int


def shut_out_by(case: Case, limits: Sequence[LoadedRule]) -> ExcludedBlades:
    """What limits do to a few blades of each grind; a limit whose value has no meaning for a blade lets it pass."""
    out = passed = 0
    for measured, scores in looked_at(case):
        every = np.ones(len(measured), dtype=bool)
        for loaded in limits:
            every &= fires(loaded.rule.when, CandidateFacts(case.rules.facts, measured, loaded.tasks))
        broken = scores.broken_count > 0
        out += int((every & broken).sum())
        passed += int((~broken).sum())
    return ExcludedBlades(out, passed)


@dataclass(frozen=True)
class Leaning:
    """The blade of some to which leans give, or of which they take, the most."""

    points: float
    rules: tuple[LoadedRule, ...]
    grind: str


def most_leaning(case: Case, sign: float) -> Leaning:
    """The blade, of a few of each grind, for which (1) or against which (-1) leans add up to the most."""
    most = Leaning(0.0, (), "")
    for measured, scores in looked_at(case):
        total = sum((lean.points for lean in scores.leans), np.zeros(scores.n))
        row = int(np.argmax(sign * total))
        if sign * total[row] > sign * most.points:
            rules = tuple(lean.rule for lean in scores.leans if lean.points[row])
            most = Leaning(float(total[row]), rules, measured.grind.item.label)
    return most


def looked_at(case: Case) -> Iterator[tuple[Measured, Scores]]:
    """A few blades of each grind that can be made, measured and scored."""
    for field in few(case):
        if field.measured is not None and field.scores is not None:
            yield field.measured, field.scores


def few(case: Case) -> Iterator[Field]:
    """A small survey of every grind, each made when it is asked for."""
    return (field for grind in case.registry.grinds.values() for field in survey([grind], case, LOOKED_AT))
