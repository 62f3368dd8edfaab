"""What the shop's usual errors do to a proposal."""

from __future__ import annotations

import pytest

from recommender.models.answer.proposal import Answer, Tolerance


def _of(answer: Answer, dimension: str) -> Tolerance:
    return next(t for t in answer.tolerances if t.dimension == dimension)


def test_what_an_error_costs_is_what_the_blade_with_it_scores(ask) -> None:
    """The same brief asked again with every dimension wished, one of them off by the shop's error."""
    free = ask("tasks.game-dressing=1", "wishes.grind=full-flat")
    p = free.proposal

    def points(edge: float, angle: float) -> float:
        wished = ask(
            "tasks.game-dressing=1",
            "wishes.grind=full-flat",
            f"blade.stock_thickness_mm={p.stock_thickness_mm}",
            f"wishes.edge_thickness_mm={edge}",
            f"wishes.edge_angle_per_side_deg={angle}",
        )
        return wished.points.total

    exact = points(p.edge_thickness_mm, p.edge_angle_per_side_deg)
    assert exact == pytest.approx(free.points.total, abs=0.05)
    edge = _of(free, "edge_thickness_mm")
    off = edge.error if edge.worse == "over" else -edge.error
    assert edge.points_lost == pytest.approx(
        exact - points(p.edge_thickness_mm + off, p.edge_angle_per_side_deg), abs=0.05
    )
    angle = _of(free, "edge_angle_per_side_deg")
    off = angle.error if angle.worse == "over" else -angle.error
    lost = exact - points(p.edge_thickness_mm, p.edge_angle_per_side_deg + off)
    assert angle.points_lost == pytest.approx(lost, abs=0.05)
    assert free.tolerances[0] in (edge, angle)


def test_a_thinner_edge_is_weaker(ask) -> None:
    """Common practice: the edge is what a maker measures; half a tenth less is felt in the edge first."""
    edge = _of(ask("tasks.food-prep=1"), "edge_thickness_mm")
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
