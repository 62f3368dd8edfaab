"""Absurd answers that a careless model gives do not come back.

What counts as absurd: common practice. Ranges are a maker's, not the engine's output.
"""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from recommender.engine.answer.recommend import surveyed
from recommender.models.brief import Brief
from recommender.service import Service, with_settings


def test_free_stock_does_not_pick_the_thinnest_bar(ask) -> None:
    """Left to cutting force alone every kitchen knife would be 1.5 mm; they are 2 to 3 mm. Common practice."""
    assert ask("tasks.food-prep=1").proposal.stock_thickness_mm >= 2.0


def test_an_ideal_wheel_does_not_make_the_hollow_win_the_kitchen(ask) -> None:
    """No shop grinds a kitchen knife on a 2 m wheel: only the brief's wheels or common ones up to 350 mm are used."""
    answer = ask("tasks.food-prep=1")
    assert "hollow" not in answer.proposal.grind
    for other in answer.alternatives:
        if other.proposal is not None and other.proposal.wheel_diameter_mm is not None:
            assert other.proposal.wheel_diameter_mm <= 350


def test_friction_does_not_swamp_the_choice(service: Service) -> None:
    """With friction at both ends of its band the kitchen still gets a thin blade ground high."""
    material = service.knowledge.materials["firm-vegetables"]
    for mu in (material.friction.low, material.friction.high):
        changed = material.model_copy(update={"friction": material.friction.model_copy(update={"likely": mu})})
        known = dataclasses.replace(service.knowledge, materials={**service.knowledge.materials, material.id: changed})
        other = Service(strict=True)
        other.loaded.__dict__["knowledge"] = known
        proposal = other.recommend(with_settings(Brief(), ["tasks.food-prep=1"]), flips=False).proposal
        assert proposal is not None
        assert proposal.grind_line_share > 0.7
        assert proposal.edge_thickness_mm <= 0.5


def test_goals_are_absolute_so_a_thick_kitchen_knife_stays_bad(ask) -> None:
    """Scaled within the candidates, a 5 mm bar would earn full marks as the best of a bad lot."""
    thin = ask("tasks.food-prep=1", "blade.stock_thickness_mm=2")
    thick = ask("tasks.food-prep=1", "blade.stock_thickness_mm=5")
    assert thick.points.total < thin.points.total - 3
    assert ask("tasks.food-prep=1").proposal.stock_thickness_mm <= 3.0


def test_release_is_compared_at_the_opening_not_at_equal_height(service: Service) -> None:
    """At equal opening the convex lets go better than the flat it is made from; both in the split billet."""
    brief = with_settings(Brief(), ["tasks.wood-splitting=1", "blade.stock_thickness_mm=9", "blade.height_mm=60"])
    fields = {f.grind.item.id: f for f in surveyed(service.briefs.case(brief))}
    best = {}
    for name in ("full-flat", "convex"):
        measured = fields[name].measured
        te, angle = measured.designs["edge_thickness_mm"], measured.designs["edge_angle_per_side_deg"]
        similar = (np.abs(te - 1.0) < 0.3) & (np.abs(angle - 24) < 4)
        assert similar.sum() > 20
        best[name] = (
            np.nanmedian(measured.metric("release_margin_deg")[similar]),
            np.nanmedian(measured.metric("split_depth")[similar]),
        )
    assert best["convex"][0] > best["full-flat"][0]
    assert best["convex"][1] < best["full-flat"][1]


@pytest.mark.parametrize("steel", ["440c", "d2", "1.2562"])
def test_harder_does_not_always_pry_better(ask, steel: str) -> None:
    """A brittle steel at the top of its range fails at its nick before it yields (common practice)."""
    table = Service().knowledge.steels[steel]
    common = ("tasks.prying=1", f"steel.grade={steel}", "blade.stock_thickness_mm=5", "wishes.grind=saber-flat")
    soft = ask(*common, f"steel.hardness_hrc={table.hardness.low_hrc:g}")
    hard = ask(*common, f"steel.hardness_hrc={table.hardness.high_hrc:g}")
    assert hard.metrics["failure_stress"].value < soft.metrics["failure_stress"].value


@pytest.mark.parametrize("steel", ["l6", "s7", "5160", "a2"])
def test_scandi_does_not_win_prying(ask, steel: str) -> None:
    assert ask("tasks.prying=1", f"steel.grade={steel}").proposal.grind != "scandi"


def test_no_full_hollow_on_a_bar_no_wheel_can_hollow(ask) -> None:
    """3.5 x 26 mm would take a wheel of about 416 mm: (H^2 + d^2)/d; common wheels end at 350 mm."""
    bar = "tasks.game-dressing=1", "blade.stock_thickness_mm=3.5", "blade.height_mm=26", "wishes.grind=full-hollow"
    answer = ask(*bar, "workshop.wheels_mm=50,100,150")
    assert answer.proposal is None
    assert any("wheel" in shut.reason for shut in answer.blocked)
    # On a large wheel it can be walked up, and is never said to be one pass.
    walked = ask(*bar)
    assert walked.proposal.walked_up
    assert walked.shop.walked_up.diameter_mm == pytest.approx(416, rel=0.06)  # as thick an edge as it proposes
    assert walked.shop.walked_up.diameter_mm > walked.proposal.wheel_diameter_mm
    assert walked.shop.walked_up.passes >= 2


def test_edge_strength_is_not_measured_at_the_spine(ask) -> None:
    """Thicker stock above the same edge may not change the strength at the edge by more than a little."""
    common = (
        "tasks.pocket-carry=1", "wishes.grind=saber-flat", "wishes.edge_angle_per_side_deg=20",
        "wishes.edge_thickness_mm=0.4", "wishes.grind_line_mm=18", "blade.height_mm=26",
    )  # fmt: skip
    thin = ask(*common, "blade.stock_thickness_mm=3").metrics
    thick = ask(*common, "blade.stock_thickness_mm=4.5").metrics
    assert thick["edge_apex_strength"].value == pytest.approx(thin["edge_apex_strength"].value)
    assert thick["edge_strength"].value < 1.35 * thin["edge_strength"].value
    assert thick["pry_moment"].value > 1.7 * thin["pry_moment"].value
