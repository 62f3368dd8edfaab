"""Every dimension has a band: what the grind would be made to by whoever knew the numbers."""

from __future__ import annotations

import math

import pytest

from recommender.drawing.text.answer.answer_text import answer_text
from recommender.models.answer.proposal import Confidence

DIMENSIONS = {
    "edge_angle_per_side_deg",
    "edge_angle_included_deg",
    "edge_thickness_mm",
    "grind_line_mm",
    "stock_thickness_mm",
    "blade_height_mm",
    "blade_length_mm",
}


def test_every_dimension_has_a_band(ask) -> None:
    """What a brief decides has one without width; both ways to tell an angle say the same."""
    answer = ask("tasks.pocket-carry=1", "blade.stock_thickness_mm=3", "wishes.edge_thickness_mm=0.4")
    bands = answer.confidence.dimensions
    assert set(bands) >= DIMENSIONS
    assert bands["stock_thickness_mm"].low == bands["stock_thickness_mm"].high == 3.0
    assert bands["edge_thickness_mm"].low == bands["edge_thickness_mm"].high == 0.4
    each, both = bands["edge_angle_per_side_deg"], bands["edge_angle_included_deg"]
    assert (both.low, both.high) == (2 * each.low, 2 * each.high)
    assert each.low < each.high, "loads and nicks are uncertain, and the angle goes by them"
    page = " ".join(answer_text(answer, None, names=("why",)).split())
    assert f"edge {each.low:g}° to {each.high:g}° per side ({both.low:g}° to {both.high:g}° included)" in page


def test_an_edge_that_is_wished_is_not_moved(ask) -> None:
    """Nor is what follows from it: a scandi's line is stock / (2 tan of its angle) above the edge."""
    wishes = ("wishes.edge_angle_per_side_deg=13", "wishes.grind=scandi", "wishes.micro_bevel=no")
    bands = ask("tasks.wood-carving=1", "blade.stock_thickness_mm=3", *wishes).confidence.dimensions
    assert bands["edge_angle_per_side_deg"].low == bands["edge_angle_per_side_deg"].high == 13.0
    line = bands["grind_line_mm"]
    assert line.low == line.high == pytest.approx(3 / (2 * math.tan(math.radians(13))), abs=1e-3)


def test_earlier_answers_have_none() -> None:
    stored = {"draws": 512, "seed": 1, "wins": {"full-flat": 1.0}, "main_uncertainty": None}
    assert Confidence.model_validate(stored).dimensions == {}
