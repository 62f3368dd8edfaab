"""The micro-bevel on any grind: where its vertices stand, what follows of it, and how it is wished for."""

import bevelwright_builtin
import numpy as np
import pytest

from recommender.geometry.ground_face import GroundFace
from recommender.geometry.profile import half_angles, thickness
from recommender.plugin.testing import designs_over_range

GRINDS = {grind.id: grind for grind in bevelwright_builtin.grinds()}
ZERO = {"scandi", "single-bevel"}
GIVEN = {
    "stock_thickness_mm": 3.0, "height_mm": 24.0, "grind_line_share": 0.7, "edge_thickness_mm": 0.4,
    "edge_angle_per_side_deg": 15.0, "wheel_diameter_mm": 350.0, "crown_share": 0.6, "side": "right",
    "edge_zone": "flat", "tip_zone": "convex",
}  # fmt: skip


def designs(name, micro):
    return designs_over_range(GRINDS[name], 1, **GIVEN, micro_bevel=micro)


@pytest.mark.parametrize("name", sorted(set(GRINDS) - ZERO))
def test_the_edge_bevel_goes_on_above_it_up_to_the_same_shoulder_thickness(name):
    one = designs(name, "yes")
    outline = GRINDS[name].outlines(one)
    sides = float(one.sides_ground[0])
    # 0.1 mm thick at 20 degrees, then 15 degrees up to 0.4 mm: each height is half-thickness / tan.
    micro_height = 0.1 / sides / np.tan(np.radians(20.0))
    shoulder = micro_height + 0.3 / sides / np.tan(np.radians(15.0))
    assert thickness(outline, micro_height)[0] == pytest.approx(0.1, rel=1e-12)
    assert thickness(outline, shoulder)[0] == pytest.approx(0.4, rel=1e-12)
    right = [float(np.degrees(half_angles(outline, y)[1][0])) for y in (0.0, 1.01 * micro_height)]
    assert right == pytest.approx([20.0, 15.0], abs=1e-9)
    face = GroundFace.right(outline)
    assert float(face.shoulder_y_mm[0]) == pytest.approx(shoulder)
    assert float(face.line_y_mm[0]) == pytest.approx(one["grind_line_mm"][0])


@pytest.mark.parametrize("name", sorted(set(GRINDS) - ZERO))
def test_without_one_nothing_is_drawn_of_it(name):
    one = designs(name, "no")
    plain = GRINDS[name].outlines(one)
    both = designs_over_range(GRINDS[name], 2, **GIVEN, micro_bevel=np.array(["no", "yes"]))
    mixed = GRINDS[name].outlines(both)[0]
    assert plain.shape[1] < mixed.shape[0]
    y = np.linspace(0.01, 23.9, 50)[None, :]
    assert (thickness(plain, y) == thickness(mixed[None], y)).all()


def test_the_thinnest_edges_have_no_room_for_it():
    thin = designs_over_range(GRINDS["full-flat"], 1, **{**GIVEN, "edge_thickness_mm": 0.1}, micro_bevel="yes")
    assert any(r.rows.any() for r in GRINDS["full-flat"].refusals(thin, _everything()))


def test_only_facets_spread_it_over_the_survey():
    spread = {name for name, g in GRINDS.items() if not g.parameter("micro_bevel").refined_only}
    assert spread == ZERO


def _everything():
    from recommender.plugin.api import Workshop

    return Workshop((350.0,), True, True)


@pytest.mark.parametrize(("name", "per_side"), [("scandi", 20.0), ("single-bevel", 25.0)])
def test_an_apex_on_facets_is_ten_degrees_steeper_however_many_faces_share_them(name, per_side):
    one = designs_over_range(GRINDS[name], 1, **{**GIVEN, "back": "flat"}, micro_bevel="yes")
    outline = GRINDS[name].outlines(one)
    right = [float(np.degrees(half_angles(outline, y)[1][0])) for y in (0.0, 1.0)]
    assert right == pytest.approx([per_side, 15.0], abs=1e-9)
