"""Thickness, face angles, area and cuts at any height, against circles and triangles worked out by hand."""

import math

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from recommender.errors import GeometryError
from recommender.geometry.outline import Sides, face, mirrored, one_sided, symmetric
from recommender.geometry.profile import (
    area_below,
    clipped,
    faces_at,
    half_angles,
    height_at_thickness,
    min_thickness,
    register_width,
    thickness,
)
from recommender.geometry.section import measure

TRIANGLE = np.array([[0.0, 0, 0], [2, 40, 0], [-2, 40, 0]])
FULL_FLAT = symmetric(face((0, 0, 0.0), (0.2, 0.5, 0.0), (2, 30, 0.0), (2, 30, 0.0)))[0]
"""Line at the spine: the sides above it have no length."""
ZERO_GROUND = symmetric(face((0, 0, 0.0), (0, 0, 0.0), (2, 10, 0.0), (2, 30, 0.0)))[0]
"""No edge thickness: the edge bevel has no length."""
SABER = symmetric(face((0, 0, 0.0), (0.25, 1, 0.0), (2, 15, 0.0), (2, 30, 0.0)))[0]
DISC = symmetric(face((0, 0, 1.0), (0, 10, 0.0)))[0]
"""Two half-circles, r = 5, resting on the origin."""


def circle(p, q, bulge):
    """Centre and radius of the arc p to q: r = c (1 + b^2) / (4 |b|), centre left of the chord where b > 0."""
    (x0, y0), (x1, y1) = p, q
    c = math.hypot(x1 - x0, y1 - y0)
    apothem = c * (1 - bulge**2) / (4 * bulge)
    return (
        (x0 + x1) / 2 - (y1 - y0) / c * apothem,
        (y0 + y1) / 2 + (x1 - x0) / c * apothem,
        c * (1 + bulge**2) / (4 * abs(bulge)),
    )


def blade(bulge, *, e=0.25, shoulder=1.0, half=2.0, line=20.0, height=30.0):
    """Symmetric section with an arc from shoulder to line, and the arc's x(y) by the equation of its circle."""
    section = symmetric(face((0, 0, 0.0), (e, shoulder, bulge), (half, line, 0.0), (half, height, 0.0)))[0]
    cx, cy, r = circle((e, shoulder), (half, line), bulge)
    sign = math.copysign(1, bulge)
    return section, lambda y: cx + sign * np.sqrt(r**2 - (y - cy) ** 2)


# Thickness and faces


@pytest.mark.parametrize("y", [0.0, 1e-9, 0.5, 10.0, 39.999, 40.0])
def test_thickness_of_a_triangle(y):
    assert thickness(TRIANGLE, y) == pytest.approx(y / 10, rel=1e-14, abs=1e-15)


@pytest.mark.parametrize("y", [-1.0, 40.001, 1e6])
def test_no_thickness_outside(y):
    assert thickness(TRIANGLE, y) == 0.0
    assert faces_at(TRIANGLE, y) == (0.0, 0.0)


@pytest.mark.parametrize("section", [FULL_FLAT, ZERO_GROUND, SABER], ids=["full", "zero", "saber"])
def test_the_spine_has_its_full_width_seen_from_below_and_none_from_above(section):
    assert thickness(section, 30.0) == 4.0
    assert thickness(section, 30.0, above=True) == 0.0


@pytest.mark.parametrize(
    ("section", "y", "wanted"),
    [
        (FULL_FLAT, 0.5, 0.4),
        (FULL_FLAT, 15.25, 2.2),
        (ZERO_GROUND, 0.0, 0.0),
        (ZERO_GROUND, 5.0, 2.0),
        (ZERO_GROUND, 20.0, 4.0),
        (SABER, 1.0, 0.5),
        (SABER, 8.0, 2.25),
        (SABER, 15.0, 4.0),
    ],
)
@pytest.mark.parametrize("above", [False, True])
def test_thickness_of_straight_faces(section, y, wanted, above):
    assert thickness(section, y, above=above) == pytest.approx(wanted, abs=1e-14)


@pytest.mark.parametrize("bulge", [-0.05, -0.01, -1e-5, -1e-9, 1e-9, 1e-5, 0.01, 0.05, 0.2])
def test_thickness_of_arcs_follows_the_circle(bulge):
    section, x = blade(bulge)
    y = np.linspace(1.0, 20.0, 41)
    # The circle's own equation loses digits as the radius grows.
    lost = 1e-15 / abs(bulge)
    assert thickness(section, y[None])[None] == pytest.approx(2 * x(y)[None], abs=1e-12 + 100 * lost)


@pytest.mark.parametrize("bulge", [0.0, 1e-300, -1e-300, 1e-12, -1e-12])
def test_an_arc_shallower_than_rounding_is_a_line(bulge):
    section, _ = blade(bulge or 1e-300)
    y = np.linspace(1.0, 20.0, 41)
    line = 0.5 + (y - 1.0) * 3.5 / 19.0
    assert thickness(section, y[None]) == pytest.approx(line, abs=1e-10)


@given(st.floats(0.0, 10.0))
@example(5.0)
@example(1e-12)
def test_thickness_of_a_disc_of_two_half_circles(y):
    assert thickness(DISC, y) == pytest.approx(2 * math.sqrt(y * (10 - y)), abs=1e-9)


@given(st.floats(0, 2 * math.pi), st.integers(3, 6), st.floats(-0.99, 0.99))
def test_faces_that_turn_back_are_counted(turn, arcs, level):
    angle = turn + 2 * math.pi * np.arange(arcs) / arcs
    disc = np.stack([np.cos(angle), np.sin(angle), np.full(arcs, math.tan(math.pi / (2 * arcs)))], -1)
    assert thickness(disc, level) == pytest.approx(2 * math.sqrt(1 - level**2), abs=1e-7)


@pytest.mark.parametrize("start_deg", [-100.0, -60.0, -20.0, 0.0, 20.0, 45.0])
def test_a_level_through_a_vertex_beside_a_crest_counts_both_faces(start_deg):
    # Three arcs of a unit circle; the second vertex lies 120 degrees on, before or behind the crest at 90.
    angle = np.radians(start_deg + np.array([0.0, 120.0, 240.0]))
    disc = np.stack([np.cos(angle), np.sin(angle), np.full(3, math.tan(math.pi / 6))], -1)
    level = disc[1, 1]
    assert thickness(disc, level) == pytest.approx(2 * math.sqrt(1 - level**2), abs=1e-7)


@given(st.floats(0.01, 29.99))
def test_faces_of_a_symmetric_section_mirror_each_other(y):
    left, right = faces_at(SABER, y)
    assert left == pytest.approx(-right, rel=1e-15)
    assert right - left == pytest.approx(thickness(SABER, y), rel=1e-15)


@given(st.floats(0.01, 29.99), st.booleans())
def test_one_sided_faces(y, left_ground):
    section = one_sided(face((0, 0, 0.0), (0.5, 1, 0.0), (4, 20, 0.0), (4, 30, 0.0)), left_ground)[0]
    left, right = faces_at(section, y)
    ground, plane = (left, right) if left_ground else (right, left)
    assert plane == 0.0
    assert abs(ground) == thickness(section, y) > 0
    assert bool(ground < 0) is left_ground


# Face angles


@pytest.mark.parametrize(
    ("section", "y", "below", "above"),
    [
        (SABER, 0.5, 0.25, 0.25),
        (SABER, 1.0, 0.25, 0.125),
        (SABER, 8.0, 0.125, 0.125),
        (SABER, 15.0, 0.125, 0.0),
        (SABER, 20.0, 0.0, 0.0),
        (FULL_FLAT, 0.5, 0.4, 1.8 / 29.5),
        (ZERO_GROUND, 5.0, 0.2, 0.2),
        (ZERO_GROUND, 10.0, 0.2, 0.0),
    ],
)
def test_half_angles_of_straight_faces(section, y, below, above):
    for flag, slope in ((False, below), (True, above)):
        left, right = half_angles(section, y, above=flag)
        assert math.tan(right) == pytest.approx(slope, abs=1e-13)
        assert math.tan(left) == pytest.approx(slope, abs=1e-13)


@pytest.mark.parametrize("section", [SABER, FULL_FLAT], ids=["saber", "full"])
def test_the_apex_has_the_angle_of_the_edge_bevel(section):
    left, right = half_angles(section, 0.0)
    assert math.tan(left) == pytest.approx(section[1, 0] / section[1, 1], rel=1e-14)
    assert left == right


def test_the_apex_of_a_blade_ground_to_zero_has_the_angle_of_its_facet():
    assert half_angles(ZERO_GROUND, 0.0) == pytest.approx((math.atan(0.2), math.atan(0.2)), rel=1e-14)


@pytest.mark.parametrize("bulge", [-0.05, -0.003, 0.003, 0.05, 0.2])
def test_half_angles_of_arcs_are_square_to_the_radius(bulge):
    section, _ = blade(bulge)
    cx, cy, _ = circle((0.25, 1.0), (2.0, 20.0), bulge)
    for y in np.linspace(1.0, 19.9, 12):
        _, x = faces_at(section, y)
        left, right = half_angles(section, y)
        assert math.tan(right) == pytest.approx(-(y - cy) / (x - cx), abs=1e-11)
        assert left == pytest.approx(right, abs=1e-14)


def test_chord_and_tangents_of_an_arc_differ_by_half_its_angle():
    bulge = 0.03
    section, _ = blade(bulge)
    chord = math.atan(1.75 / 19.0)
    half_arc = 2 * math.atan(bulge)
    assert half_angles(section, 1.0)[1] == pytest.approx(chord + half_arc, abs=1e-13)
    assert half_angles(section, 20.0, above=False)[1] == pytest.approx(chord - half_arc, abs=1e-13)


@pytest.mark.parametrize("y", [0.5, 2.0, 5.0, 8.0])
def test_half_angles_of_a_half_circle(y):
    assert math.tan(half_angles(DISC, y)[1]) == pytest.approx((5 - y) / math.sqrt(y * (10 - y)), abs=1e-12)


def test_a_half_circle_starts_square_to_the_centre_plane():
    assert half_angles(DISC, 0.0) == pytest.approx((math.pi / 2, math.pi / 2), abs=1e-7)


def test_a_one_sided_section_has_one_angle():
    right_ground = one_sided(face((0, 0, 0.0), (0.5, 1, 0.0), (4, 20, 0.0), (4, 30, 0.0)))[0]
    assert half_angles(right_ground, 0.5) == pytest.approx((0.0, math.atan(0.5)), abs=1e-15)
    assert half_angles(mirrored(right_ground[None])[0], 0.5) == pytest.approx((math.atan(0.5), 0.0), abs=1e-15)


# Area below a height, and cutting there


@pytest.mark.parametrize(
    ("section", "y", "wanted"),
    [
        (TRIANGLE, 20.0, 20.0),
        (ZERO_GROUND, 10.0, 20.0),
        (ZERO_GROUND, 12.0, 28.0),
        (SABER, 1.0, 0.25),
        (SABER, 15.0, 0.25 + 14 * 2.25),
        (SABER, 30.0, 0.25 + 14 * 2.25 + 60.0),
        (FULL_FLAT, 30.0, 0.1 + 29.5 * 2.2),
        (DISC, 5.0, 12.5 * math.pi),
        (DISC, 10.0, 25 * math.pi),
        (DISC, 2.5, 25 * (math.pi / 3 - math.sqrt(3) / 4)),  # circular segment of 120 degrees
    ],
)
def test_area_below(section, y, wanted):
    assert area_below(section, y) == pytest.approx(wanted, rel=1e-13)


@pytest.mark.parametrize("y", [0.0, -3.0])
@pytest.mark.parametrize("section", [TRIANGLE, SABER, ZERO_GROUND, DISC], ids=["wedge", "saber", "zero", "disc"])
def test_nothing_lies_below_the_edge(section, y):
    assert area_below(section, y) == 0.0


@pytest.mark.parametrize("bulge", [-0.05, -0.01, 0.01, 0.05, 0.2])
def test_area_below_a_level_across_an_arc_is_the_integral_of_the_circle(bulge):
    section, x = blade(bulge)
    nodes, weights = np.polynomial.legendre.leggauss(40)
    for y in (1.5, 7.0, 13.3, 20.0):
        arc = np.sum(2 * x(1 + (y - 1) * (nodes + 1) / 2) * weights) * (y - 1) / 2
        assert area_below(section, y) == pytest.approx(0.25 + arc, rel=1e-12)


def test_a_face_that_turns_back_has_no_area_below_a_height():
    turned = face((0, 0, 0.0), (0.5, 1, -0.9), (4, 3, 0.0), (4, 30, 0.0))
    with pytest.raises(GeometryError, match="turns back"):
        area_below(symmetric(turned), 2.0)
    with pytest.raises(GeometryError, match="turns back"):
        clipped(symmetric(turned), 2.0)


@st.composite
def sections(draw):
    """Blade-like sections, symmetric or one-sided: arcs that neither turn back in y nor narrow to a waist."""
    half = draw(st.floats(0.25, 6.0))
    height = draw(st.floats(5.0, 120.0))
    line = height * draw(st.sampled_from([1.0, 0.8, 0.35]))
    e = half * draw(st.floats(0.02, 0.5))
    shoulder = line * draw(st.floats(0.02, 0.3))
    chord = math.atan2(half - e, line - shoulder)
    turn = draw(st.floats(-0.98, 0.98))
    upright = math.pi / 2 - chord
    bulge = turn * math.tan((upright if turn > 0 else min(chord, upright)) / 2)
    right = face((0, 0, 0.0), (e, shoulder, bulge), (half, line, 0.0), (half, height, 0.0))
    kind = draw(st.sampled_from(["both", "right", "left"]))
    return symmetric(right) if kind == "both" else one_sided(right, kind == "left")


def height_of(section):
    return float(section[..., 1].max())


@given(sections())
def test_area_below_the_spine_is_the_whole_area(section):
    whole = measure(section).area_mm2
    scale = height_of(section) * np.ptp(section[..., 0])
    assert area_below(section, height_of(section)) == pytest.approx(whole, abs=1e-12 * max(scale, float(whole[0])))


@given(sections(), st.floats(0.05, 1.0))
def test_the_area_of_what_is_cut_off_below_is_the_area_below(section, share):
    level = share * height_of(section)
    whole = float(measure(section).area_mm2[0])
    assert measure(clipped(section, level)).area_mm2 == pytest.approx(area_below(section, level), abs=1e-11 * whole)


@given(sections())
def test_cut_off_at_the_spine_or_above_nothing_changes(section):
    top = height_of(section)
    for level in (top, top * 1.5):
        assert clipped(section, level) == pytest.approx(section, abs=1e-12 * top)


@given(sections(), st.floats(0.05, 0.999))
def test_a_cut_leaves_the_faces_below_it_alone(section, share):
    top = share * height_of(section)
    cut = clipped(section, top)
    assert cut.shape == section.shape
    assert cut[..., 1].max() == pytest.approx(top, rel=1e-15)
    y = np.linspace(0.0, 1.0, 17)[None] * top
    for before, after in zip(faces_at(section, y), faces_at(cut, y), strict=True):
        assert after == pytest.approx(before, abs=1e-10 * height_of(section))


@given(sections(), st.floats(0.2, 0.9), st.floats(0.1, 0.95))
def test_cut_twice_is_cut_once_at_the_lower_height(section, share, again):
    high = share * height_of(section)
    low = again * high
    assert clipped(clipped(section, high), low) == pytest.approx(clipped(section, low), abs=1e-9 * height_of(section))


@pytest.mark.parametrize("level", [0.0, -1.0])
def test_cut_off_at_the_edge_nothing_is_left_to_measure(level):
    with pytest.raises(GeometryError):
        measure(clipped(SABER[None], level))


@pytest.mark.parametrize("bulge", [-0.02, 1e-6, 0.02])
@pytest.mark.parametrize("vertex", [1.0, 20.0, 30.0])
@pytest.mark.parametrize("off", [-1e-13, -1e-11, -1e-9, 1e-13, 1e-11, 1e-9])
def test_a_level_a_hair_off_a_vertex_changes_next_to_nothing(bulge, vertex, off):
    section, _ = blade(bulge)
    at, beside = area_below(section, vertex), area_below(section, min(vertex + off, 30.0))
    assert beside == pytest.approx(at, abs=1e-11 + 4 * abs(off))


@pytest.mark.parametrize("off", [-1e-13, -1e-11, -1e-9, 1e-13, 1e-11, 1e-9])
@pytest.mark.parametrize("vertex", [1.0, 15.0])
def test_a_cut_a_hair_off_a_vertex_leaves_straight_faces_straight(vertex, off):
    assert clipped(SABER[None], vertex + off)[..., 2] == pytest.approx(np.zeros((1, 7)), abs=1e-15)


def test_an_arc_that_ends_level_is_met_at_its_end():
    # A quarter-circle of radius 3 about (4, 1), upright at the shoulder and level at the line.
    section = one_sided(face((0, 0, 0.0), (1, 1, -math.tan(math.pi / 8)), (4, 4, 0.0), (4, 5, 0.0)))[0]
    assert thickness(section, 4.0) == pytest.approx(4.0, abs=1e-7)
    assert height_at_thickness(section, 2.0) == pytest.approx(1 + math.sqrt(5), rel=1e-12)


def test_area_below_grows_by_the_thickness():
    section, _ = blade(-0.02)
    y, step = 9.0, 1e-4
    rise = area_below(section, y + step) - area_below(section, y - step)
    assert rise / (2 * step) == pytest.approx(thickness(section, y), rel=1e-7)


# Heights at a thickness, least thickness


@pytest.mark.parametrize(
    ("section", "wanted", "y"),
    [
        (TRIANGLE, 1.0, 10.0),
        (TRIANGLE, 0.0, 0.0),
        (TRIANGLE, 4.0, 40.0),
        (SABER, 0.25, 0.5),
        (SABER, 0.5, 1.0),
        (SABER, 2.25, 8.0),
        (SABER, 4.0, 15.0),
        (FULL_FLAT, 4.0, 30.0),
        (ZERO_GROUND, 2.0, 5.0),
        (ZERO_GROUND, 4.0, 10.0),
    ],
)
def test_height_at_thickness_of_straight_faces(section, wanted, y):
    assert height_at_thickness(section, wanted) == pytest.approx(y, rel=1e-12)


@pytest.mark.parametrize("bulge", [-0.04, -0.01, 0.01, 0.04])
def test_height_at_thickness_on_arcs(bulge):
    section, x = blade(bulge)
    for y in (2.0, 5.0, 11.0, 19.0):
        assert height_at_thickness(section, 2 * x(y)) == pytest.approx(y, abs=1e-9)


@pytest.mark.parametrize("section", [TRIANGLE, SABER, FULL_FLAT], ids=["wedge", "saber", "full"])
def test_thicker_than_the_bar_is_nowhere(section):
    assert math.isnan(height_at_thickness(section, 4.01))


def test_the_least_height_is_taken_where_a_waist_repeats_a_thickness():
    section, _ = blade(-0.09)
    assert thickness(section, 4.0) < 0.5 < thickness(section, 15.0)
    assert height_at_thickness(section, 0.5) == pytest.approx(1.0, abs=1e-12)


@given(sections(), st.floats(0.02, 0.98))
def test_thickness_at_the_height_of_a_thickness_is_that_thickness(section, share):
    wanted = share * float(np.ptp(section[..., 0]))
    y = height_at_thickness(section, wanted)
    assert thickness(section, y) == pytest.approx(wanted, abs=1e-9 * height_of(section))


@pytest.mark.parametrize("bulge", [-0.09, -0.06, -0.05])
def test_the_waist_of_a_hollow_lies_where_its_circle_is_nearest(bulge):
    cx, cy, r = circle((0.25, 1.0), (2.0, 20.0), bulge)
    assert 1.0 < cy < 20.0
    section, _ = blade(bulge)
    least, where = min_thickness(section, 1.0, 20.0)
    assert least == pytest.approx(2 * (cx - r), abs=1e-11)
    assert where == pytest.approx(cy, abs=1e-5)


def test_crossing_faces_have_a_thickness_below_zero():
    cx, _, r = circle((0.25, 1.0), (2.0, 20.0), -0.12)
    assert cx - r < 0
    assert min_thickness(blade(-0.12)[0], 1.0, 20.0)[0] == pytest.approx(2 * (cx - r), abs=1e-11)


@pytest.mark.parametrize("bulge", [-0.02, 0.0001, 0.05])
def test_without_a_waist_a_section_is_thinnest_at_the_lower_height(bulge):
    section, x = blade(bulge)
    assert min_thickness(section, 1.0, 20.0) == pytest.approx((0.5, 1.0), abs=1e-13)
    assert min_thickness(section, 6.0, 20.0) == pytest.approx((2 * x(6.0), 6.0), abs=1e-9)


def test_min_thickness_of_one_height_is_the_thickness_there():
    assert min_thickness(SABER, 8.0, 8.0) == pytest.approx((2.25, 8.0), abs=1e-14)


def test_min_thickness_refuses_heights_the_wrong_way_round():
    with pytest.raises(GeometryError, match="lower height"):
        min_thickness(SABER, 9.0, 8.0)


# The guiding facet


def facet(section):
    return register_width(section)


def test_a_scandi_guides_on_its_whole_facet():
    assert facet(ZERO_GROUND) == pytest.approx(math.hypot(2, 10), rel=1e-14)


def test_a_bevelled_blade_guides_on_its_edge_bevel_only():
    assert facet(SABER) == pytest.approx(math.hypot(0.25, 1.0), rel=1e-14)


def test_an_arc_guides_nothing_beyond_its_edge_bevel():
    assert facet(blade(-0.02)[0]) == pytest.approx(math.hypot(0.25, 1.0), rel=1e-14)
    lens = symmetric(face((0, 0, 0.05), (0, 40, 0.0)))[0]
    assert facet(lens) == 0.0


@pytest.mark.parametrize("left_ground", [False, True])
def test_a_chisel_is_guided_by_the_narrower_face(left_ground):
    section = one_sided(face((0, 0, 0.0), (0.5, 1, 0.0), (4, 20, 0.0), (4, 30, 0.0)), left_ground)[0]
    assert facet(section) == pytest.approx(math.hypot(0.5, 1.0), rel=1e-14)


def test_a_facet_that_starts_high_above_the_edge_guides_nothing():
    # Its plane meets the apex, but the first side below it stands back: a step from 0 to 0.6 mm.
    stepped = symmetric(face((0, 0, 0.0), (0.02, 0.6, 0.0), (0.12, 0.6, 0.0), (2.0, 10.0, 0.0), (2.0, 30, 0.0)))
    assert facet(stepped)[0] == pytest.approx(math.hypot(0.02, 0.6), rel=1e-14)


# Shapes


BATCH = np.stack([SABER, FULL_FLAT, ZERO_GROUND])
SHAPES = [
    (SABER, 3.0, ()),
    (SABER, np.ones((1, 5)), (5,)),
    (BATCH, 3.0, (3,)),
    (BATCH, np.ones(3), (3,)),
    (BATCH, np.ones((1, 5)), (3, 5)),
    (BATCH, np.ones((3, 5)), (3, 5)),
    (BATCH[:1], 3.0, (1,)),
    (BATCH[:1], np.ones((1, 1)), (1, 1)),
]
ROW_BY_ROW = {
    "thickness": thickness,
    "area_below": area_below,
    "left face": lambda o, y: faces_at(o, y)[0],
    "right face": lambda o, y: faces_at(o, y)[1],
    "left angle": lambda o, y: half_angles(o, y)[0],
    "right angle": lambda o, y: half_angles(o, y)[1],
}


@pytest.mark.parametrize("function", ROW_BY_ROW.values(), ids=ROW_BY_ROW.keys())
@pytest.mark.parametrize(("outline", "y", "shape"), SHAPES)
def test_shapes_of_profile_functions(function, outline, y, shape):
    assert np.shape(function(outline, y)) == shape


@pytest.mark.parametrize("function", ROW_BY_ROW.values(), ids=ROW_BY_ROW.keys())
def test_a_batch_gives_what_its_members_give(function):
    y = np.array([[0.3, 2.0, 14.0], [1.0, 8.0, 29.0], [0.0, 9.0, 30.0]])
    together = function(BATCH, y)
    for row, outline in enumerate(BATCH):
        for column, height in enumerate(y[row]):
            assert together[row, column] == function(outline, height)


@pytest.mark.parametrize("function", ROW_BY_ROW.values(), ids=ROW_BY_ROW.keys())
def test_sides_taken_once_give_the_same(function):
    assert np.array_equal(function(Sides.of(BATCH), 2.0), function(BATCH, 2.0))


def test_shapes_of_heights_and_least_thicknesses():
    assert np.shape(height_at_thickness(SABER, 1.0)) == ()
    assert np.shape(height_at_thickness(BATCH, 1.0)) == (3,)
    assert np.shape(height_at_thickness(BATCH, np.array([1.0, 2.0, 3.0]))) == (3,)
    assert [np.shape(part) for part in min_thickness(SABER, 1.0, 9.0)] == [(), ()]
    assert [np.shape(part) for part in min_thickness(BATCH, 1.0, np.array([9.0, 8.0, 7.0]))] == [(3,), (3,)]
    assert np.shape(register_width(SABER)) == ()
    assert np.shape(register_width(BATCH)) == (3,)
    assert clipped(BATCH, np.array([5.0, 6.0, 7.0])).shape == BATCH.shape


@pytest.mark.parametrize("function", [area_below, thickness, height_at_thickness, clipped])
def test_an_empty_batch_gives_an_empty_answer(function):
    assert len(function(np.empty((0, 7, 3)), 1.0)) == 0
