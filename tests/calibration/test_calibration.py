"""The tool runs and reckons rightly: a small run, and closed forms."""

from __future__ import annotations

import numpy as np
import pytest

from .__main__ import over_worlds
from .makers import against_makers
from .tally import Tally
from .worlds import OneDraw


def test_brier_score_and_reliability() -> None:
    """Forecasts of 0.75 that come true in three of four: score 0.75 x 0.25 = 0.1875, and no gap in the table."""
    tally = Tally([(0.75, True)] * 3 + [(0.75, False)])
    assert tally.brier() == pytest.approx(0.1875)
    assert tally.reliability()[2:] == ["| 0.6-0.8 | 4 | 0.750 | 0.750 |", "| all | 4 | 0.750 | 0.750 |"]
    assert tally.error() == pytest.approx((0.75 * 0.25 / 4) ** 0.5)


def test_a_chance_of_one_falls_into_the_last_bin() -> None:
    assert Tally([(1.0, True)]).reliability()[2].startswith("| 0.8-1.0 | 1 |")


def test_a_world_draws_what_has_a_cause_too() -> None:
    """Triangular between 0 and 1: mean 1/2, variance 1/24. By ranks a single draw was the middle of its band always."""
    drawn = [OneDraw(np.random.default_rng(seed), 1).between("load", 0, 0.5, 1, "rough use")[0] for seed in range(400)]
    assert np.mean(drawn) == pytest.approx(0.5, abs=0.04)
    assert np.var(drawn) == pytest.approx(1 / 24, rel=0.2)


def test_one_brief_in_two_worlds() -> None:
    tally = over_worlds(briefs=1, worlds=2)
    (chance, _), (again, _) = tally.stated
    assert 0 < chance == again <= 1, "the answer does not know in which world it is"
    assert len(tally.covered) > 10
    assert all(len(bands) <= 2 for bands in tally.covered.values())
    assert "hold" in tally.coverage()[0]


def test_a_scenario_beside_its_makers() -> None:
    first, *_, last = against_makers(["left-handed-spoon-carver"])
    assert first.startswith("left-handed-spoon-carver: scandi ")
    assert "Few forecasts (1)" in last
