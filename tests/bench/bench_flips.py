"""How often the quick search behind `flips` agrees with a full search, change by change, over the scenarios.

Run: python tests/bench/bench_flips.py [every Nth change, 5 if not given] [scenario ...]
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np

from recommender.engine.answer.recommend import surveyed
from recommender.engine.intake.case import Case
from recommender.engine.search.ranking import TIE_POINTS, bests_of
from recommender.engine.sensitivity.brief_batch import BriefBatch
from recommender.engine.sensitivity.counterfactuals import FLIP_POINTS, best_points
from recommender.engine.sensitivity.perturbations import perturbations
from recommender.service import Service, read_brief

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"


def main(every: int, names: list[str]) -> None:
    """Print agreement by scenario: the same verdict (holds or flips), or one within TIE_POINTS of the other."""
    service = Service(own_packs=False, own_shop=False)
    all_tried = all_same = all_near = 0
    for path in sorted(SCENARIOS.glob("*.toml")):
        if path.name.endswith(".expected.toml") or (names and path.stem not in names):
            continue
        case = service.briefs.case(read_brief(path.read_bytes(), path.name))
        fields = surveyed(case)
        bests = sorted(bests_of(fields, case), key=lambda b: -b.points)
        if not bests or case.resolved.brief.wishes.grind:
            continue
        winner = bests[0].grind.item.id
        changes = perturbations(case, float(bests[0].measured.designs["stock_thickness_mm"][0]))
        variants = BriefBatch(case, [c.resolved for c in changes])
        ids = [g.item.id for g in variants.grinds]
        start = time.perf_counter()
        quick = best_points(fields, bests, changes, variants)
        took = time.perf_counter() - start
        tried = same = near = 0
        for i in range(0, len(changes), every):
            changed = Case(changes[i].resolved, case.knowledge, case.registry)
            full = {b.grind.item.id: b.points for b in bests_of(surveyed(changed), changed)}
            row = np.array([full.get(name, -np.inf) for name in ids])
            verdicts = []
            leads = []
            for points in (quick[i], row):
                lead = points.max() - points[ids.index(winner)] if np.isfinite(points.max()) else np.inf
                leads.append(lead)
                verdicts.append(bool(lead > FLIP_POINTS))
            tried += 1
            agrees = verdicts[0] == verdicts[1]
            same += agrees
            near += agrees or abs(leads[0] - leads[1]) <= 2 * TIE_POINTS
            if not agrees:
                print(
                    f"    {path.stem}: {changes[i].words}: quick {leads[0]:+.2f} {ids[int(quick[i].argmax())]}, "
                    f"full {leads[1]:+.2f} {ids[int(row.argmax())]}"
                )
        print(f"{path.stem}: {same}/{tried} the same, {near} within {2 * TIE_POINTS} points; {took:.2f} s", flush=True)
        all_tried, all_same, all_near = all_tried + tried, all_same + same, all_near + near
    print(f"all: {all_same}/{all_tried} the same ({all_same / all_tried:.1%}), {all_near / all_tried:.1%} within a tie")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5, sys.argv[2:])
