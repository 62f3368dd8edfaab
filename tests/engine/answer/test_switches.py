"""Where one more percent of a task makes another blade the answer, neither is much better than the other.

What is far is what a maker calls another blade: another grind, or more than FAR says. Both are weighed under both
briefs. Run `pytest -m long tests/engine/answer/test_switches.py -s` for the list of switches with their gaps in points
and whether the answers name both.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache

import pytest

from recommender.models.answer.proposal import EQUAL_POINTS, Answer, Proposal
from recommender.models.brief import Brief
from recommender.service import Service, with_settings

SIZES = ["blade.length_mm=150", "blade.height_mm=32", "steel.grade=5160", "owner.gear=bench-stones"]
FAR = {"edge_angle_included_deg": 2.0, "edge_thickness_mm": 0.1, "stock_thickness_mm": 0.5}
PAIRS = [
    ("food-prep", "prying"), ("game-dressing", "heavy-chopping"), ("food-prep", "wood-splitting"),
    ("pocket-carry", "heavy-chopping"), ("wood-carving", "prying"),
]  # fmt: skip
MOST, STEP = 60, 5
LEAST_CLOSE = 0.5
"""Of all switches: the usual bars of mixed tasks move by half millimetres, and shut out a blade of a percent before."""


@dataclass(frozen=True)
class Switch:
    """Two answers a percent apart with far blades: by how many points the first is ahead under each brief."""

    words: str
    gaps: tuple[float, float]
    named: bool

    @property
    def close(self) -> bool:
        """Whether neither is clearly better under either brief."""
        return max(map(abs, self.gaps)) <= EQUAL_POINTS


def _brief(first: str, second: str, percent: int) -> Brief:
    shares = [f"tasks.{first}={100 - percent}", f"tasks.{second}={percent}"]
    return with_settings(Brief(), [*shares[: None if percent else 1], *SIZES])


def _far(one: Proposal, other: Proposal) -> bool:
    apart = (abs(getattr(one, name) - getattr(other, name)) > most + 1e-6 for name, most in FAR.items())
    return one.grind != other.grind or any(apart)


def _switches(low: int, high: int, at: Callable[[int], Answer]) -> Iterator[int]:
    """Percents from which to the next the blade is another, found by halving where the ends are far from each other."""
    one, other = at(low).proposal, at(high).proposal
    assert one is not None
    assert other is not None
    if not _far(one, other):
        return
    if high - low == 1:
        yield low
        return
    yield from _switches(low, (low + high) // 2, at)
    yield from _switches((low + high) // 2, high, at)


def _named(answer: Answer, other: Proposal) -> bool:
    return any(a.proposal and a.grind == other.grind and abs(a.behind or 0) < EQUAL_POINTS for a in answer.alternatives)


def _points(service: Service, brief: Brief, blade: Proposal) -> float:
    points = service.briefs.weigh(brief, blade).points
    assert points is not None
    return points.total


def _found(service: Service, first: str, second: str) -> list[Switch]:
    @cache
    def at(percent: int) -> Answer:
        return next(iter(service.briefs.answers(_brief(first, second, percent), "brief", flips=False)))

    out = []
    for percent in (p for low in range(0, MOST, STEP) for p in _switches(low, low + STEP, at)):
        one, other = at(percent).proposal, at(percent + 1).proposal
        assert one is not None
        assert other is not None
        briefs = (_brief(first, second, percent), _brief(first, second, percent + 1))
        before, after = (_points(service, b, one) - _points(service, b, other) for b in briefs)
        words = f"{first}, {second} {percent} to {percent + 1} %: {_words(one)} to {_words(other)}"
        named = _named(at(percent), other) and _named(at(percent + 1), one)
        out.append(Switch(words, (round(before, 2), round(after, 2)), named))
    return out


def _words(p: Proposal) -> str:
    return f"{p.grind} {p.edge_angle_included_deg:g} degrees, {p.edge_thickness_mm:g} of {p.stock_thickness_mm:g} mm"


@pytest.mark.parametrize(("first", "second", "percent"), [("food-prep", "prying", 59)])
def test_no_blade_of_the_next_percent_would_have_been_much_better(
    service: Service, first: str, second: str, percent: int
) -> None:
    """A search that stays on the hill where it began misses it: by 1.9 points at 59 %."""
    brief, beside = _brief(first, second, percent), _brief(first, second, percent + 1)
    here, there = (next(iter(service.briefs.answers(b, "brief", flips=False))).proposal for b in (brief, beside))
    assert here is not None
    assert there is not None
    assert _points(service, brief, there) - _points(service, brief, here) <= EQUAL_POINTS


@pytest.mark.long
def test_most_switches_are_between_blades_as_good(service: Service, capsys: pytest.CaptureFixture[str]) -> None:
    found = [switch for first, second in PAIRS for switch in _found(service, first, second)]
    close = [switch for switch in found if switch.close]
    with capsys.disabled():
        print(f"\n{len(close)} of {len(found)} switches within {EQUAL_POINTS:g} points,", end=" ")
        print(f"{sum(s.named for s in close)} of these named by both answers")
        print(*(f"{s.words}; {s.gaps}{', named' * s.named}" for s in found), sep="\n")
    assert len(close) >= LEAST_CLOSE * len(found)
