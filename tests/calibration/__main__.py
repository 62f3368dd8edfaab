"""The command: `python -m tests.calibration`, whether chances and bands hold.

`worlds`: over worlds whose numbers are drawn. `makers`: beside what makers expected of the shipped scenarios.
"""

from __future__ import annotations

import argparse
import tomllib
from collections.abc import Callable, Sequence
from pathlib import Path

from recommender.models.answer.proposal import Answer
from recommender.models.brief import Brief
from recommender.service import Service, with_settings

from .makers import against_makers
from .tally import Tally, named_grinds
from .worlds import best_points, figures, world

BRIEFS = Path(__file__).parents[1] / "comparison" / "briefs.toml"


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command; gives the exit code."""
    parser = argparse.ArgumentParser(prog="python -m tests.calibration", description=__doc__)
    parser.add_argument("what", choices=["worlds", "makers"])
    parser.add_argument("--briefs", type=int, default=25, help="briefs without a wish, spread over those there are")
    parser.add_argument("--worlds", type=int, default=8, help="worlds a brief")
    args = parser.parse_args(argv)
    if args.what == "makers":
        print("\n".join(against_makers()))
        return 0
    tally = over_worlds(args.briefs, args.worlds, lambda line: print(line, flush=True))
    print("\n".join(["", *tally.reliability(), "", f"Brier score {tally.brier():.3f}.", *tally.coverage()]))
    return 0


def over_worlds(briefs: int, worlds: int, tell: Callable[[str], None] = lambda _: None) -> Tally:
    """Answer briefs by the likely numbers, and see in worlds of other numbers what came true; `tell` a line a brief."""
    service, tally = Service(), Tally()
    for k, brief in enumerate(_open_briefs(briefs)):
        answer = _as_sure(service, brief)
        if answer.proposal is None or answer.confidence is None:
            continue
        named = named_grinds(answer)
        chance = sum(answer.confidence.wins.get(grind, 0.0) for grind in named)
        told = len(tally.stated)
        for seed in range(worlds):
            case = world(service, brief, 1000 * k + seed)
            points = best_points(case)
            if not points:
                continue
            best = max(points, key=lambda grind: points[grind])
            tally.stated.append((chance, best in named))
            found = figures(case, answer.proposal)
            for name, metric in answer.metrics.items():
                if name in found and metric.low is not None and metric.high is not None and metric.high > metric.low:
                    tally.covered[name].append(metric.low - 1e-6 <= found[name] <= metric.high + 1e-6)
        came = [true for _, true in tally.stated[told:]]
        tell(f"{', '.join(answer.brief.tasks)}: {' or '.join(sorted(named))} {chance:.2f}, {sum(came)} of {len(came)}")
    return tally


def _as_sure(service: Service, brief: Brief) -> Answer:
    steps = service.answers(brief)
    first = next(steps)
    return next(steps, first)


def _open_briefs(count: int) -> list[Brief]:
    sections = tomllib.loads(BRIEFS.read_text(encoding="utf-8"))
    told = [
        t for name in ("designed", "by-hand") for t in sections[name].values() if not any("wishes." in s for s in t)
    ]
    step = max(len(told) // count, 1)
    return [with_settings(Brief(), settings) for settings in told[::step][:count]]


if __name__ == "__main__":
    raise SystemExit(main())
