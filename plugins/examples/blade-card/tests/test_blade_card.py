"""The card keeps its promises and says what is to be ground."""

import blade_card
from blade_card.card import card

from recommender.plugin.testing import assert_sound

# A wedge 4 mm thick at 40 mm: a tenth of the height everywhere.
WEDGE = [[0.0, 0.0, 0.0], [2.0, 40.0, 0.0], [-2.0, 40.0, 0.0]]
BLADE = {
    "grind_label": "wedge",
    "side": "both",
    "edge_angle_per_side_deg": 2.86,
    "edge_angle_included_deg": 5.72,
    "micro_bevel_per_side_deg": None,
    "edge_thickness_mm": 0.0,
    "grind_line_mm": 40.0,
    "wheel_diameter_mm": None,
    "stock_thickness_mm": 4.0,
    "blade_height_mm": 40.0,
    "blade_length_mm": 100.0,
}
ANSWER = {
    "title": "For a\x1b[31m neighbour",
    "proposal": BLADE,
    "brief": {"steel": {"grade": "o1", "hardness_hrc": 60.0}},
    "outline": WEDGE,
    "tip_outline": None,
    "cautions": [{"id": "edge", "text": "It cuts."}],
}


def test_it_is_sound():
    assert_sound(blade_card)


def test_it_says_what_is_to_be_ground():
    lines = card(ANSWER).decode().splitlines()
    assert "edge                  2.86 deg per side, 5.72 deg included" in lines
    assert "steel                 o1 at 60 HRC" in lines
    assert "20 mm                 2 mm" in lines
    assert "40 mm                 4 mm" not in lines, "the spine itself needs no caliper"
    assert lines[-1] == "It cuts."


def test_it_holds_nothing_that_moves_a_cursor():
    assert "\x1b" not in card(ANSWER).decode()
