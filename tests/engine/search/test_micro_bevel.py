"""Whether a micro-bevel is put on: as the brief wishes, or where it wins points on the best blade of a grind."""

import pytest

from recommender.models.brief import Brief
from recommender.service import with_settings

EDGE = ["tasks.cardboard-rope=1", "wishes.edge_angle_per_side_deg=15"]


def asked(service, *settings):
    return service.recommend(with_settings(Brief(), [*EDGE, *settings]), flips=False)


def test_a_wish_for_it_is_kept_beside_a_wished_edge(service):
    p = asked(service, "wishes.micro_bevel=yes").proposal
    assert (p.edge_angle_per_side_deg, p.micro_bevel_per_side_deg, p.micro_bevel_included_deg) == (15.0, 20.0, 40.0)
    assert p.micro_bevel_thickness_mm == pytest.approx(0.1)


@pytest.mark.parametrize("settings", [[], ["wishes.micro_bevel=no"]])
def test_a_wished_edge_is_the_edge(service, settings):
    p = asked(service, *settings).proposal
    assert (p.edge_angle_per_side_deg, p.micro_bevel_per_side_deg) == (15.0, None)


def test_it_counts_in_strength_cutting_retention_and_sharpening(service):
    rest = ["wishes.grind=full-flat", "wishes.edge_thickness_mm=0.3", "blade.stock_thickness_mm=2"]
    plain, micro = (asked(service, *rest, f"wishes.micro_bevel={word}").metrics for word in ("no", "yes"))
    assert micro["edge_apex_strength"].value > plain["edge_apex_strength"].value
    assert micro["edge_retention"].value < plain["edge_retention"].value
    assert micro["sharpening_steel"].value < plain["sharpening_steel"].value
    assert micro["cut_force"].value > plain["cut_force"].value
