"""Facts of the trade: common practice, no source. They must come out of geometry and mechanics with no rules loaded.

Every comparison is made at equal stock, blade height, line height, edge thickness and edge angle unless the fact
itself is about one of these.
"""

import dataclasses
import math

import numpy as np
import pytest

from recommender.geometry.profile import (
    area_below,
    half_angles,
    height_at_thickness,
    min_thickness,
    register_width,
    thickness,
)
from recommender.geometry.section import measure, torsion_constant
from recommender.geometry.sharpened import sharpened_back
from recommender.geometry.wheel import highest_hollow_mm
from recommender.mechanics.cutting import CutMaterial, cut_force, drift_force
from recommender.mechanics.sharpening import (
    BACK_PER_SHARPENING_MM,
    sharpenings_until,
    steel_per_sharpening_mm2,
)
from recommender.mechanics.splitting import HELD_SHARE, Billet, split
from recommender.mechanics.strength import (
    body_edge_strength,
    local_edge_strength,
    pry_moment_n_m,
    stiffness_n_per_mm,
    tip_section,
    wedge_apex_strength,
)

STRESS_MPA = 1500.0
FOOD = CutMaterial(toughness_n_per_mm=0.2, foundation_n_per_mm3=0.07, plateau_mpa=0.15, friction=0.2)
SOFT = CutMaterial(toughness_n_per_mm=0.5, foundation_n_per_mm3=0.01, plateau_mpa=1.0, friction=0.4)
WOOD = CutMaterial(toughness_n_per_mm=0.6, foundation_n_per_mm3=120.0, plateau_mpa=14.0, friction=0.4)
MATERIALS = {"food": FOOD, "soft": SOFT, "wood": WOOD}
every_material = pytest.mark.parametrize("material", MATERIALS.values(), ids=MATERIALS.keys())
PARENTS = ("hollow", "flat", "convex")


@pytest.fixture
def three(grind, bar, wheel, crown):
    """The same bar ground hollow, flat and convex to the same line."""
    return (
        grind("saber-hollow", bar, wheel_diameter_mm=wheel),
        grind("saber-flat", bar),
        grind("saber-convex", bar, crown_share=crown),
    )


def value(array):
    """The one number of a batch of one."""
    (single,) = np.ravel(array)
    return float(single)


def edge_strength(blade, bar):
    return value(local_edge_strength(blade.sides, STRESS_MPA, np.array([bar.bevel_mm])))


def pry(outlines):
    return value(pry_moment_n_m(outlines, STRESS_MPA))


def push(blade, depth, material):
    return value(cut_force(blade.sides, depth, material).push)


def shoulder_after(blade, back):
    """Thickness and height of the shoulder once sharpened back."""
    x, y, _ = sharpened_back(blade.outlines, back)[0, 1]
    return 2 * x, y


def back_to_reach(blade, bar, y):
    """How far a blade is sharpened back when its shoulder stands at height y: y - t / (2 tan a)."""
    return y - value(thickness(blade.outlines, y)) / 2 / math.tan(math.radians(bar.angle))


def rate_at(blade, bar, y, step=1e-4):
    """Growth of the shoulder per mm sharpened back, when it stands at height y."""
    back = back_to_reach(blade, bar, y)
    return (shoulder_after(blade, back + step)[0] - shoulder_after(blade, back)[0]) / step


# Sharpened back, thickness grows least on the hollow, more on the flat, most on the convex,
# until the hollow climbs its upper curve.


# common practice
@pytest.mark.parametrize("back", [0.5, 1.0, 2.0, 3.0])
def test_sharpened_back_the_hollow_thickens_least_and_the_convex_most(three, bar, back):
    hollow, flat, convex = (shoulder_after(blade, back)[0] for blade in three)
    assert bar.te < hollow < flat < convex


# common practice
def test_the_order_of_thickness_holds_until_a_shoulder_reaches_the_line(three, bar):
    for back in np.linspace(0.05, 0.98, 15) * back_to_reach(three[2], bar, bar.line):
        (hollow, low), (flat, middle), (convex, high) = (shoulder_after(blade, back) for blade in three)
        assert hollow < flat < convex
        assert low < middle < high < bar.line


# common practice
def test_near_the_edge_the_hollow_grows_slowest_and_the_convex_fastest(three, bar):
    near = bar.bevel_mm + 0.15 * (bar.line - bar.bevel_mm)
    hollow, flat, convex = (rate_at(blade, bar, near) for blade in three)
    assert 0 <= hollow < flat < convex


# common practice
def test_on_its_upper_curve_the_hollow_grows_fastest_and_the_convex_slowest(three, bar):
    high = bar.bevel_mm + 0.9 * (bar.line - bar.bevel_mm)
    hollow, flat, convex = (rate_at(blade, bar, high) for blade in three)
    assert hollow > flat > convex >= 0


# common practice
def test_the_hollow_is_sharpened_most_often_before_it_wants_thinning(three, bar):
    thickest = 1.5 * bar.te
    hollow, flat, convex = (value(sharpenings_until(blade.sides, thickest)) for blade in three)
    assert hollow > flat > convex > 0


# Material left: convex > flat > hollow; support just behind the edge follows.


# common practice
def test_most_material_is_left_on_the_convex_and_least_on_the_hollow(three):
    hollow, flat, convex = (value(measure(blade.outlines).area_mm2) for blade in three)
    assert hollow < flat < convex


# common practice
@pytest.mark.parametrize("behind", [0.5, 1.0, 2.0, 5.0])
def test_support_just_behind_the_edge_follows(three, bar, behind):
    hollow, flat, convex = (value(thickness(blade.outlines, bar.bevel_mm + behind)) for blade in three)
    assert hollow < flat < convex


# common practice
def test_strength_just_behind_the_edge_follows(three, bar):
    hollow, flat, convex = (edge_strength(blade, bar) for blade in three)
    # A bevel taller than 1 mm bears the load itself, the same on every grind.
    assert hollow <= flat <= convex
    if bar.bevel_mm < 1.0:
        assert hollow < flat < convex


# common practice
def test_the_whole_section_follows(three):
    for figure in (
        pry,
        lambda outlines: value(torsion_constant(outlines)),
        lambda outlines: value(stiffness_n_per_mm(outlines, 120.0)),
    ):
        hollow, flat, convex = (figure(blade.outlines) for blade in three)
        assert hollow < flat < convex


# common practice
@every_material
@pytest.mark.parametrize("share", [0.3, 0.6, 0.95])
def test_and_the_thinner_grind_slices_better(three, bar, share, material):
    hollow, flat, convex = (push(blade, share * bar.line, material) for blade in three)
    assert hollow < flat < convex


# The convex reaches a given opening in the least depth and lets go best; it still can stick.


def billet(opening, friction=0.4):
    """A billet that splits at the given opening: w = sqrt(4 Gc L^4 / (3 E h^3)), solved for its length."""
    arm, modulus, gc = 30.0, 11000.0, 0.28
    length = (3 * modulus * arm**3 * (opening / 2) ** 2 / (4 * gc)) ** 0.25
    return Billet(length, arm, modulus, gc, friction)


def holding(opening, friction=0.4):
    """One whose split holds the blade at that opening: run part of the way, it needs that part squared of the whole."""
    return billet(opening / HELD_SHARE**2, friction)


def openings(bar):
    """Openings between the edge thickness and half of the bar."""
    return bar.te + np.array([0.1, 0.25, 0.4]) * (bar.stock - bar.te)


# common practice
def test_the_convex_reaches_an_opening_in_the_least_depth(three, bar):
    for opening in openings(bar):
        hollow, flat, convex = (value(split(blade.sides, billet(opening)).depth_mm) for blade in three)
        assert convex < flat < hollow


# common practice
def test_the_convex_lets_go_best(three, bar):
    for opening in openings(bar):
        release = [split(blade.sides, holding(opening)) for blade in three]
        hollow, flat, convex = (value(each.release_margin_deg) for each in release[:3])
        assert convex > flat
        if opening <= bar.te + 0.25 * (bar.stock - bar.te):
            assert flat > hollow
        pulled = [value(each.withdraw_n_per_mm) for each in release]
        assert pulled[2] < pulled[1]


# common practice
def test_the_convex_asks_for_more_force_to_drive(three, bar):
    for opening in openings(bar):
        _, flat, convex = (value(split(blade.sides, billet(opening)).drive_n_per_mm) for blade in three)
        assert convex > flat


# common practice
def test_the_convex_still_can_stick(three, bar):
    # Air-dry wood on steel, 0.65: no knife is as blunt as that friction angle of 33 degrees.
    stuck = split(three[2].sides, holding(openings(bar)[0], friction=0.65))
    assert value(stuck.release_margin_deg) < 0
    assert value(stuck.withdraw_n_per_mm) > 0


# common practice
@pytest.mark.parametrize(("stock", "line"), [(9.0, 24.0), (7.0, 18.0), (12.0, 34.0)])
def test_wet_slippery_wood_lets_a_stout_convex_go(grind, bar, stock, line):
    # Half-angles of about 10 degrees and more against a friction angle of 8.5.
    stout = dataclasses.replace(bar, stock=stock, line=line, height=60.0, te=1.2, angle=25.0)
    free = split(grind("saber-convex", stout).sides, holding(0.3 * stock, friction=0.15))
    assert value(free.release_margin_deg) > 0
    assert value(free.withdraw_n_per_mm) < 0


# common practice
def test_buried_to_the_flats_the_convex_does_not_win(three, bar):
    buried = bar.stock - 0.03 * (bar.stock - bar.te)
    hollow, flat, convex = (value(split(blade.sides, holding(buried)).release_margin_deg) for blade in three)
    assert convex < flat < hollow


# common practice
def test_a_blade_thinner_than_the_opening_is_driven_under_or_does_not_split(three, bar):
    # A knife is batoned on until it is through; one that holds open less than two arms only wedges itself in.
    wide = billet(1.1 * bar.stock)
    for blade in three:
        depth = value(split(blade.sides, wide).depth_mm)
        assert depth > bar.height or (math.isnan(depth) and wide.length_mm / math.sqrt(1.1) <= 2 * wide.arm_mm)


# A lower saber line is stronger and slices worse than a higher one; saber is stronger than the full grind
# of the same parent.


def lines(grind, bar, parent):
    """The parent's saber form at rising lines and its full form, all hollows off one wheel that can grind them all."""
    full = dataclasses.replace(bar, line=bar.height)
    more = {"wheel_diameter_mm": full.deepest_wheel_mm} if parent == "hollow" else {}
    sabers = [
        grind(f"saber-{parent}", dataclasses.replace(bar, line=share * bar.height), **more)
        for share in (0.45, 0.6, 0.75, 0.85)
    ]
    name = "convex" if parent == "convex" else f"full-{parent}"
    return sabers, grind(name, full, **more)


def falls(numbers, strictly=True):
    steps = np.diff(numbers)
    return bool((steps < 0).all() if strictly else (steps <= 1e-9).all())


# common practice
@pytest.mark.parametrize("parent", PARENTS)
def test_a_lower_line_is_stronger(grind, bar, parent):
    sabers, _ = lines(grind, bar, parent)
    assert falls([pry(blade.outlines) for blade in sabers])
    assert falls([value(body_edge_strength(b.sides, STRESS_MPA, b.designs["grind_line_mm"])) for b in sabers])
    assert falls([value(thickness(blade.outlines, bar.bevel_mm + 2.0)) for blade in sabers])
    assert falls([edge_strength(blade, bar) for blade in sabers], strictly=bar.bevel_mm < 1.0)


# common practice
@every_material
@pytest.mark.parametrize("parent", PARENTS)
def test_a_lower_line_slices_worse(grind, bar, parent, material):
    sabers, full = lines(grind, bar, parent)
    for depth in (bar.bevel_mm + 2.0, 0.3 * bar.height):
        assert falls([push(blade, depth, material) for blade in [*sabers, full]])
    # Once the bar's full thickness is in, material that has yielded presses no harder on one than on another.
    for depth in (0.6 * bar.height, 0.95 * bar.height):
        assert falls([push(blade, depth, material) for blade in [*sabers, full]], strictly=False)
        assert push(sabers[0], depth, material) > push(full, depth, material)


# common practice
@pytest.mark.parametrize("parent", PARENTS)
def test_saber_is_stronger_than_the_full_grind(grind, bar, parent):
    sabers, full = lines(grind, bar, parent)
    for saber in sabers:
        assert pry(saber.outlines) > pry(full.outlines)
        assert value(measure(saber.outlines).area_mm2) > value(measure(full.outlines).area_mm2)
        assert edge_strength(saber, bar) >= edge_strength(full, bar)
        assert value(thickness(saber.outlines, bar.bevel_mm + 2.0)) > value(
            thickness(full.outlines, bar.bevel_mm + 2.0)
        )


# A flat line moves by changing the angle; the waist-free hollow's highest line moves only with the wheel.


# common practice
def test_a_flat_line_moves_by_changing_the_angle(grind, bar):
    angles = []
    for share in (0.4, 0.6, 0.8, 1.0):
        line = share * bar.height
        blade = grind("saber-flat", dataclasses.replace(bar, line=line))
        angles.append(value(half_angles(blade.outlines, (bar.bevel_mm + line) / 2)[1]))
        assert math.tan(angles[-1]) == pytest.approx((bar.stock - bar.te) / 2 / (line - bar.bevel_mm), rel=1e-11)
    assert falls(angles)


# common practice
def test_a_flat_knows_no_wheel_and_no_highest_line(grind, bar):
    small, large = (grind("saber-flat", bar, wheel_diameter_mm=d) for d in (50.0, 350.0))
    assert np.array_equal(small.outlines, large.outlines)
    full = grind("full-flat", dataclasses.replace(bar, line=bar.height))
    assert value(min_thickness(full.outlines, bar.bevel_mm, bar.height)[0]) == pytest.approx(bar.te, rel=1e-12)


def has_waist(grind, bar, line, wheel):
    blade = grind("saber-hollow", dataclasses.replace(bar, line=line), wheel_diameter_mm=wheel)
    return value(min_thickness(blade.outlines, bar.bevel_mm, line)[0]) < bar.te - 1e-6


# common practice
@pytest.mark.parametrize("diameter", [100.0, 200.0, 250.0])
def test_above_the_highest_line_a_wheel_leaves_a_waist_and_below_none(grind, bar, diameter):
    top = bar.bevel_mm + float(highest_hollow_mm(diameter / 2, (bar.stock - bar.te) / 2))
    bar = dataclasses.replace(bar, height=2 * top)
    assert not has_waist(grind, bar, 0.8 * top, diameter)
    assert not has_waist(grind, bar, 0.999 * top, diameter)
    assert has_waist(grind, bar, 1.03 * top, diameter)
    # Only a larger wheel brings the higher line without a waist.
    assert not has_waist(grind, bar, 1.03 * top, 1.15 * diameter)


# common practice
@pytest.mark.parametrize("angle", [15.0, 20.0, 25.0])
def test_the_edge_angle_does_not_raise_a_hollow(grind, bar, angle):
    # The hollow reaches as high above its shoulder at any edge angle.
    high = float(highest_hollow_mm(125.0, (bar.stock - bar.te) / 2))
    turned = dataclasses.replace(bar, angle=angle, height=80.0)
    assert not has_waist(grind, turned, turned.bevel_mm + 0.999 * high, 250.0)
    assert has_waist(grind, turned, turned.bevel_mm + 1.03 * high, 250.0)


# common practice
def test_a_larger_wheel_raises_the_line_and_so_does_a_thicker_bar():
    assert np.all(np.diff(highest_hollow_mm(np.array([25.0, 50, 125, 175]), 1.2)) > 0)
    assert np.all(np.diff(highest_hollow_mm(125.0, np.array([0.6, 1.0, 1.5, 2.0]))) > 0)


# A scandi is one flat per side to zero: wide register on the stone, much steel per sharpening;
# a micro-bevel relieves that.


@pytest.fixture(params=[9.0, 12.0], ids=["9 deg", "12 deg"])
def low(request, bar):
    """The bar with its line where a facet of a usual carving angle ends, the edge of the others 8 degrees steeper."""
    line = bar.stock / 2 / math.tan(math.radians(request.param))
    return dataclasses.replace(bar, line=line, angle=max(bar.angle, request.param + 8.0))


@pytest.fixture
def bevelled(grind, low):
    """The same bar ground to the same line with an edge bevel."""
    return (
        grind("saber-hollow", low, wheel_diameter_mm=max(50.0, low.deepest_wheel_mm)),
        grind("saber-flat", low),
        grind("saber-convex", low),
    )


# common practice
def test_a_scandi_is_one_flat_per_side_to_zero(grind, low):
    scandi, bar = grind("scandi", low), low
    y = np.linspace(0.0, bar.line, 9)[None]
    assert thickness(scandi.outlines, y)[0] == pytest.approx(np.linspace(0.0, bar.stock, 9), abs=1e-11)
    facet = math.atan(bar.stock / 2 / bar.line)
    assert half_angles(scandi.outlines, y[:, :-1])[1] == pytest.approx(np.full((1, 8), facet), abs=1e-12)


# common practice
def test_a_scandi_has_a_wide_register(bevelled, grind, low):
    wide = value(register_width(grind("scandi", low).outlines))
    assert wide == pytest.approx(math.hypot(low.line, low.stock / 2), rel=1e-12)
    assert all(wide > 5 * value(register_width(blade.outlines)) for blade in bevelled)


# common practice
def test_a_scandi_takes_much_steel_per_sharpening(bevelled, grind, low):
    # Both facets move up whole: stock x s.
    steel = value(steel_per_sharpening_mm2(grind("scandi", low).outlines))
    assert steel == pytest.approx(low.stock * BACK_PER_SHARPENING_MM, rel=1e-9)
    assert all(steel > 3 * value(steel_per_sharpening_mm2(blade.outlines)) for blade in bevelled)


# common practice
def test_a_micro_bevel_relieves_that_and_keeps_the_register(grind, low):
    plain, micro = grind("scandi", low), grind("scandi", low, micro_bevel="yes")
    saved = value(steel_per_sharpening_mm2(micro.outlines))
    assert 0 < saved < 0.25 * value(steel_per_sharpening_mm2(plain.outlines))
    assert value(register_width(micro.outlines)) > 0.85 * value(register_width(plain.outlines))


# common practice
def test_a_scandi_never_thickens_and_its_micro_bevel_does(grind, low):
    used_up = low.height / 2 / BACK_PER_SHARPENING_MM  # nothing ends it before half the height is gone
    assert value(sharpenings_until(grind("scandi", low).sides, 0.5)) == pytest.approx(used_up)
    assert 0 < value(sharpenings_until(grind("scandi", low, micro_bevel="yes").sides, 0.5)) < used_up


# common practice
def test_sharpening_a_scandi_lifts_its_line(grind, low):
    bar = low
    after = sharpened_back(grind("scandi", bar).outlines, 1.0)
    for share in (0.1, 0.5, 0.999):
        wanted = bar.line * share + 1.0
        assert value(height_at_thickness(after, share * bar.stock)) == pytest.approx(wanted, rel=1e-10)


# A one-sided grind drifts, mirrored by the ground side; it can be very thin or very stout.


# common practice
@every_material
@pytest.mark.parametrize("name", ["chisel", "saber-chisel"])
@pytest.mark.parametrize("free", [False, True])
def test_a_one_sided_grind_drifts_mirrored_by_the_ground_side(grind, bar, name, material, free):
    right, left = (grind(name, bar, side=side) for side in ("right", "left"))
    depth = 0.5 * bar.height
    to_right = value(drift_force(right.sides, depth, material, slice_is_free=free))
    assert to_right < 0  # ground on the right, driven left, towards its flat face
    to_left = value(drift_force(left.sides, depth, material, slice_is_free=free))
    assert to_left == pytest.approx(-to_right, rel=1e-13)


# common practice
@every_material
def test_a_slice_that_bends_away_lets_it_track_its_flat_face(grind, bar, material):
    blade = grind("chisel", bar, side="right")
    bulk = value(drift_force(blade.sides, 0.5 * bar.height, material))
    free = value(drift_force(blade.sides, 0.5 * bar.height, material, slice_is_free=True))
    assert abs(free) < 0.5 * abs(bulk)


# common practice
@every_material
def test_a_blade_ground_on_both_sides_does_not_drift(three, grind, bar, material):
    for blade in (*three, grind("scandi", bar), grind("scandi", bar, micro_bevel="yes")):
        force = push(blade, 0.5 * bar.height, material)
        assert abs(value(drift_force(blade.sides, 0.5 * bar.height, material))) < 1e-12 * force


# common practice
def test_a_deeper_cut_drifts_more(grind, bar):
    blade = grind("chisel", bar, side="right")
    drift = [abs(value(drift_force(blade.sides, share * bar.height, FOOD))) for share in (0.1, 0.3, 0.6, 0.9)]
    assert falls(drift[::-1])


# common practice
def test_a_one_sided_grind_can_be_very_thin(grind, bar):
    # At the same angle on its one ground side, half the included angle, and thinner all the way up.
    full = dataclasses.replace(bar, line=bar.height)
    chisel, flat = grind("chisel", full, side="right"), grind("full-flat", full)
    included = [math.degrees(sum(value(a) for a in half_angles(b.outlines, 0.0))) for b in (chisel, flat)]
    assert included == pytest.approx([bar.angle, 2 * bar.angle], rel=1e-12)
    y = np.linspace(0.05, 0.95, 19)[None] * bar.height
    assert (thickness(chisel.outlines, y) < thickness(flat.outlines, y)).all()
    assert value(area_below(chisel.outlines, bar.height)) < value(area_below(flat.outlines, bar.height))


# common practice
def test_a_one_sided_grind_can_be_very_stout(grind, bar):
    low = dataclasses.replace(bar, line=0.35 * bar.height, angle=2 * bar.angle)
    stout = grind("saber-chisel", low, side="right")
    full = dataclasses.replace(bar, line=bar.height)
    for other in (grind("full-flat", full), grind("convex", full)):
        assert math.degrees(sum(value(a) for a in half_angles(stout.outlines, 0.0))) == pytest.approx(2 * bar.angle)
        assert pry(stout.outlines) > pry(other.outlines)
        assert value(measure(stout.outlines).area_mm2) > value(measure(other.outlines).area_mm2)
        assert value(thickness(stout.outlines, 0.3 * bar.height)) > value(thickness(other.outlines, 0.3 * bar.height))


# common practice
def test_a_finer_apex_is_a_weaker_one(bar):
    one, both = (value(wedge_apex_strength(STRESS_MPA, math.radians(a / 2))) for a in (bar.angle, 2 * bar.angle))
    assert one < both


# A convex or flat tip zone on a hollow blade leaves a stouter tip section, and means two sharpening sections.


@pytest.fixture(params=["convex", "flat"])
def compound(request, grind, bar, wheel):
    """A hollow blade with another grind in its tip zone."""
    return grind("compound", bar, wheel_diameter_mm=wheel, edge_zone="hollow", tip_zone=request.param)


# common practice
def test_another_tip_zone_leaves_a_stouter_tip(compound, bar):
    assert pry(tip_section(compound.tip_outlines)) > pry(tip_section(compound.outlines))
    assert pry(compound.tip_outlines) > pry(compound.outlines)
    y = np.linspace(bar.bevel_mm + 0.1, 0.99 * bar.line, 20)[None]
    assert (thickness(compound.tip_outlines, y) > thickness(compound.outlines, y)).all()


# common practice
def test_the_edge_zone_stays_the_hollow_it_was(compound, grind, bar, wheel):
    assert np.array_equal(compound.outlines, grind("saber-hollow", bar, wheel_diameter_mm=wheel).outlines)


# common practice
@pytest.mark.parametrize("back", [0.5, 2.0])
def test_two_zones_are_two_sharpening_sections(compound, bar, back):
    # The same bevel to start with; sharpened back alike, the tip's bevel grows wider and takes more steel.
    edge, tip = (sharpened_back(o, back) for o in (compound.outlines, compound.tip_outlines))
    assert np.array_equal(compound.outlines[0, 1, :2], compound.tip_outlines[0, 1, :2])
    bevels = [math.hypot(o[0, 1, 0], o[0, 1, 1] - back) for o in (edge, tip)]
    assert bevels[1] > bevels[0] > math.hypot(bar.te / 2, bar.bevel_mm)
    lost = [
        value(measure(o).area_mm2) - value(measure(sharpened_back(o, back)).area_mm2)
        for o in (compound.outlines, compound.tip_outlines)
    ]
    assert lost[1] > lost[0] > 0


# common practice
def test_a_convex_tip_is_stouter_than_a_flat_one(grind, bar, wheel):
    convex, flat = (
        grind("compound", bar, wheel_diameter_mm=wheel, edge_zone="hollow", tip_zone=zone).tip_outlines
        for zone in ("convex", "flat")
    )
    assert pry(tip_section(convex)) > pry(tip_section(flat))
