"""What a comparison prints of it."""

from __future__ import annotations

import copy

from .differences import Tolerance
from .summary import compared, summary

PAPERS = {
    "quote": {
        "printed": {
            "price": {"total": "165.22", "currency": "EUR"},
            "answer": {
                "points": {"total": 72.5},
                "proposal": {
                    "grind": "convex",
                    "edge_angle_per_side_deg": 17.5,
                    "edge_angle_included_deg": 35.0,
                    "edge_thickness_mm": 0.3,
                    "stock_thickness_mm": 3.2,
                },
            },
        }
    }
}


def test_the_brief_the_blades_the_field_and_the_move_are_named():
    new = copy.deepcopy(PAPERS)
    new["quote"]["printed"]["answer"]["points"]["total"] = 70.25
    new["quote"]["printed"]["answer"]["proposal"]["grind"] = "full-flat"
    found = [compared("hunter", PAPERS, new, Tolerance()), compared("cook", PAPERS, PAPERS, Tolerance())]
    lines = list(summary(found))
    assert lines[0] == "1 alike, 1 differ"
    (blades,) = (line for line in lines if line.startswith("hunter: "))
    assert (
        "convex 17.5° per side (35° included), 0.3 mm behind the edge, 72.5 points, 165.22 EUR -> full-flat" in blades
    )
    assert any("quote.printed.answer.proposal.grind: 'convex' -> 'full-flat' (hunter)" in line for line in lines)
    assert any(line.split() == ["-2.25", "hunter"] for line in lines)


def test_alike_is_said_in_one_line():
    assert list(summary([compared("hunter", PAPERS, copy.deepcopy(PAPERS), Tolerance())])) == ["1 alike, 0 differ"]


def test_a_brief_that_nothing_fits_any_more_says_so():
    refused = {"quote": {"printed": [], "exit": 1}}
    lines = list(summary([compared("hunter", PAPERS, refused, Tolerance())]))
    assert any(line.startswith("hunter: convex") and "-> no blade;" in line for line in lines)
