"""Chances that were stated beside what came true, and bands beside figures."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from itertools import pairwise
from math import sqrt

from recommender.models.answer.proposal import EQUAL_POINTS, Answer

BINS = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0001)


@dataclass
class Tally:
    """Forecasts with their outcomes, and bands with whether they hold the figure of a world."""

    stated: list[tuple[float, bool]] = field(default_factory=list)
    covered: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))

    def brier(self) -> float:
        """Mean of (stated - came true)^2: 0 is perfect, 0.25 a coin."""
        return sum((chance - true) ** 2 for chance, true in self.stated) / len(self.stated)

    def error(self) -> float:
        """Standard error of what comes true in a bin of average size, were chances right: sqrt(p (1 - p) / n)."""
        filled = [inside for inside in self._bins() if inside]
        n, p = len(self.stated) / len(filled), sum(chance for chance, _ in self.stated) / len(self.stated)
        return sqrt(p * (1 - p) / n)

    def reliability(self) -> list[str]:
        """The reliability table, as Markdown."""
        out = ["| stated | forecasts | stated, mean | came true |", "| --- | --- | --- | --- |"]
        labels = [f"{low:.1f}-{min(high, 1):.1f}" for low, high in pairwise(BINS)]
        for label, inside in zip([*labels, "all"], [*self._bins(), self.stated], strict=True):
            if inside:
                mean = sum(chance for chance, _ in inside) / len(inside)
                true = sum(true for _, true in inside) / len(inside)
                out.append(f"| {label} | {len(inside)} | {mean:.3f} | {true:.3f} |")
        return out

    def coverage(self) -> list[str]:
        """How often bands hold, and which hold least and most often."""
        every = [inside for bands in self.covered.values() for inside in bands]
        loose = sorted((sum(bands) / len(bands), name, len(bands)) for name, bands in self.covered.items())
        return [
            f"Bands of 90 % hold {100 * sum(every) / len(every):.1f} % of the time.",
            "Least often: " + ", ".join(f"{name} {100 * share:.0f} % of {n}" for share, name, n in loose[:8]),
            "Most often: " + ", ".join(f"{name} {100 * share:.0f} % of {n}" for share, name, n in loose[-4:]),
        ]

    def _bins(self) -> list[list[tuple[float, bool]]]:
        return [[each for each in self.stated if low <= each[0] < high] for low, high in pairwise(BINS)]


def named_grinds(answer: Answer) -> set[str]:
    """The grinds whose chance an answer states: the one proposed, and those as good by points."""
    assert answer.proposal is not None
    return {
        answer.proposal.grind,
        *(a.grind for a in answer.alternatives if a.behind is not None and abs(a.behind) < EQUAL_POINTS),
    }
