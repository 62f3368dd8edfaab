"""The engine's own search of a grind under a changed brief, for many changes side by side.

Designs that were kept for the brief as it is may all be shut out under a change where others of the same grind are not.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from recommender.engine.intake.case import Case
from recommender.engine.search.ranking import (
    NEAR,
    ROUNDS,
    TIE_POINTS,
    around,
    joined_designs,
    other_apex,
    snapped,
    starts,
    survey,
    takes_micro_bevel,
)
from recommender.engine.search.scoring import BROKEN_POINTS
from recommender.engine.sensitivity.brief_batch import BriefBatch, Index
from recommender.engine.sensitivity.walks import LANES, Pair, Walks
from recommender.geometry.arcs import Array
from recommender.plugin.api import Designs

SEARCHED = 2000
"""Designs tried of a grind under a change."""


def searched(pairs: Iterable[tuple[int, int]], briefs: BriefBatch) -> Array:
    """The points of grinds under briefs, (briefs, grinds), for pairs (brief, grind) by index.

    -inf where nothing passes, and for other pairs. Each as `bests_of` finds it: the best few of a survey at shop steps,
    else those beside them, a walk uphill, and another with or without a micro-bevel where that gains.
    """
    walks = Walks(briefs)
    found: dict[Pair, Designs] = {}
    of_brief: dict[int, list[int]] = {}
    for i, k in pairs:
        of_brief.setdefault(i, []).append(k)
    for i, those in of_brief.items():
        case = Case(briefs.briefs[i], briefs.case.knowledge, briefs.case.registry)
        for k, field in zip(those, survey([briefs.grinds[k] for k in those], case, SEARCHED), strict=True):
            first = starts(field)
            if first is not None:
                found[k, LANES * i] = first
    near = {
        pair: snapped(briefs.grinds[pair[0]].item, some, briefs.briefs[pair[1] // LANES])
        for pair, some in found.items()
    }
    walks.try_out(_batches(near))
    missed = [pair for pair in found if pair not in walks.best or walks.best[pair][0] < -BROKEN_POINTS / 2]
    beside = {
        (k, lane): around(briefs.grinds[k].item, found[k, lane], briefs.briefs[lane // LANES], NEAR)
        for k, lane in missed
    }
    walks.try_out(_batches(beside))
    walks.climb(found, ROUNDS)
    case = briefs.case
    apt = [pair for pair in walks.best if takes_micro_bevel(briefs.grinds[pair[0]].item, case.resolved)]
    gained = walks.try_out(_batches({pair: other_apex(walks.best[pair][1]) for pair in apt}), by=TIE_POINTS)
    walks.climb(gained, ROUNDS)
    return walks.allowed()


def _batches(designs: dict[Pair, Designs]) -> dict[int, tuple[Designs, Index]]:
    of_grind: dict[int, list[tuple[int, Designs]]] = {}
    for (k, lane), some in designs.items():
        of_grind.setdefault(k, []).append((lane, some))
    return {
        k: (
            joined_designs([some for _, some in parts]),
            np.repeat([lane for lane, _ in parts], [len(some) for _, some in parts]),
        )
        for k, parts in of_grind.items()
    }
