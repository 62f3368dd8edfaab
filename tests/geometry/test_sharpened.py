"""A blade sharpened back: apex up, the same bevel ground again, nothing else touched."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from recommender.errors import GeometryError
from recommender.geometry.arcs import bulge_from_radius
from recommender.geometry.outline import face, mirrored, one_sided, symmetric
from recommender.geometry.profile import faces_at, half_angles, thickness
from recommender.geometry.section import measure
from recommender.geometry.sharpened import sharpened_back

BACKS = [0.01, 0.05, 0.5, 2.0]


def saber(bulge=0.0, *, te=0.5, angle_deg=20.0, stock=4.0, line=20.0, height=30.0, side="both"):
    """A section with an edge bevel and a primary grind of the given bulge."""
    e = te / 2 if side == "both" else te
    half = stock / 2 if side == "both" else stock
    h_edge = e / math.tan(math.radians(angle_deg))
    right = face((0, 0, 0.0), (e, h_edge, bulge), (half, line, 0.0), (half, height, 0.0))
    return symmetric(right) if side == "both" else one_sided(right, side == "left")


SHAPES = {
    "flat": saber(),
    "full flat": saber(line=30.0),
    "hollow": saber(-0.03),
    "convex": saber(0.02),
    "full convex": saber(0.02, line=30.0),
    "right-ground": saber(side="right"),
    "left-ground": saber(side="left"),
    "one-sided hollow": saber(-0.03, side="right"),
}
every_shape = pytest.mark.parametrize("section", SHAPES.values(), ids=SHAPES.keys())
every_back = pytest.mark.parametrize("back", BACKS)


@every_shape
def test_sharpened_back_by_nothing_changes_nothing(section):
    assert sharpened_back(section, 0.0) == pytest.approx(section, abs=1e-15)


@every_shape
@every_back
def test_the_apex_moves_up_and_keeps_its_angles(section, back):
    after = sharpened_back(section, back)
    assert after.shape == section.shape
    assert after[0, 0].tolist() == [0.0, back, 0.0]
    for before, now in zip(half_angles(section, 0.0), half_angles(after, back), strict=True):
        assert now == pytest.approx(before, abs=1e-12)


@every_shape
@every_back
def test_above_the_new_shoulder_nothing_is_touched(section, back):
    after = sharpened_back(section, back)
    shoulder = np.sort(after[0, :, 1][after[0, :, 1] > back])[0]
    y = np.linspace(shoulder + 1e-9, 30.0, 50)[None]
    for old, new in zip(faces_at(section, y), faces_at(after, y), strict=True):
        assert new == pytest.approx(old, abs=1e-10)


@every_shape
@every_back
def test_sharpening_only_takes_steel_off(section, back):
    after = sharpened_back(section, back)
    y = np.linspace(0.0, 30.0, 241)[None]
    assert (thickness(after, y) <= thickness(section, y) + 1e-12).all()
    assert measure(after).area_mm2 < measure(section).area_mm2


@every_shape
@every_back
def test_sharpened_twice_is_sharpened_once_by_the_sum(section, back):
    assert sharpened_back(sharpened_back(section, back), back) == pytest.approx(
        sharpened_back(section, 2 * back), abs=1e-11
    )


@every_back
def test_left_and_right_ground_stay_mirror_images(back):
    right, left = SHAPES["right-ground"], SHAPES["left-ground"]
    assert np.array_equal(sharpened_back(left, back), mirrored(sharpened_back(right, back)))


@every_back
@pytest.mark.parametrize("angle_deg", [12.0, 20.0, 30.0])
def test_the_new_shoulder_of_a_flat_lies_where_two_lines_cross(back, angle_deg):
    # x = m (y - s) meets x = e + p (y - h_edge).
    te, stock, line = 0.5, 4.0, 20.0
    m = math.tan(math.radians(angle_deg))
    h_edge = te / 2 / m
    p = (stock - te) / 2 / (line - h_edge)
    y = (te / 2 - p * h_edge + m * back) / (m - p)
    after = sharpened_back(saber(te=te, angle_deg=angle_deg), back)
    assert after[0, 1, 0] == pytest.approx(m * (y - back), rel=1e-12)
    assert after[0, 1, 1] == pytest.approx(y, rel=1e-12)


@every_back
@pytest.mark.parametrize("bulge", [-0.03, 0.02])
def test_the_new_shoulder_of_an_arc_lies_on_its_circle(back, bulge):
    section = saber(bulge)
    (x0, y0), (x1, y1) = section[0, 1, :2], section[0, 2, :2]
    c = math.hypot(x1 - x0, y1 - y0)
    apothem = c * (1 - bulge**2) / (4 * bulge)
    centre = ((x0 + x1) / 2 - (y1 - y0) / c * apothem, (y0 + y1) / 2 + (x1 - x0) / c * apothem)
    x, y = sharpened_back(section, back)[0, 1, :2]
    assert math.hypot(x - centre[0], y - centre[1]) == pytest.approx(c * (1 + bulge**2) / (4 * abs(bulge)), rel=1e-12)
    assert x == pytest.approx(math.tan(math.radians(20.0)) * (y - back), rel=1e-11)


@every_back
def test_past_the_grind_line_the_bevel_meets_the_unground_flat(back):
    # Half thickness 2 at 20 degrees: the shoulder stands 2 / tan 20 = 5.495 mm above the apex.
    section = saber(line=6.0)
    after = sharpened_back(section, 4.0 + back)
    assert after[0, 1, :2] == pytest.approx((2.0, 4.0 + back + 2 / math.tan(math.radians(20.0))), rel=1e-12)


@every_back
def test_a_blade_ground_to_zero_moves_up_whole(back):
    # Both facets move up by s: the section loses stock x s, and its grind line climbs by s.
    scandi = symmetric(face((0, 0, 0.0), (0, 0, 0.0), (1.5, 8.0, 0.0), (1.5, 20.0, 0.0)))
    after = sharpened_back(scandi, back)
    assert measure(scandi).area_mm2 - measure(after).area_mm2 == pytest.approx(3.0 * back, abs=1e-11)
    y = np.linspace(back, back + 8.0, 9)[None]
    assert thickness(after, y)[0] == pytest.approx(np.linspace(0.0, 3.0, 9), abs=1e-12)


@every_back
def test_one_vertex_less_makes_no_difference_to_a_blade_ground_to_zero(back):
    with_bevel = symmetric(face((0, 0, 0.0), (0, 0, 0.0), (1.5, 8.0, 0.0), (1.5, 20.0, 0.0)))
    without = symmetric(face((0, 0, 0.0), (1.5, 8.0, 0.0), (1.5, 20.0, 0.0)))
    y = np.linspace(0.0, 20.0, 81)[None]
    assert thickness(sharpened_back(with_bevel, back), y) == pytest.approx(
        thickness(sharpened_back(without, back), y), abs=1e-12
    )


def test_a_bevel_that_would_bridge_a_steep_hollow_adds_no_steel():
    # The upper curve of this hollow is steeper (22 degrees) than the edge bevel (15 degrees): a stone laid on the
    # bevel comes to touch the grind line too, and between both stays the hollow.
    d, radius = 1.8, 25.0
    high = math.sqrt(2 * radius * d - d * d)
    bulge = -float(bulge_from_radius(np.hypot(d, high), radius))
    h_edge = 0.2 / math.tan(math.radians(15.0))
    section = saber(bulge, te=0.4, angle_deg=15.0, stock=4.0, line=h_edge + high)
    y = np.linspace(0.0, 30.0, 601)[None]
    for back in (2.5, 2.6, 2.7, 3.0):
        after = sharpened_back(section, back)
        assert (thickness(after, y) <= thickness(section, y) + 1e-9).all(), f"sharpened back by {back} mm"


@pytest.mark.parametrize("back", [1e-13, 1e-10, 1e-7])
def test_a_single_stroke_leaves_straight_faces_straight(back):
    assert sharpened_back(saber(), back)[..., 2] == pytest.approx(np.zeros((1, 7)), abs=1e-15)


@given(
    te=st.floats(0.05, 1.5),
    angle_deg=st.floats(8.0, 35.0),
    stock=st.floats(2.0, 12.0),
    line=st.floats(15.0, 40.0),
    turn=st.floats(-0.9, 0.9),
    back=st.floats(0.001, 3.0),
    side=st.sampled_from(["both", "left", "right"]),
)
def test_any_blade_loses_steel_below_its_new_shoulder_only(te, angle_deg, stock, line, turn, back, side):
    faces = 2 if side == "both" else 1
    h_edge = te / faces / math.tan(math.radians(angle_deg))
    if line - h_edge < 5.0:
        line = h_edge + 5.0
    chord = math.atan((stock - te) / faces / (line - h_edge))
    # Neither steeper than the bevel at any height nor narrowing to a waist.
    room = math.radians(angle_deg) - chord
    assume(room > 0)
    bulge = math.tan(turn * min(chord, room) / 2)
    section = saber(bulge, te=te, angle_deg=angle_deg, stock=stock, line=line, height=150.0, side=side)
    after = sharpened_back(section, back)
    y = np.linspace(0.0, 150.0, 301)[None]
    old, new = thickness(section, y), thickness(after, y)
    bevel = faces * math.tan(math.radians(angle_deg)) * np.maximum(y - back, 0.0)
    assert new == pytest.approx(np.minimum(old, bevel), abs=1e-9)


@pytest.mark.parametrize("back", [-0.01, -1e9])
def test_nothing_is_sharpened_on(back):
    with pytest.raises(GeometryError, match="less than nothing"):
        sharpened_back(SHAPES["flat"], back)


@pytest.mark.parametrize("back", [30.0, 31.0, math.inf])
def test_nothing_is_left_past_the_spine(back):
    with pytest.raises(GeometryError, match="nothing is left"):
        sharpened_back(SHAPES["flat"], back)


@pytest.mark.parametrize("back", [0.05, 5.0, 29.0])
def test_a_wedge_to_the_spine_stays_a_wedge_and_its_spine_grows_narrower(back):
    # No flat is left for the bevel to meet: it runs out at the spine, 30 - s above the new apex.
    wedge = symmetric(face((0, 0, 0.0), (0, 0, 0.0), (3, 30, 0.0), (3, 30, 0.0)))
    after = sharpened_back(wedge, back)
    assert measure(after).area_mm2 == pytest.approx(90 * (1 - back / 30) ** 2, rel=1e-12)
    assert thickness(after, 30.0) == pytest.approx(6 * (1 - back / 30), rel=1e-12)


def test_sharpened_up_to_the_spine_only_the_bevel_is_left():
    after = sharpened_back(SHAPES["flat"], 29.0)
    assert thickness(after, 30.0) == pytest.approx(2 * math.tan(math.radians(20.0)), rel=1e-12)
    assert measure(after).area_mm2 == pytest.approx(math.tan(math.radians(20.0)), rel=1e-12)


def test_one_blade_worn_out_does_not_spoil_its_batch():
    wedge = symmetric(face((0, 0, 0.0), (0, 0, 0.0), (3, 30, 0.0), (3, 30, 0.0)))
    after = sharpened_back(np.concatenate([saber(), wedge]), 0.05)
    assert after[0] == pytest.approx(sharpened_back(saber(), 0.05)[0], abs=1e-14)


def test_not_a_number_is_refused():
    with pytest.raises(GeometryError):
        sharpened_back(SHAPES["flat"], math.nan)


def test_shapes_of_single_and_batch():
    batch = np.concatenate([saber(), saber(-0.03), saber(0.02)])
    assert sharpened_back(batch[0], 0.5).shape == batch[0].shape
    together = sharpened_back(batch, np.array([0.1, 0.5, 1.0]))
    for row, back in enumerate((0.1, 0.5, 1.0)):
        assert np.array_equal(together[row], sharpened_back(batch[row], back))


def test_the_section_given_is_left_as_it_was():
    section = saber()
    before = section.copy()
    sharpened_back(section, 1.0)
    assert np.array_equal(section, before)
