"""What the shop's usual errors do to a proposal."""

from __future__ import annotations

import pytest

from recommender.models.proposal import Answer, Tolerance


def _of(answer: Answer, dimension: str) -> Tolerance:
    return next(t for t in answer.tolerances if t.dimension == dimension)


def test_a_dimension_that_breaks_a_limit_or_costs_most_comes_first(ask) -> None:
    for task in ("food-prep", "game-dressing", "wood-carving", "heavy-chopping"):
        tolerances = ask(f"tasks.{task}=1").tolerances
        assert tolerances
        keys = [(not t.breaks, -t.points_lost) for t in tolerances]
        assert keys == sorted(keys)


def test_a_thinner_edge_is_weaker(ask) -> None:
    """Common practice: the edge is what a maker measures; half a tenth less is felt in the edge first."""
    edge = _of(ask("tasks.game-dressing=1"), "edge_thickness_mm")
    assert edge.error == 0.05
    assert edge.worse == "under"
    assert edge.moves is not None
    assert edge.moves.metric in ("edge_margin", "edge_strength", "edge_support")
    assert edge.moves.then < edge.moves.proposed


def test_errors_are_the_shops(ask) -> None:
    answer = ask("tasks.game-dressing=1", "wishes.grind=saber-hollow")
    errors = {t.dimension: t.error for t in answer.tolerances}
    assert errors["stock_thickness_mm"] == 0.1
    assert errors["edge_angle_per_side_deg"] == 0.5
    assert errors["edge_thickness_mm"] == 0.05
    assert errors["wheel_diameter_mm"] == pytest.approx(0.03 * answer.proposal.wheel_diameter_mm, abs=1e-3)
    assert _of(answer, "wheel_diameter_mm").worse == "under", "a wheel only wears"


def test_only_dimensions_of_the_grind_are_listed(ask) -> None:
    scandi = ask("tasks.wood-carving=1", "wishes.grind=scandi")
    names = {t.dimension for t in scandi.tolerances}
    assert "edge_thickness_mm" not in names, "it is ground to zero"
    assert "grind_line_mm" not in names, "its line follows from stock and angle"
    assert "wheel_diameter_mm" not in names
    full = ask("tasks.food-prep=1", "wishes.grind=full-flat")
    assert "grind_line_mm" not in {t.dimension for t in full.tolerances}, "its line is the spine"


def test_a_wish_at_the_edge_of_a_limit_has_no_room_beyond_it(ask) -> None:
    """An angle wished just above the least sound one: half a degree less breaks it, and no room is left."""
    free = ask("tasks.heavy-chopping=1")
    for step in range(1, 30):
        angle = free.proposal.edge_angle_per_side_deg - 0.5 * step
        answer = ask("tasks.heavy-chopping=1", f"wishes.edge_angle_per_side_deg={angle}")
        if answer.proposal is None:
            break
        last = answer
    edge = _of(last, "edge_angle_per_side_deg")
    assert edge.worse == "under"
    assert edge.breaks
    assert edge.room_under == 0.0
    assert last.tolerances[0].breaks
