"""The relief-bevel flat keeps its promises, and its section is the one worked by hand."""

import numpy as np
import pytest
import relief_flat

from recommender.geometry.profile import half_angles, thickness
from recommender.geometry.section import area_mm2
from recommender.plugin.testing import assert_sound, designs_over_range, refused


def by_hand(**changed):
    """2 x tan 45 = 2: an edge of 2 mm at 45 degrees a side is 1 mm high, a relief of 4 mm at atan 1/4 widens by 2."""
    given = {
        "stock_thickness_mm": 6.0,
        "height_mm": 20.0,
        "edge_thickness_mm": 2.0,
        "edge_angle_per_side_deg": 45.0,
        "relief_angle_per_side_deg": np.degrees(np.arctan(0.25)),
        "relief_height_mm": 4.0,
    }
    return designs_over_range(relief_flat.RELIEF_FLAT, 1, **{**given, **changed})


def test_it_is_sound():
    assert_sound(relief_flat)


def test_the_section_worked_by_hand():
    outline = relief_flat.RELIEF_FLAT.outlines(by_hand())
    # Triangle 1 x 2 / 2, trapezium 4 x (2 + 4) / 2, trapezium 15 x (4 + 6) / 2.
    assert area_mm2(outline) == pytest.approx([1 + 12 + 75], rel=1e-12)
    assert thickness(outline, 5.0) == pytest.approx([4.0], rel=1e-12)
    assert half_angles(outline, 12.0)[1] == pytest.approx([np.arctan(1 / 15)], rel=1e-12)


def test_facets_that_would_merge_are_refused():
    grind = relief_flat.RELIEF_FLAT
    assert not refused(grind, by_hand()).any()
    assert refused(grind, by_hand(relief_angle_per_side_deg=44.0)).all()  # no flatter than the edge bevel
    assert refused(grind, by_hand(relief_angle_per_side_deg=4.0)).all()  # flatter than what lies above it
    assert refused(grind, by_hand(relief_height_mm=18.0)).all()  # up to the spine
