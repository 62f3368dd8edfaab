"""Walks uphill in shop steps, many side by side: each under a brief of its own, all of a round in one batch."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np

from recommender.engine.search.ranking import REACH, around, joined_designs
from recommender.engine.search.scoring import BROKEN_POINTS
from recommender.engine.sensitivity.brief_batch import BriefBatch, Index
from recommender.geometry.arcs import Array
from recommender.plugin.api import Designs

LANES = 2
"""Walks that a grind may have under each brief: lane LANES x brief, and the one after."""
WORTH_POINTS = 0.02
"""A step that gains less ends a walk."""
Pair = tuple[int, int]
"""The index of a grind, and a lane."""
Batches = Mapping[int, tuple[Designs, Index]]
"""The index of a grind -> designs (n,), and the lane of each (n,)."""


class Walks:
    """The best design found in each lane of each grind."""

    def __init__(self, briefs: BriefBatch) -> None:
        self.briefs = briefs
        self.best: dict[Pair, tuple[float, Designs]] = {}
        """Points, less BROKEN_POINTS for every limit broken, and the design."""

    def try_out(self, batches: Batches, *, by: float = 0.0) -> set[Pair]:
        """Score designs; the best of each lane takes its place where it gains points, at least `by`: in which lanes."""
        made, points = self.briefs.points({k: (designs, lane // LANES) for k, (designs, lane) in batches.items()})
        gained = set()
        for k, values in points.items():
            lane = batches[k][1]
            order = np.lexsort((-values, lane))
            first = order[np.unique(lane[order], return_index=True)[1]]
            for row in first:
                pair = (k, int(lane[row]))
                if np.isfinite(values[row]) and (pair not in self.best or values[row] > self.best[pair][0] + by):
                    self.best[pair] = float(values[row]), made[k].taking(np.array([row]))
                    gained.add(pair)
        return gained

    def climb(self, pairs: Iterable[Pair], rounds: int) -> None:
        """Walk from the best of each pair along one or two knobs at a time, so many rounds, while it is worth it."""
        walking = [pair for pair in pairs if pair in self.best]
        for _ in range(rounds):
            if not walking:
                break
            before = {pair: self.best[pair][0] for pair in walking}
            self.try_out(self._neighbours(walking))
            walking = [pair for pair in walking if self.best[pair][0] > before[pair] + WORTH_POINTS]

    def table(self) -> Array:
        """The points of each grind under each brief, (briefs, grinds); -inf where nothing was found."""
        out = np.full((len(self.briefs.briefs), len(self.briefs.grinds)), -np.inf)
        for (k, lane), (points, _) in self.best.items():
            out[lane // LANES, k] = max(points, out[lane // LANES, k])
        return out

    def allowed(self) -> Array:
        """The same where no limit is broken, -inf elsewhere."""
        table = self.table()
        return np.where(table > -BROKEN_POINTS / 2, table, -np.inf)

    def _neighbours(self, pairs: Iterable[Pair]) -> dict[int, tuple[Designs, Index]]:
        lanes: dict[int, list[int]] = {}
        for k, lane in pairs:
            lanes.setdefault(k, []).append(lane)
        out = {}
        for k in sorted(lanes):
            mine = np.array(lanes[k])
            at = joined_designs([self.best[k, lane][1] for lane in lanes[k]])
            low, high = (values[mine // LANES] for values in self.briefs.stock_range_mm(k))
            moved = around(self.briefs.grinds[k].item, at, self.briefs.case.resolved, REACH, (low, high))
            out[k] = moved, np.tile(mine, len(moved) // len(mine))
        return out
