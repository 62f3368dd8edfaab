"""What every built-in grind promises over its whole parameter range: sound outlines, or a refusal with a reason."""

import functools
import math

import bevelwright_builtin
import numpy as np
import pytest

from recommender.geometry.outline import Sides
from recommender.geometry.profile import half_angles, min_thickness, thickness
from recommender.mechanics.sharpening import BACK_PER_SHARPENING_MM, steel_per_sharpening_mm2
from recommender.plugin.api import BOTH, LEFT, RIGHT, Workshop
from recommender.plugin.testing import check_grind
from recommender.plugin.testing import designs_over_range as designs_of
from recommender.plugin.testing import refused as shut_out

GRINDS = {grind.id: grind for grind in bevelwright_builtin.grinds()}
IDS = {
    "full-flat", "saber-flat", "full-hollow", "saber-hollow", "convex",
    "saber-convex", "scandi", "single-bevel", "chisel", "saber-chisel", "compound",
}  # fmt: skip
FULL = {"full-flat", "full-hollow", "convex", "chisel"}
ONE_SIDED = {"chisel", "saber-chisel", "single-bevel"}
ZERO = {"scandi", "single-bevel"}
HOLLOWS = ("full-hollow", "saber-hollow")
CONVEX = ("convex", "saber-convex")
WHEELS = (50.0, 100.0, 150.0, 200.0, 250.0, 300.0, 350.0)
WORKSHOP = Workshop(wheels_mm=WHEELS, platen=True, slack_belt=True)
ANGLE, TE, STOCK, LINE = "edge_angle_per_side_deg", "edge_thickness_mm", "stock_thickness_mm", "grind_line_mm"

every_grind = pytest.mark.parametrize("name", sorted(GRINDS))


@functools.cache
def sound(name):
    """Designs that this grind does not refuse, with their outlines."""
    grind = GRINDS[name]
    designs = designs_of(grind)
    designs = designs.taking(~shut_out(grind, designs))
    return designs, grind.outlines(designs)


@functools.cache
def zones(name):
    """Each zone's outlines: the blade's section, and the tip's where it differs."""
    designs, outlines = sound(name)
    grind = GRINDS[name]
    return [outlines] if grind.tip_outlines is None else [outlines, grind.tip_outlines(designs)]


def bevel_deg(designs):
    """Angle per side of the bevel at the apex: the micro-bevel's where there is one."""
    micro = designs["micro_bevel_per_side_deg"]
    return np.where(np.isnan(micro), designs[ANGLE], micro)


def shoulder_mm(designs, name):
    """h_edge = e / tan a, e = te/2 where both sides are ground, te where one is."""
    e = designs[TE] / (1 if name in ONE_SIDED else 2)
    if name in ZERO:
        return e / np.tan(np.radians(bevel_deg(designs)))
    # A micro-bevel is 0.1 mm thick at most, and no more than half the edge.
    micro = np.where(np.isnan(designs["micro_bevel_per_side_deg"]), 0.0, np.minimum(0.1, designs[TE] / 2))
    m = micro / (1 if name in ONE_SIDED else 2)
    return (e - m) / np.tan(np.radians(designs[ANGLE])) + m / np.tan(np.radians(bevel_deg(designs)))


def chord_rad(designs, name):
    sides = 1 if name in ONE_SIDED else 2
    return np.arctan((designs[STOCK] - designs[TE]) / sides / (designs[LINE] - shoulder_mm(designs, name)))


def test_all_families_are_there_under_their_own_names():
    assert set(GRINDS) == IDS
    assert len(bevelwright_builtin.grinds()) == len(IDS)


@every_grind
def test_every_grind_tells_what_it_is(name):
    grind = GRINDS[name]
    assert grind.parent in name or name in {"scandi", "single-bevel", "chisel", "saber-chisel", "compound"}
    for text in (grind.label, grind.about, grind.made, grind.sharpened):
        assert text == text.strip() != ""
    assert grind.surfaces
    names = [parameter.name for parameter in grind.parameters]
    assert len(names) == len(set(names))
    for parameter in grind.parameters:
        assert parameter.choices or parameter.low < parameter.high or parameter.name == "wheel_diameter_mm"


@every_grind
def test_enough_of_the_range_can_be_made_for_these_tests_to_mean_something(name):
    designs, _ = sound(name)
    assert len(designs) >= (30 if name == "full-hollow" else 200)


@every_grind
def test_it_keeps_what_every_plugin_promises(name):
    """Shapes, sense of travel, sides, refusals in every workshop, the same whole, alone and again: the public kit."""
    assert check_grind(GRINDS[name]) == []


@every_grind
def test_the_spine_is_as_wide_as_the_bar_and_nothing_is_wider(name):
    designs, _ = sound(name)
    for outlines in zones(name):
        assert outlines[..., 1].max(axis=1) == pytest.approx(designs["height_mm"], rel=1e-14)
        assert thickness(outlines, designs["height_mm"]) == pytest.approx(designs[STOCK], rel=1e-12)
        assert np.ptp(outlines[..., 0], axis=1) == pytest.approx(designs[STOCK], rel=1e-12)


@every_grind
def test_the_shoulder_is_as_thick_as_asked(name):
    designs, _ = sound(name)
    for outlines in zones(name):
        assert thickness(outlines, shoulder_mm(designs, name)) == pytest.approx(designs[TE], abs=1e-11)


@every_grind
def test_the_grind_ends_at_its_line_at_full_stock(name):
    designs, _ = sound(name)
    assert (designs[LINE] <= designs["height_mm"] * (1 + 1e-12)).all()
    for outlines in zones(name):
        sides = Sides.of(outlines).flat_backed  # a hollow in the back is no part of the ground face
        assert thickness(sides, designs[LINE]) == pytest.approx(designs[STOCK], rel=1e-11)
        assert (thickness(sides, 0.98 * designs[LINE]) < designs[STOCK]).all()


@every_grind
def test_full_grinds_reach_the_spine(name):
    designs, _ = sound(name)
    reach = designs[LINE] / designs["height_mm"]
    assert (reach == 1.0).all() if name in FULL else (reach < 1.0).mean() > 0.9


@every_grind
def test_the_apex_has_the_angle_asked_on_every_ground_side(name):
    designs, _ = sound(name)
    wanted = np.radians(bevel_deg(designs))
    for outlines in zones(name):
        left, right = half_angles(outlines, 0.0)
        ground_left = np.isin(designs["side"], (BOTH, LEFT))
        ground_right = np.isin(designs["side"], (BOTH, RIGHT))
        assert left == pytest.approx(np.where(ground_left, wanted, 0.0), abs=1e-12)
        assert right == pytest.approx(np.where(ground_right, wanted, 0.0), abs=1e-12)


@every_grind
def test_just_above_the_shoulder_no_face_is_steeper_than_the_edge_bevel(name):
    designs, _ = sound(name)
    for outlines in zones(name):
        for angle in half_angles(outlines, shoulder_mm(designs, name) + 1e-9):
            assert (np.degrees(angle) <= designs[ANGLE] + 1e-5).all()


@every_grind
def test_sides_are_those_of_its_kind(name):
    # That sections are mirror images accordingly is the kit's to check.
    designs, _ = sound(name)
    assert set(designs["side"]) == ({LEFT, RIGHT} if name in ONE_SIDED else {BOTH})


@every_grind
def test_no_section_is_thinner_above_its_shoulder_than_at_it(name):
    designs, _ = sound(name)
    for outlines in zones(name):
        least, _ = min_thickness(outlines, shoulder_mm(designs, name), designs[LINE])
        assert (least >= designs[TE] - 1e-9).all()


@every_grind
def test_sections_only_widen_towards_the_line(name):
    designs, _ = sound(name)
    y = designs[LINE][:, None] * np.linspace(0.0, 1.0, 61)
    for outlines in zones(name):
        t = thickness(outlines, y)
        assert (np.diff(t, axis=1) >= -1e-9).all()


@every_grind
def test_what_is_not_refused_can_be_sharpened_and_loses_steel(name):
    designs, _ = sound(name)
    spread = np.tan(np.radians(bevel_deg(designs))) * (1 if name in ONE_SIDED else 2)
    s = BACK_PER_SHARPENING_MM
    for outlines in zones(name):
        steel = steel_per_sharpening_mm2(outlines)
        # At least the tip of the bevel goes; at most a strip of the bar's width along both faces. The rims of a
        # hollowed back, 1.5 mm and 0.05 mm wide, go down by the difference of sagittas c^2/8R: 2 s c/4R, 8R = c^2/0.2.
        assert (steel >= spread * s**2 / 2 * (1 - 1e-6)).all()
        rims = 0.0
        if name == "single-bevel":
            chord = designs["height_mm"] - 3.0
            rims = np.where(designs["back"] == "hollowed", 3.2 * 0.8 * s / chord, 0.0)
        assert (steel <= designs[STOCK] * s * (1 + 1e-6) + rims).all()


def test_a_scandi_that_ends_at_the_spine_can_be_sharpened():
    # A wedge 3 mm wide and 15 mm high, its apex 0.05 mm up: similar to itself, (14.95 / 15)^2 of its area.
    scandi = GRINDS["scandi"]
    given = {STOCK: 3.0, "height_mm": 15.0, ANGLE: math.degrees(math.atan(0.1)), "micro_bevel": "no"}
    designs = designs_of(scandi, 2, **given)
    assert not shut_out(scandi, designs).any()
    steel = steel_per_sharpening_mm2(scandi.outlines(designs))
    assert steel == pytest.approx(22.5 * (1 - (14.95 / 15) ** 2) * np.ones(2), rel=1e-9)


# Each family's own shape


@pytest.mark.parametrize("name", ["full-flat", "saber-flat", "chisel", "saber-chisel"])
def test_the_platen_angle_of_a_flat(name):
    designs, outlines = sound(name)
    middle = (shoulder_mm(designs, name) + designs[LINE]) / 2
    left, right = half_angles(outlines, middle)
    assert np.maximum(left, right) == pytest.approx(chord_rad(designs, name), abs=1e-11)


@pytest.mark.parametrize("name", [*HOLLOWS, "compound"])
def test_a_hollow_is_an_arc_of_its_wheel(name):
    designs, outlines = sound(name)
    hollow = ~np.isnan(designs["wheel_diameter_mm"])  # not the flat edge zones of a compound
    designs, outlines = designs.taking(hollow), outlines[hollow]
    low, line = shoulder_mm(designs, name), designs[LINE]
    deep = (designs[STOCK] - designs[TE]) / 2
    # Walked up, it is the least arc without a waist: (H^2 + d^2)/d.
    walked = designs["hollow_ground"] == "walked-up"
    assert walked.any()
    diameter = np.where(walked, ((line - low) ** 2 + deep**2) / deep, designs["wheel_diameter_mm"])
    x0, x1, r = designs[TE] / 2, designs[STOCK] / 2, diameter / 2
    c = np.hypot(x1 - x0, line - low)
    apothem = np.sqrt(r**2 - c**2 / 4)
    # The wheel stands to the right of the face on its way up.
    cx = (x0 + x1) / 2 + (line - low) / c * apothem
    cy = (low + line) / 2 - (x1 - x0) / c * apothem
    for share in (0.2, 0.5, 0.9):
        y = low + share * (line - low)
        assert thickness(outlines, y) == pytest.approx(2 * (cx - np.sqrt(r**2 - (y - cy) ** 2)), abs=1e-8)


@pytest.mark.parametrize("name", HOLLOWS)
def test_a_hollow_bends_inwards_and_a_convex_outwards_of_the_straight_line(name):
    designs, outlines = sound(name)
    middle = (shoulder_mm(designs, name) + designs[LINE]) / 2
    assert (thickness(outlines, middle) < (designs[TE] + designs[STOCK]) / 2).all()


@pytest.mark.parametrize("name", CONVEX)
def test_a_convex_bends_outwards_and_stays_within_its_tangents(name):
    designs, outlines = sound(name)
    low, line = shoulder_mm(designs, name), designs[LINE]
    middle = (low + line) / 2
    chord, a = chord_rad(designs, name), np.radians(designs[ANGLE])
    shallow = np.minimum(chord, a - chord) < 1e-9
    assert (thickness(outlines, middle) > (designs[TE] + designs[STOCK]) / 2)[~shallow].all()
    below, above = half_angles(outlines, low)[1], half_angles(outlines, line, above=False)[1]
    turn = designs["crown_share"] * np.minimum(chord, a - chord)
    assert below == pytest.approx(chord + turn, abs=1e-9)
    assert above == pytest.approx(chord - turn, abs=1e-9)
    assert (above >= -1e-9).all()


def test_the_facets_of_a_scandi_meet_at_the_edge():
    designs, outlines = sound("scandi")
    plain = designs["micro_bevel"] == "no"
    a = np.radians(designs[ANGLE])
    assert designs[LINE][plain] == pytest.approx((designs[STOCK] / 2 / np.tan(a))[plain], rel=1e-13)
    assert (designs[TE][plain] == 0).all()
    assert (designs[TE][~plain] > 0).all()
    assert (bevel_deg(designs) > designs[ANGLE])[~plain].all()
    # With or without a micro-bevel the facet keeps its angle, and the micro-bevel lowers the line a little.
    assert half_angles(outlines, 0.6 * designs[LINE])[1] == pytest.approx(a, abs=1e-11)
    assert (designs[LINE] < designs[STOCK] / 2 / np.tan(a))[~plain].all()


def test_a_single_bevel_meets_its_back_at_the_edge():
    designs, outlines = sound("single-bevel")
    plain = designs["micro_bevel"] == "no"
    a = np.radians(designs[ANGLE])
    assert designs[LINE][plain] == pytest.approx((designs[STOCK] / np.tan(a))[plain], rel=1e-13)
    assert (designs[TE][plain] == 0).all()
    assert np.max(half_angles(outlines, 0.6 * designs[LINE]), axis=0) == pytest.approx(a, abs=0.05)
    hollowed = designs["back"] == "hollowed"
    thin = thickness(outlines, designs["height_mm"] / 2)
    full = thickness(Sides.of(outlines).flat_backed, designs["height_mm"] / 2)
    # Up to 0.2 mm in the middle; on the lowest blades what a wheel of 250 mm leaves over their chord.
    least = np.minimum(0.2, (designs["height_mm"] - 3.0) ** 2 / (4 * 250.0))
    assert (full - thin)[hollowed] == pytest.approx(least[hollowed], abs=1e-3)
    assert (full == thin)[~hollowed].all()


def test_a_back_is_hollowed_only_with_a_wheel_that_fits_into_it():
    given = {STOCK: 2.0, "height_mm": 20.0, ANGLE: 15.0, "back": "hollowed"}
    designs = designs_of(GRINDS["single-bevel"], 5, **given)
    # R = 17^2 / (8 x 0.2) + 0.1 = 180.7 mm: a wheel of 350 mm fits into it, one of 400 mm does not.
    fits = [shut_out(GRINDS["single-bevel"], designs, Workshop(w, True, True)).any() for w in ((350.0,), (400.0,), ())]
    assert fits == [False, True, True]


@pytest.mark.parametrize("line", [6.0, 9.5, 14.0])
def test_a_scandi_turns_its_facet_to_reach_a_wanted_line(line):
    scandi = GRINDS["scandi"]
    designs = designs_of(scandi, 3, **{STOCK: 3.0, "height_mm": 25.0}).changed(**{LINE: line})
    turned = scandi.complete(scandi.for_line(designs))
    assert turned[LINE] == pytest.approx(np.full(3, line), rel=1e-13)
    assert turned[ANGLE] == pytest.approx(np.full(3, math.degrees(math.atan(1.5 / line))), rel=1e-13)


def test_a_compound_joins_its_two_grinds():
    designs, outlines = sound("compound")
    tips = GRINDS["compound"].tip_outlines(designs)
    middle = (shoulder_mm(designs, "compound") + designs[LINE]) / 2
    straight = (designs[TE] + designs[STOCK]) / 2
    edge, tip = thickness(outlines, middle) - straight, thickness(tips, middle) - straight
    hollow, convex = designs["edge_zone"] == "hollow", designs["tip_zone"] == "convex"
    pairs = set(zip(designs["edge_zone"].tolist(), designs["tip_zone"].tolist(), strict=True))
    assert pairs == {("hollow", "convex"), ("hollow", "flat"), ("flat", "convex")}
    assert (edge[hollow] < 0).all()
    assert edge[~hollow] == pytest.approx(np.zeros((~hollow).sum()), abs=1e-11)
    assert (tip[convex] >= 0).all()
    assert (tip[convex] > 1e-6).mean() > 0.9
    assert tip[~convex] == pytest.approx(np.zeros((~convex).sum()), abs=1e-11)
    assert (tip > edge).mean() > 0.9
    assert (tip >= edge).all()


# Refusals


@every_grind
def test_nothing_is_ground_in_an_empty_workshop(name):
    assert shut_out(GRINDS[name], designs_of(GRINDS[name]), Workshop((), False, False)).all()


NEEDS = {
    "full-flat": "platen", "saber-flat": "platen", "scandi": "platen", "chisel": "platen",
    "saber-chisel": "platen", "single-bevel": "platen", "convex": "slack belt", "saber-convex": "slack belt",
    "full-hollow": "wheel", "saber-hollow": "wheel",
}  # fmt: skip


@pytest.mark.parametrize(("name", "needs"), NEEDS.items())
def test_the_reason_names_the_machine_that_is_missing(name, needs):
    grind = GRINDS[name]
    refusals = grind.refusals(designs_of(grind), Workshop((), False, False))
    assert any(refusal.rows.all() and needs in refusal.reason for refusal in refusals)


IMPOSSIBLE = {
    "an edge as thick as the bar": ("saber-flat", {STOCK: 1.0, TE: 1.0}),
    "an edge bevel up to the line": ("saber-flat", {"height_mm": 5.0, "grind_line_share": 0.3, TE: 1.5, ANGLE: 8.0}),
    "a primary grind steeper than the edge": ("saber-flat", {STOCK: 12.0, "height_mm": 20.0, ANGLE: 8.0}),
    "a facet that reaches above the spine": ("scandi", {STOCK: 6.0, ANGLE: 10.0, "height_mm": 16.0}),
    "a bevel on one side that reaches above the spine": ("single-bevel", {STOCK: 4.0, ANGLE: 10.0, "height_mm": 20.0}),
    "a hollow in a back too low for it": ("single-bevel", {STOCK: 1.0, ANGLE: 20.0, "height_mm": 10.0,
                                                           "back": "hollowed"}),
    "a chisel steeper than its edge": ("chisel", {STOCK: 6.0, ANGLE: 12.0, "height_mm": 20.0}),
    "a full hollow too high for its wheel": ("full-hollow", {STOCK: 3.5, "height_mm": 26.0,
                                                             "hollow_ground": "one-pass"}),
    "a hollow walked up too far": ("full-hollow", {STOCK: 3.5, "height_mm": 26.0, "wheel_diameter_mm": 150.0,
                                                   "hollow_ground": "walked-up"}),
    "a tall hollow on a small wheel": ("saber-hollow", {LINE: 20.0, "wheel_diameter_mm": 50.0, STOCK: 3.0,
                                                      "hollow_ground": "one-pass",
                                                      "grind_line_share": 0.9, "height_mm": 30.0}),
    "an edge zone walked up too far": ("compound", {STOCK: 3.5, "height_mm": 26.0, "wheel_diameter_mm": 150.0,
                                                    "grind_line_share": 0.95, "edge_zone": "hollow",
                                                    "hollow_ground": "walked-up"}),
    "two zones of the same grind": ("compound", {"edge_zone": "flat", "tip_zone": "flat"}),
}  # fmt: skip


@pytest.mark.parametrize(("name", "given"), IMPOSSIBLE.values(), ids=IMPOSSIBLE.keys())
def test_the_impossible_is_refused(name, given):
    assert shut_out(GRINDS[name], designs_of(GRINDS[name], 200, **given)).all()


POSSIBLE = {
    "a thin full flat": ("full-flat", {STOCK: 2.0, "height_mm": 45.0, TE: 0.3, ANGLE: 15.0}),
    "a narrow full hollow": ("full-hollow", {STOCK: 4.0, "height_mm": 20.0, TE: 0.4, ANGLE: 18.0,
                                             "wheel_diameter_mm": 250.0, "hollow_ground": "one-pass"}),
    "a full hollow walked up": ("full-hollow", {STOCK: 3.5, "height_mm": 26.0, TE: 0.4, ANGLE: 20.0,
                                                "wheel_diameter_mm": 350.0, "hollow_ground": "walked-up"}),
    "a thin edge zone walked up": ("compound", {STOCK: 3.5, "height_mm": 26.0, TE: 0.4, ANGLE: 20.0,
                                                "grind_line_share": 0.9, "wheel_diameter_mm": 300.0,
                                                "edge_zone": "hollow", "tip_zone": "convex",
                                                "hollow_ground": "walked-up"}),
    "a saber hollow on a common wheel": ("saber-hollow", {STOCK: 3.5, "height_mm": 26.0, "grind_line_share": 0.6,
                                                          TE: 0.5, ANGLE: 20.0, "wheel_diameter_mm": 200.0,
                                                          "hollow_ground": "one-pass"}),
    "a carving scandi": ("scandi", {STOCK: 2.5, "height_mm": 20.0, ANGLE: 12.0}),
    "a splitting convex": ("saber-convex", {STOCK: 9.0, "height_mm": 60.0, "grind_line_share": 0.8, TE: 1.2,
                                            ANGLE: 25.0}),
    "a skiving knife": ("single-bevel", {STOCK: 1.6, "height_mm": 22.0, ANGLE: 15.0, "back": "flat"}),
    "a slicer with a hollowed back": ("single-bevel", {STOCK: 4.0, "height_mm": 34.0, ANGLE: 12.0, "back": "hollowed"}),
    "a kitchen chisel": ("chisel", {STOCK: 2.0, "height_mm": 40.0, TE: 0.3, ANGLE: 18.0}),
}  # fmt: skip


@pytest.mark.parametrize(("name", "given"), POSSIBLE.values(), ids=POSSIBLE.keys())
def test_the_usual_is_not_refused(name, given):
    assert not shut_out(GRINDS[name], designs_of(GRINDS[name], 20, **given)).any()


@pytest.mark.parametrize("name", [*HOLLOWS, "compound"])
def test_no_hollow_is_made_on_a_wheel_smaller_than_it_takes(name):
    designs, _ = sound(name)
    designs = designs.taking(~np.isnan(designs["wheel_diameter_mm"]))
    high = designs[LINE] - shoulder_mm(designs, name)
    deep = (designs[STOCK] - designs[TE]) / 2
    needed, wheel = (high**2 + deep**2) / deep, designs["wheel_diameter_mm"]
    walked = designs["hollow_ground"] == "walked-up"
    assert (needed <= wheel * (1 + 1e-9))[~walked].all()
    assert ((needed > wheel) & (needed <= 2 * wheel))[walked].all()


def test_only_a_hollow_edge_zone_is_walked_up():
    designs, _ = sound("compound")
    assert set(designs["hollow_ground"][designs["edge_zone"] == "flat"]) == {"one-pass"}
    assert set(designs["hollow_ground"][designs["edge_zone"] == "hollow"]) == {"one-pass", "walked-up"}


def test_the_reason_names_the_wheel_it_would_take():
    # te 0.4, 20 degrees: h_edge = 0.2 / tan 20 = 0.5495; H = 25.4505, d = 1.55: (H^2 + d^2) / d = 419.4 mm.
    given = {STOCK: 3.5, "height_mm": 26.0, TE: 0.4, ANGLE: 20.0, "micro_bevel": "no", "hollow_ground": "one-pass"}
    designs = designs_of(GRINDS["full-hollow"], 5, **given)
    reasons = [r.reason for r in GRINDS["full-hollow"].refusals(designs, WORKSHOP) if r.rows.all()]
    assert any("419 mm" in reason and "350 mm" in reason for reason in reasons)


def test_the_wheel_named_is_one_that_the_refused_designs_would_take():
    # One hollow fits its 200 mm wheel (it takes 163 mm), the other takes 419 mm: only the second is refused.
    given = {
        STOCK: 3.5,
        "height_mm": np.array([16.0, 26.0]),
        TE: 0.4,
        ANGLE: 20.0,
        "wheel_diameter_mm": 200.0,
        "micro_bevel": "no",
    }
    designs = designs_of(GRINDS["full-hollow"], 2, **given)
    (refusal,) = (r for r in GRINDS["full-hollow"].refusals(designs, WORKSHOP) if r.rows.any())
    assert refusal.rows.tolist() == [False, True]
    assert "419 mm" in refusal.reason
