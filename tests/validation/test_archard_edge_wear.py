"""How wide an edge has worn: Archard's law against edges measured after the standard slicing test.

Source: Archard, J. Appl. Phys. 24 (1953) 981 (memory): the volume worn goes with load and way, so with what was cut,
whatever the shape. Measured: L. Thomas, article of 26 November 2018 (seen): after the test an edge of 20 degrees
included was 23 um wide, one of 50 degrees 17 um (one stainless steel); the acute edge had cut more card. How much more:
the regression (`edge_retention_mm`) with 61 HRC and 17.5 % of chromium carbides for that steel (memory) has
-157 + 963.8 + 196 - 356 = 646.8 mm at 20 degrees and 112.8 at 50; a report of the same tests (seen, a forum thread)
has 2.7 to 3.8 times as much added, so 3.7 to 4.8 in all.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import Polygon

from recommender.mechanics.wear import RECESSION_IN_USE_MM, apex_radius_in_use_mm, edge_retention_mm, worn_width_mm
from tests.validation.predictions import Prediction

MEASURED_UM = {20.0: 23.0, 50.0: 17.0}
MORE_CARD = (3.7, 4.8)


def _wider(more_card: float) -> float:
    """How many times as wide the edge of 20 degrees has worn as that of 50, having cut so many times as much."""
    acute, steep = (float(worn_width_mm(card, math.radians(a))) for card, a in ((more_card, 20.0), (1.0, 50.0)))
    return acute / steep


PREDICTIONS = [
    Prediction(
        f"worn width, 20 over 50 degrees included, {card} times the card",
        "1",
        MEASURED_UM[20.0] / MEASURED_UM[50.0],
        _wider(card),
        1.15,
    )
    for card in MORE_CARD
]


@pytest.mark.parametrize("included", [15.0, 30.0, 60.0])
def test_what_is_gone_is_a_triangle(included: float) -> None:
    """Width and height of a worn tip enclose the area worn, here by a polygon's."""
    width = float(worn_width_mm(2e-4, math.radians(included)))
    back = width / 2 / math.tan(math.radians(included / 2))
    assert Polygon([(0, 0), (width / 2, back), (-width / 2, back)]).area == pytest.approx(2e-4, rel=1e-12)


@pytest.mark.parametrize("more_card", [*MORE_CARD, 646.8 / 112.8])
def test_measured_widths(more_card: float) -> None:
    """Area as the card: w ~ sqrt(card tan(included/2)). Measured 23 / 17 = 1.35; 15 % for the band of the card.

    Equal recession, w = 2 d tan(included/2), would make the acute edge the narrower: 0.38 of the other.
    """
    assert _wider(more_card) == pytest.approx(MEASURED_UM[20.0] / MEASURED_UM[50.0], rel=0.15)


def test_the_regression_has_that_much_more_card() -> None:
    card = [float(edge_retention_mm(61, included, {"CrC": 17.5})) for included in MEASURED_UM]
    assert card == pytest.approx([646.8, 112.8], abs=1e-9)


@pytest.mark.parametrize("included", [20.0, 30.0, 60.0])
def test_edges_in_use_have_lost_the_same_area(included: float) -> None:
    """That of an edge of 40 degrees set back by the recession, delta^2 tan 20 deg = 23.3 um2, wherever it is asked."""
    half_width = float(apex_radius_in_use_mm(0.0, math.radians(included)))
    worn = half_width**2 / math.tan(math.radians(included / 2))
    assert worn == pytest.approx(RECESSION_IN_USE_MM**2 * math.tan(math.radians(20.0)), rel=1e-12)
    assert RECESSION_IN_USE_MM == 0.008


def test_the_steeper_edge_is_blunter_after_the_same_cuts() -> None:
    """Same card for both: sqrt(tan 25 / tan 10) = 1.626 times as wide, not tan 25 / tan 10 = 2.645."""
    widths = apex_radius_in_use_mm(0.0, np.radians([20.0, 50.0]))
    assert widths[1] / widths[0] == pytest.approx(1.626, abs=1e-3)
