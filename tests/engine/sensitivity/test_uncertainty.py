"""Bands and confidence: what the redraws promise."""

from __future__ import annotations

import numpy as np
import pytest

from recommender.engine.sensitivity.uncertainty import DRAWS, _triangular
from recommender.service import Service


@pytest.fixture
def answer(ask):
    return ask("tasks.game-dressing=0.7", "tasks.pocket-carry=0.3", "steel.grade=440c")


def test_shares_of_wins_add_up_and_are_drawn_often_enough(answer) -> None:
    assert answer.confidence.draws == DRAWS >= 500
    assert sum(answer.confidence.wins.values()) == pytest.approx(1, abs=0.01)


def test_the_same_brief_gets_the_same_confidence(answer) -> None:
    assert Service(strict=True).recommend(answer.brief, flips=False).confidence == answer.confidence


def test_bands_hold_the_likely_value(answer) -> None:
    seen = 0
    for metric in answer.metrics.values():
        if metric.low is not None and metric.value is not None:
            assert metric.low <= metric.value * (1 + 1e-6) + 1e-9
            assert metric.high >= metric.value * (1 - 1e-6) - 1e-9
            seen += metric.high > metric.low
    assert seen > 10


def test_geometry_has_no_band(answer) -> None:
    for name in ("thickness_5mm", "mass_per_length", "grind_removal"):
        metric = answer.metrics[name]
        assert metric.low == pytest.approx(metric.value, rel=1e-5)
        assert metric.high == pytest.approx(metric.value, rel=1e-5)


def test_stiffness_of_steel_is_no_matter_of_hardness(answer) -> None:
    """Young's modulus hardly varies between hardened steels: common practice."""
    assert answer.metrics["stiffness"].high == pytest.approx(answer.metrics["stiffness"].low)


def test_prying_strength_varies_with_the_steels_toughness(answer) -> None:
    assert answer.metrics["pry_moment"].high > 1.2 * answer.metrics["pry_moment"].low


def test_close_calls_are_less_sure_than_clear_ones(ask) -> None:
    """Two grinds within half a point share the wins; one that leads by many points takes nearly all."""
    clear = ask("tasks.wood-carving=1", "steel.grade=o1")
    lead = min(a.behind for a in clear.alternatives if a.behind is not None)
    assert lead > 3
    assert clear.confidence.wins[clear.proposal.grind] > 0.7


def test_the_triangular_draw() -> None:
    """Mean (low + mode + high)/3 and variance (a2 + b2 + c2 - ab - ac - bc)/18: closed forms."""
    values = _triangular(np.random.default_rng(1).random(200_000), 1.0, 2.0, 5.0)
    assert values.mean() == pytest.approx(8 / 3, rel=0.01)
    assert values.var() == pytest.approx((1 + 4 + 25 - 2 - 5 - 10) / 18, rel=0.02)
    assert values.min() >= 1
    assert values.max() <= 5


def test_estimates_of_the_whole_blade_have_bands_too(answer) -> None:
    """Material and steel move them; geometry does not move."""
    for name in ("tip_push", "tip_bend_strength"):
        metric = answer.metrics[name]
        assert metric.low < metric.value < metric.high
    for name in ("blade_mass", "balance_share", "tip_flex", "spine_left"):
        metric = answer.metrics[name]
        assert metric.low == pytest.approx(metric.value, rel=1e-5)
        assert metric.high == pytest.approx(metric.value, rel=1e-5)
