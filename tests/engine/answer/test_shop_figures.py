"""Shop truth in the answer: hardening allowance, heat, plunge line, soft wheels, the width of the edge bevel."""

from __future__ import annotations

import pytest

from recommender.models.brief import Brief
from recommender.service import SectionRequest, Service, with_settings


def test_the_edge_is_left_thicker_before_hardening(ask) -> None:
    """Common practice: 0.3-0.5 mm more than finished on an ordinary knife, and never below half a millimetre."""
    for task in ("food-prep", "game-dressing", "pocket-carry"):
        answer = ask(f"tasks.{task}=1")
        before, finished = answer.shop.edge_thickness_before_hardening_mm, answer.proposal.edge_thickness_mm
        assert before >= 0.5
        assert 0.2 <= before - finished <= 0.6
    assert ask("tasks.wood-carving=1", "wishes.grind=scandi").shop.edge_thickness_before_hardening_mm == 0.5


def test_no_proposal_is_too_thin_to_grind_cool(ask) -> None:
    for task in ("food-prep", "fine-slicing", "leather-paring", "fish-filleting"):
        assert ask(f"tasks.{task}=1").metrics["cool_pass"].value >= 3.0
    thin = ask("tasks.fine-slicing=1", "wishes.edge_thickness_mm=0.15")
    assert "heat-finish-wet" in {w.id for w in thin.cautions}
    stout = ask("tasks.heavy-chopping=1")
    assert "heat-finish-wet" not in {w.id for w in stout.cautions}


def test_an_edge_that_burns_in_any_pass_is_cut_out(service: Service) -> None:
    wishes = ["tasks.fine-slicing=1", "wishes.edge_thickness_mm=0.1", "wishes.grind=full-flat"]
    answer = service.recommend(with_settings(Brief(), wishes), flips=False)
    assert answer.proposal is None
    assert "edge-can-be-ground-cool" in {s.rule for s in answer.blocked}


def test_a_slack_belt_leaves_a_wider_plunge(ask) -> None:
    """Common practice: a slack belt wraps round the plunge line, a platen's belt edge leaves it crisp."""
    flat = ask("tasks.game-dressing=1", "wishes.grind=full-flat").shop.plunge_radius_mm
    convex = ask("tasks.game-dressing=1", "wishes.grind=convex").shop.plunge_radius_mm
    assert convex > flat


def test_a_soft_wheel_cuts_like_a_larger_one(ask) -> None:
    settings = ("tasks.game-dressing=1", "wishes.grind=saber-hollow", "workshop.wheels_mm=150")
    hard = ask(*settings)
    soft = ask(*settings, "workshop.wheel_hardness_shore_a=45")
    assert hard.shop.wheel_cuts_like_mm is None
    assert soft.shop.wheel_cuts_like_mm > 150
    assert soft.proposal.wheel_diameter_mm == 150
    assert soft.proposal.wheel_hardness_shore_a == 45


def test_a_soft_wheel_reaches_a_line_that_a_hard_one_of_its_size_does_not(service: Service) -> None:
    """Its arc is larger: the waist that a hard wheel of 150 mm leaves at this height is gone."""
    figures = {"grind": "saber-hollow", "stock_thickness_mm": 3.0, "height_mm": 30.0, "grind_line_mm": 15.0}
    edge = {"edge_thickness_mm": 0.4, "edge_angle_per_side_deg": 17.0, "wheel_diameter_mm": 150.0}
    hard = service.measured.section(SectionRequest(**figures, **edge))
    soft = service.measured.section(SectionRequest(**figures, **edge, wheel_shore_a=40.0))
    assert hard.min_thickness_mm < 0.4 - 1e-6
    assert soft.min_thickness_mm > hard.min_thickness_mm
    assert soft.area_mm2 > hard.area_mm2


def test_a_bevel_of_one_angle_widens_where_the_blade_is_thicker(ask) -> None:
    """On a flat the shoulder moves up the taper of the face; each place keeps its angle and gets a wider bevel."""
    widths = ask("tasks.game-dressing=1", "wishes.grind=full-flat").shop.bevel_widths
    assert len(widths) == 3
    for w in widths:
        assert w.after_1_mm > w.new_mm
    scandi = ask("tasks.wood-carving=1", "wishes.grind=scandi").shop.bevel_widths
    for w in scandi[:2]:
        assert w.after_1_mm == pytest.approx(w.new_mm, rel=0.02), "ground to zero, the facet only moves up"
