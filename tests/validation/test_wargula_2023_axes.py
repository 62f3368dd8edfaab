"""Splitting wedges: effective angles of 30 to 45 degrees included.

Source: Wargula and others 2023, and a wildland-fire hand-tool course (seen, as quoted): axes split best with an
included angle of 30 to 45 degrees.
"""

from __future__ import annotations

import pytest

from recommender.models.brief import Brief
from recommender.service import Service, with_settings


@pytest.mark.parametrize("steel", ["5160", "l6", "1084"])
def test_a_splitting_edge_has_the_angle_of_an_axe(steel: str) -> None:
    settings = ["tasks.wood-splitting=1", f"steel.grade={steel}", "blade.stock_thickness_mm=9", "blade.height_mm=65"]
    proposal = Service(strict=True).recommend(with_settings(Brief(), settings), flips=False).proposal
    assert proposal is not None
    assert 30 <= proposal.edge_angle_included_deg <= 45
