"""The command: `python -m tests.calibration worlds`, whether chances and bands hold over drawn worlds."""

from __future__ import annotations

import argparse
import tomllib
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

from recommender.models.answer.proposal import EQUAL_POINTS, Answer
from recommender.models.brief import Brief
from recommender.service import Service, with_settings

from .worlds import best_points, figures, world

BRIEFS = Path(__file__).parents[1] / "comparison" / "briefs.toml"
BINS = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0001)


@dataclass
class Tally:
    """Chances that were stated beside what came true, and bands beside the figures of the worlds."""

    stated: list[tuple[float, bool]] = field(default_factory=list)
    covered: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))

    def brier(self) -> float:
        """Mean of (stated - came true)^2: 0 is perfect, 0.25 a coin."""
        return sum((chance - true) ** 2 for chance, true in self.stated) / len(self.stated)

    def lines(self) -> list[str]:
        """The reliability table and the coverage of bands, as Markdown."""
        out = ["| stated | worlds | stated, mean | came true |", "| --- | --- | --- | --- |"]
        for low, high in pairwise(BINS):
            inside = [(chance, true) for chance, true in self.stated if low <= chance < high]
            if inside:
                mean = sum(chance for chance, _ in inside) / len(inside)
                true = sum(true for _, true in inside) / len(inside)
                out.append(f"| {low:.1f}-{min(high, 1):.1f} | {len(inside)} | {mean:.3f} | {true:.3f} |")
        mean = sum(chance for chance, _ in self.stated) / len(self.stated)
        true = sum(true for _, true in self.stated) / len(self.stated)
        out.append(f"| all | {len(self.stated)} | {mean:.3f} | {true:.3f} |")
        every = [inside for bands in self.covered.values() for inside in bands]
        out += [
            "",
            f"Brier score {self.brier():.3f}. Bands of 90 % hold {100 * sum(every) / len(every):.1f} % of the time.",
        ]
        loose = sorted((sum(bands) / len(bands), name, len(bands)) for name, bands in self.covered.items())
        out.append("Least often: " + ", ".join(f"{name} {100 * share:.0f} % of {n}" for share, name, n in loose[:8]))
        out.append("Most often: " + ", ".join(f"{name} {100 * share:.0f} % of {n}" for share, name, n in loose[-4:]))
        return out


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command; gives the exit code."""
    parser = argparse.ArgumentParser(prog="python -m tests.calibration", description=__doc__)
    parser.add_argument("what", choices=["worlds"])
    parser.add_argument("--briefs", type=int, default=25, help="briefs without a wish, spread over those there are")
    parser.add_argument("--worlds", type=int, default=8, help="worlds a brief")
    args = parser.parse_args(argv)
    print("\n".join(over_worlds(args.briefs, args.worlds).lines()))
    return 0


def over_worlds(briefs: int, worlds: int) -> Tally:
    """Answer briefs by the likely numbers, and see in worlds of other numbers what came true."""
    service, tally = Service(), Tally()
    for k, brief in enumerate(_open_briefs(briefs)):
        answer = _as_sure(service, brief)
        if answer.proposal is None or answer.confidence is None:
            continue
        named = {answer.proposal.grind, *_equal(answer)}
        chance = sum(answer.confidence.wins.get(grind, 0.0) for grind in named)
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
    return tally


def _as_sure(service: Service, brief: Brief) -> Answer:
    steps = service.answers(brief)
    first = next(steps)
    return next(steps, first)


def _equal(answer: Answer) -> list[str]:
    return [a.grind for a in answer.alternatives if a.behind is not None and abs(a.behind) < EQUAL_POINTS]


def _open_briefs(count: int) -> list[Brief]:
    sections = tomllib.loads(BRIEFS.read_text(encoding="utf-8"))
    told = [
        t for name in ("designed", "by-hand") for t in sections[name].values() if not any("wishes." in s for s in t)
    ]
    step = max(len(told) // count, 1)
    return [with_settings(Brief(), settings) for settings in told[::step][:count]]


if __name__ == "__main__":
    raise SystemExit(main())
