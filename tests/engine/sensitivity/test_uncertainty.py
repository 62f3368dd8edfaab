"""Bands and confidence: what the redraws promise."""

from __future__ import annotations

import numpy as np
import pytest

from recommender.engine.sensitivity.drawer import TOGETHER, Drawer, ranks, triangular
from recommender.engine.sensitivity.drawn_context import drawn_context
from recommender.engine.sensitivity.uncertainty import DRAWS
from recommender.models.brief import Brief
from recommender.service import Service, with_settings


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
    values = triangular(np.random.default_rng(1).random(200_000), 1.0, 2.0, 5.0)
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


def test_what_hangs_together_is_drawn_together() -> None:
    """Two with one cause have ranks correlated by (6/pi) asin(r/2), 0.582 for r = 0.6 (memory); others by nothing."""
    drawer = Drawer(np.random.default_rng(3), 20_000)
    one, two, other = (drawer.between(name, 1, 2, 5, cause) for name, cause in (("a", "x"), ("b", "x"), ("c", "y")))
    assert np.corrcoef(ranks(one), ranks(two))[0, 1] == pytest.approx(6 / np.pi * np.arcsin(TOGETHER / 2), abs=0.02)
    assert abs(np.corrcoef(ranks(one), ranks(other))[0, 1]) < 0.02
    assert one.mean() == pytest.approx(8 / 3, rel=0.01)  # and each keeps its band
    assert 1 <= one.min() < one.max() <= 5


def test_what_a_brief_leaves_uncertain_is_drawn(service) -> None:
    """Depth, nicks, blunt length, step of a sharpening, free slice, and what is hard in the work."""
    resolved = service.briefs.resolve(with_settings(Brief(), ("tasks.fine-slicing=1", "owner.gear=bench-stones")))
    grind = service.grinds["full-flat"]
    drawer = Drawer(np.random.default_rng(1), 256)
    context = drawn_context([resolved.context(grind)], resolved, drawer)
    (load,) = context.tasks
    for drawn in (
        load.task.cut_depth_mm.likely,
        load.blunt_length_mm,
        load.free_face_share,
        context.sharpening.back_mm,
        context.sharpening.strokes,
        context.steel.body_failure_mpa,
        load.struck[1][0].energy_n_mm,
    ):
        assert np.shape(drawn) == (256,)
        assert np.ptp(drawn) > 0
    hand = [drawer.drawn[name] for name in ("nicks in the blade", "sideways load on the edge in fine slicing")]
    assert np.corrcoef(*map(ranks, hand))[0, 1] > 0.4


def test_figures_vary_with_what_is_drawn(ask) -> None:
    slicing = ask("tasks.fine-slicing=1").metrics
    for name in ("cut_force", "sharpening_steel", "sharpenings", "hard_contact_damage"):
        assert slicing[name].high > 1.1 * slicing[name].low, name
