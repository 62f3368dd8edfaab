"""A blade over its life. Expected values are lines, circles and arithmetic worked by hand, or common practice."""

from __future__ import annotations

import dataclasses
import json
import math

import numpy as np
import pytest
from shapely import Polygon, box

from recommender.drawing.text.answer.life_text import life_text
from recommender.engine.answer.sharpening_course import life
from recommender.geometry.arcs import bulge_from_radius
from recommender.geometry.outline import face, mirrored, one_sided, symmetric
from recommender.geometry.sharpened import sharpened_back
from recommender.geometry.shoulders import shoulders
from recommender.mechanics import life as mechanics
from recommender.mechanics import sharpening
from recommender.models.answer.proposal import Answer
from recommender.models.answer.sharpening_life import BladeLife, Life
from recommender.models.brief import Brief
from recommender.service import Service, with_settings

BACK = 0.05
POCKET = ("tasks.pocket-carry=1", "blade.stock_thickness_mm=3", "blade.height_mm=26", "steel.grade=440c")
CARVED = ("steel.grade=o1", "tasks.wood-carving=1", "owner.gear=bench-stones")


@pytest.fixture(scope="session")
def answered(service: Service):
    """The answer and the lives of a brief made of settings alone; the same question is computed once."""
    known: dict[tuple[str, ...], tuple[Answer, Life]] = {}

    def of(*settings: str) -> tuple[Answer, Life]:
        if settings not in known:
            resolved = service.briefs.resolve(with_settings(Brief(), settings))
            answer = service.recommend(resolved.brief, flips=False)
            known[settings] = answer, life(answer, resolved, service.registry)
        return known[settings]

    return of


@pytest.fixture(scope="session")
def lives(answered):
    """The lives alone."""
    return lambda *settings: answered(*settings)[1]


@pytest.fixture(scope="session")
def blade(answered):
    """The life of one wished grind and the proposal it starts from."""

    def of(grind: str, *settings: str):
        answer, found = answered(*POCKET, f"wishes.grind={grind}", *settings)
        only = found.blades[0]  # the wished one leads; the others follow as alternatives
        return only, answer.proposal, found

    return of


def section(bulge: float = 0.0, *, te=0.5, angle_deg=20.0, stock=4.0, line=20.0, height=30.0):
    m = math.tan(math.radians(angle_deg))
    right = face((0, 0, 0.0), (te / 2, te / 2 / m, bulge), (stock / 2, line, 0.0), (stock / 2, height, 0.0))
    return symmetric(right)


def worn(outline, count):
    return sharpened_back(np.repeat(outline, count, axis=0), BACK * np.arange(count))


# Closed forms of the shoulder


@pytest.mark.parametrize("grind", ["full-flat", "saber-flat"])
def test_a_flats_shoulder_lies_where_two_lines_cross(blade, grind) -> None:
    """x = m (y - s) meets x = e + p (y - h): y = (e - p h + m s)/(m - p), until that is above the line."""
    lived, p, _ = blade(grind)
    m, e = math.tan(math.radians(p.edge_angle_per_side_deg)), p.edge_thickness_mm / 2
    h = e / m
    slope = (p.stock_thickness_mm / 2 - e) / (p.grind_line_mm - h)
    checked = 0
    for k, (t, width) in enumerate(zip(lived.course.edge_thickness_mm, lived.course.bevel_width_mm, strict=True)):
        s = BACK * k
        y = (e - slope * h + m * s) / (m - slope)
        if y <= p.grind_line_mm:
            x = m * (y - s)
            assert t == pytest.approx(2 * x, abs=2e-6)
            assert width == pytest.approx(x / math.sin(math.radians(p.edge_angle_per_side_deg)), abs=4e-6)
            checked += 1
    assert checked > 50


def test_a_chisels_shoulder_has_all_its_thickness_on_one_face(blade) -> None:
    lived, p, _ = blade("chisel", "owner.skill=expert", "owner.hand=left")
    m, e = math.tan(math.radians(p.edge_angle_per_side_deg)), p.edge_thickness_mm
    h = e / m
    slope = (p.stock_thickness_mm - e) / (p.grind_line_mm - h)
    assert p.side == "left"
    for k in (0, 1, 17, 40):
        s = BACK * k
        y = (e - slope * h + m * s) / (m - slope)
        assert lived.course.edge_thickness_mm[k] == pytest.approx(m * (y - s), abs=2e-6)
        assert lived.course.bevel_width_mm[k] == pytest.approx(math.hypot(m * (y - s), y - s), abs=4e-6)


def hollow_circle(p) -> tuple[float, float, float]:
    """Centre and radius of the wheel's circle through shoulder and line, on the right of the right face."""
    m, e = math.tan(math.radians(p.edge_angle_per_side_deg)), p.edge_thickness_mm / 2
    (x0, y0), (x1, y1) = (e, e / m), (p.stock_thickness_mm / 2, p.grind_line_mm)
    c, r = math.hypot(x1 - x0, y1 - y0), p.wheel_diameter_mm / 2
    if p.walked_up:  # the least round without a waist, (H^2 + d^2)/d across
        r = ((y1 - y0) ** 2 + (x1 - x0) ** 2) / (x1 - x0) / 2
    away = math.sqrt(r * r - c * c / 4)
    return (x0 + x1) / 2 + away * (y1 - y0) / c, (y0 + y1) / 2 - away * (x1 - x0) / c, r


def test_a_hollows_shoulder_lies_where_a_line_meets_a_circle(blade) -> None:
    """(m (y - s) - cx)^2 + (y - cy)^2 = R^2 in u = y - s, the lower root: the near side of the wheel."""
    lived, p, _ = blade("saber-hollow")
    cx, cy, r = hollow_circle(p)
    m = math.tan(math.radians(p.edge_angle_per_side_deg))
    checked = 0
    for k, t in enumerate(lived.course.edge_thickness_mm):
        s = BACK * k
        a, b, c = m * m + 1, -2 * (m * cx + cy - s), cx * cx + (s - cy) ** 2 - r * r
        u = (-b - math.sqrt(b * b - 4 * a * c)) / (2 * a)
        if u + s <= p.grind_line_mm:
            assert t == pytest.approx(2 * m * u, abs=2e-6)
            checked += 1
    assert checked > 100


def test_a_scandi_only_moves_up(blade, service) -> None:
    """Ground to zero: everything but the height stays; one sharpening takes stock x 0.05 mm2 off the section."""
    lived, p, _ = blade("scandi", *CARVED)
    assert p.micro_bevel_per_side_deg is None
    assert lived.ground_to_zero
    assert not lived.hollow
    assert lived.thinning is None
    assert lived.upper_curve is None
    assert max(lived.course.edge_thickness_mm) == min(lived.course.edge_thickness_mm) == p.stock_thickness_mm
    facet = p.stock_thickness_mm / 2 / math.sin(math.radians(p.edge_angle_per_side_deg))
    stones = service.knowledge.gear["bench-stones"]
    worked = p.stock_thickness_mm * BACK * p.blade_length_mm / stones.removal_mm3_per_min.likely
    finishing = stones.finishing_minutes * p.blade_length_mm / 150
    # Each finer stone takes both facets down by the scratches before it.
    finishing += sum(
        2 * facet * p.blade_length_mm * grit.scratches_um.likely / 1000 / grit.removal_mm3_per_min.likely
        for grit in stones.finer_grits
    )
    # A beginner takes twice as long; O1 at 61 HRC comes off slower than plain steel at 58 (DIN 50150 drawn on).
    harder = (2180 + (61 - 57.8) * (2180 - 1995) / (57.8 - 55.2)) / (2180 + 0.2 * (2180 - 1995) / (57.8 - 55.2))
    carbides = service.knowledge.steels["o1"].carbides
    assert carbides.MC == carbides.CrC == carbides.CrVC == carbides.M6C == 0
    minutes = stones.setup_minutes + 2 * (finishing + worked) * harder * (1 + 5.0 * carbides.Fe3C / 250)
    for k, height in enumerate(lived.course.blade_height_mm):
        assert height == pytest.approx(p.blade_height_mm - BACK * k, abs=1e-6)
        assert lived.course.bevel_width_mm[k] == pytest.approx(facet, abs=2e-4)
        assert lived.course.sharpening_minutes[k] == pytest.approx(minutes, abs=1e-4)
        assert lived.course.cut_force_n_per_mm[k] == pytest.approx(lived.course.cut_force_n_per_mm[0], rel=1e-6)
        assert lived.course.edge_strength_n[k] == pytest.approx(lived.course.edge_strength_n[0], rel=1e-6)


def test_a_wide_bevel_bears_what_a_wedge_bears(blade, service) -> None:
    """Once the bevel is wide, least at 1 mm up, t = 2 tan a: sigma (2 tan a)^2 (2 + 2)/6."""
    lived, p, _ = blade("full-flat")
    resolved = service.briefs.resolve(with_settings(Brief(), [*POCKET, "wishes.grind=full-flat"]))
    stress = resolved.context(service.grinds["full-flat"]).steel.edge_failure_mpa
    m = math.tan(math.radians(p.edge_angle_per_side_deg))
    k = next(k for k, t in enumerate(lived.course.edge_thickness_mm) if t / 2 / m > 2.5)
    for bears in lived.course.edge_strength_n[k:]:
        assert bears == pytest.approx(stress * (2 * m) ** 2 * 4 / 6, rel=1e-5)
    assert lived.course.edge_strength_n[0] < lived.course.edge_strength_n[k]


# Thicker behind the edge


def test_a_thicker_edge_never_cuts_more_easily(lives) -> None:
    """First principles: the same depth of cut, nowhere less steel in it; also where the blade is lower than that."""
    cook = ("tasks.food-prep=1", "blade.height_mm=45", "owner.gear=bench-stones", "steel.grade=1.4116")
    for found in (lives(*cook), lives(*POCKET)):
        for lived in found.blades:
            assert (np.diff(lived.course.cut_force_n_per_mm) >= -2e-6).all(), lived.grind
    assert min(lives(*cook).blades[0].course.blade_height_mm) < 30.0  # the depth of such a cut


def test_a_lower_blade_goes_on_as_thick_as_its_spine() -> None:
    """A triangle 2 mm thick and 10 high, cut 30 deep: 2 x 20 mm2 more; one 40 high stays as it is."""
    low, high = (np.array([[[0, 0, 0], [1.0, height, 0], [-1.0, height, 0]]]) for height in (10.0, 40.0))
    both = mechanics.deepened(np.concatenate([low, high]), 30.0)
    assert both.shape == (2, 5, 3)
    assert [Polygon(outline[:, :2]).area for outline in both] == pytest.approx([10.0 + 40.0, 40.0])


@pytest.mark.parametrize("back", [1.0, 3.0])
def test_steel_of_thinning_a_full_flat(back: float) -> None:
    """Worn section less the drawing cut off at its height: areas by shapely."""
    m = math.tan(math.radians(20))
    wedge = np.array([[[0, 0, 0], [0.2, 0.2 / m, 0], [2.0, 40, 0], [-2.0, 40, 0], [-0.2, 0.2 / m, 0]]])
    worn = sharpened_back(wedge, np.array([back]))
    moved = worn.copy()
    moved[..., 1] -= back
    found = float(mechanics.steel_of_thinning_mm2(wedge, moved)[0])
    low = Polygon(wedge[0, :, :2]).intersection(box(-5, 0, 5, 40 - back))
    assert found == pytest.approx(Polygon(moved[0, :, :2]).area - low.area, rel=1e-9)
    assert found > 0


def test_thinned_back_is_as_drawn_but_lower(blade, service) -> None:
    """Steel, minutes by Preston at the stones' rate, and what is as when new."""
    lived, p, _ = blade("full-flat", "owner.gear=bench-stones")
    thinned, k = lived.thinned, lived.thinning.sharpenings
    assert thinned.edge_thickness_mm == pytest.approx(p.edge_thickness_mm, abs=1e-6)
    assert lived.thinning.edge_thickness_mm > 2 * thinned.edge_thickness_mm
    before, after = thinned.cut_force_n_per_mm
    assert (before, after) == pytest.approx((lived.course.cut_force_n_per_mm[k], lived.course.cut_force_n_per_mm[0]))
    assert thinned.edge_strength_n[1] == pytest.approx(lived.course.edge_strength_n[0], rel=1e-6)
    assert thinned.times == lived.end.sharpenings // k
    stones = service.knowledge.gear["bench-stones"]
    volume = thinned.steel_g / 0.0078
    harder = sharpening.slowness(
        p_hardness(service), service.knowledge.steels["440c"].carbides.model_dump(exclude={"basis", "relative_band"})
    )
    worked = stones.finishing_minutes * p.blade_length_mm / 150 + volume / stones.removal_mm3_per_min.likely
    # The finer stones go over both faces up to their line.
    worked += sum(
        2 * p.grind_line_mm * p.blade_length_mm * grit.scratches_um.likely / 1000 / grit.removal_mm3_per_min.likely
        for grit in stones.finer_grits
    )
    minutes = stones.setup_minutes + 2 * harder * worked  # a beginner takes twice as long
    assert thinned.minutes.likely == pytest.approx(minutes, rel=2e-3)
    assert thinned.minutes.low < thinned.minutes.likely < thinned.minutes.high


def p_hardness(service: Service) -> float:
    """As usual for the pocket blade's steel."""
    return service.knowledge.steels["440c"].hardness.usual_hrc


def test_hollows_want_the_wheel_that_ground_them(blade) -> None:
    lived, _, _ = blade("saber-hollow", "owner.gear=bench-stones")
    assert lived.thinned.gear is None
    assert lived.thinned.minutes is None
    assert lived.thinned.steel_g > 0


# Order of the parents: common practice


def test_near_the_edge_a_hollow_thickens_least_and_a_convex_most(blade) -> None:
    same = ("wishes.edge_thickness_mm=0.4", "wishes.edge_angle_per_side_deg=18", "wishes.grind_line_mm=16")
    hollow, flat, convex = (blade(f"saber-{parent}", *same)[0] for parent in ("hollow", "flat", "convex"))
    for k in range(1, 80):
        thick = [b.course.edge_thickness_mm[k] for b in (hollow, flat, convex)]
        assert 0.4 < thick[0] < thick[1] < thick[2]
        wide = [b.course.bevel_width_mm[k] for b in (hollow, flat, convex)]
        assert wide[0] < wide[1] < wide[2]
    assert hollow.thinning.sharpenings > flat.thinning.sharpenings > convex.thinning.sharpenings
    assert hollow.hollow
    assert not flat.hollow
    assert not convex.hollow
    assert flat.upper_curve is None
    assert convex.upper_curve is None


# The upper curve


def test_the_upper_curve_is_the_upper_half_of_the_arc(blade) -> None:
    """The chord's direction is the tangent's at the middle of the arc; sharpened back by y - x/tan a the bevel ends there."""  # noqa: E501
    lived, p, _ = blade("saber-hollow")
    cx, cy, r = hollow_circle(p)
    m, e = math.tan(math.radians(p.edge_angle_per_side_deg)), p.edge_thickness_mm / 2
    mx, my = (e + p.stock_thickness_mm / 2) / 2, (e / m + p.grind_line_mm) / 2
    reach = math.hypot(mx - cx, my - cy)
    x, y = cx + (mx - cx) * r / reach, cy + (my - cy) * r / reach
    expected = math.floor((y - x / m) / BACK) + 1
    assert lived.upper_curve.sharpenings == expected
    assert lived.upper_curve.edge_thickness_mm == pytest.approx(2 * x, abs=0.03)


def test_past_the_upper_curve_a_hollow_gains_more_each_sharpening_than_a_flat(blade) -> None:
    """A flat of the same shoulder, stock and line gains 2 p m/(m - p) per mm, all the way up."""
    lived, p, _ = blade("saber-hollow")
    m, e = math.tan(math.radians(p.edge_angle_per_side_deg)), p.edge_thickness_mm / 2
    slope = (p.stock_thickness_mm / 2 - e) / (p.grind_line_mm - e / m)
    flat = 2 * slope * m / (m - slope) * BACK
    gained = np.diff(lived.course.edge_thickness_mm)
    k = lived.upper_curve.sharpenings
    assert (gained[: k - 1] < flat).all()
    assert (gained[k : k + 20] > flat).all()


@pytest.mark.parametrize("bulge", [0.0, 0.02])
def test_flat_and_convex_faces_have_no_upper_curve(bulge) -> None:
    assert mechanics.upper_curve(worn(section(bulge), 300), 20.0) == (False, None)


def test_an_early_end_comes_before_the_upper_curve() -> None:
    assert mechanics.upper_curve(worn(section(-0.03), 20), 20.0) == (True, None)


@pytest.mark.parametrize(
    ("bar", "wheel"),
    [({"te": 1.4, "stock": 5.5}, 250.0), ({"te": 0.3, "stock": 1.7}, 600.0), ({"te": 0.7, "stock": 3.3}, 350.0)],
)
def test_a_hollow_grows_ever_faster_until_its_line(bar, wheel) -> None:
    """The arc's tangent turns outwards all the way up, on both faces."""
    straight = section(**bar)[0]
    chord = math.dist(straight[1, :2], straight[2, :2])
    outlines = worn(section(-float(bulge_from_radius(np.array(chord), np.array(wheel / 2))), **bar), 150)
    for turned in (outlines, mirrored(outlines)):
        at = shoulders(turned)
        rate = mechanics.shoulder_growth(turned, at)[at.y.max(axis=1) < straight[2, 1] - 1e-6]
        assert np.isfinite(rate).all()
        assert (np.diff(rate) > 0).all()


@pytest.mark.parametrize("vertex", [1, -1])
def test_a_shoulder_a_hair_above_the_other_changes_nothing(vertex) -> None:
    """Rounding may set one so: each face is still read just above its own shoulder, never on its bevel."""
    even = section(-0.03)
    uneven = even.copy()
    uneven[:, vertex, 1] += 1e-12
    rates = [mechanics.shoulder_growth(outline, shoulders(outline)) for outline in (even, uneven)]
    assert rates[1] == pytest.approx(rates[0], rel=1e-6)


def test_growth_of_a_one_sided_wedge_counts_its_ground_face_alone() -> None:
    """p = (2 - 0.5)/(20 - 0.5/tan 25), m = tan 25: p m/(m - p) per mm."""
    m = math.tan(math.radians(25.0))
    right = face((0, 0, 0.0), (0.5, 0.5 / m, 0.0), (2.0, 20.0, 0.0), (2.0, 30.0, 0.0))
    p = 1.5 / (20 - 0.5 / m)
    for left in (False, True):
        outlines = worn(one_sided(right, left), 4)
        at = shoulders(outlines)
        assert mechanics.shoulder_growth(outlines, at) == pytest.approx(p * m / (m - p), rel=1e-9)
        assert mechanics.straight_growth(outlines, at, 20.0) == pytest.approx(p * m / (m - p), rel=1e-9)
        assert at.bevel_width_mm[0] == pytest.approx(0.5 / math.sin(math.radians(25.0)), rel=1e-12)


def test_a_face_as_steep_as_its_bevel_runs_away() -> None:
    assert mechanics.growth([0.2, 0.4, 0.0], [0.3, 0.3, 0.0]).tolist() == [pytest.approx(0.6), math.inf, 0.0]


# Thinning and the end


def test_it_wants_thinning_once_the_shoulder_is_past_the_tasks_thickest_edge(blade) -> None:
    """s = y(T) - T/(2 m), y(T) = h + (T/2 - e)/p on a flat."""
    lived, p, found = blade("full-flat")
    limit = found.thickest_edge_mm
    m, e = math.tan(math.radians(p.edge_angle_per_side_deg)), p.edge_thickness_mm / 2
    h = e / m
    slope = (p.stock_thickness_mm / 2 - e) / (p.grind_line_mm - h)
    s = h + (limit / 2 - e) / slope - limit / 2 / m
    assert lived.thinning.sharpenings == math.floor(s / BACK) + 1
    assert lived.thinning.sharpened_back_mm == pytest.approx(lived.thinning.sharpenings * BACK)
    assert lived.thinning.blade_height_mm == pytest.approx(26 - lived.thinning.sharpened_back_mm)


def test_the_limit_is_the_tasks_thickest_edges_by_share(lives, service) -> None:
    tasks = service.knowledge.tasks
    found = lives("tasks.food-prep=3", "tasks.cardboard-rope=1")
    expected = 0.75 * tasks["food-prep"].thickest_edge_mm + 0.25 * tasks["cardboard-rope"].thickest_edge_mm
    assert found.thickest_edge_mm == pytest.approx(expected)
    assert set(found.blades[0].course.cut_force_by_task_n_per_mm) == {"food-prep", "cardboard-rope"}
    by_task, whole = found.blades[0].course.cut_force_by_task_n_per_mm, found.blades[0].course.cut_force_n_per_mm
    for k in (0, 100):
        weighted = 0.75 * by_task["food-prep"][k] + 0.25 * by_task["cardboard-rope"][k]
        assert whole[k] == pytest.approx(weighted, rel=1e-4)


def test_it_ends_at_half_its_height_or_400_sharpenings(lives) -> None:
    """26 mm: 13 mm / 0.05 mm = 260. 60 mm: 600, so 400."""
    low, tall = lives(*POCKET).blades[0], lives("tasks.food-prep=1", "blade.height_mm=60").blades[0]
    assert (low.end.sharpenings, low.half_height) == (260, True)
    assert low.end.blade_height_mm == pytest.approx(13)
    assert (tall.end.sharpenings, tall.half_height) == (400, False)
    assert len(low.course.blade_height_mm) == len(low.course.edge_strength_n) == 261


# Years


def test_hours_between_sharpenings_by_hand() -> None:
    """300 mm of card, 1 um off the stone: 0.1 x 300 x (1 - 1/10) = 27 h, half to twice that."""
    hours = mechanics.hours_between_sharpenings(300.0, 0.001, False)
    assert (hours.likely, hours.low, hours.high) == pytest.approx((27.0, 13.5, 54.0))
    # A strop doubles it: bands ln 2 with ln 1.5 up and ln(4/3) down: exp(0.80306) = 2.2324, exp(0.75046) = 2.1180.
    stropped = mechanics.hours_between_sharpenings(300.0, 0.001, True)
    assert (stropped.likely, stropped.low, stropped.high) == pytest.approx((54.0, 54 / 2.1180, 54 * 2.2324), rel=1e-4)


def test_a_regression_that_gives_nothing_and_a_blunt_start_still_last_a_little() -> None:
    """0.1 x 60 x 0.6 = 3.6 h at 4 um; a start beyond dull keeps a tenth: 0.1 x 60 x 0.1 = 0.6 h."""
    assert mechanics.hours_between_sharpenings(0.0, 0.004, False).likely == pytest.approx(3.6)
    assert mechanics.hours_between_sharpenings(0.0, 0.5, False).likely == pytest.approx(0.6)


def test_years_by_hand() -> None:
    """4 h a week, 26 h between: 4 x 365.25/7/26 = 8.0275 a year, 0.40137 mm a year; 6 mm take 14.949 years.

    The band: ln 2 of the hours with ln 2.5 up (0.02 mm) and ln 2 down (0.1 mm) of what one takes off:
    exp(hypot(0.69315, 0.91629)) = 3.1548, exp(hypot(0.69315, 0.69315)) = 2.6651.
    """
    rate = mechanics.sharpenings_per_year(4.0, mechanics.Estimate(26.0, 13.0, 52.0))
    assert (rate.likely, rate.low, rate.high) == pytest.approx((8.0275, 4.0137, 16.055), rel=1e-4)
    years = mechanics.years_until(6.0, rate)
    assert (years.likely, years.low, years.high) == pytest.approx((14.949, 14.949 / 2.6651, 14.949 * 3.1548), rel=1e-3)


def test_a_blades_years_follow_from_its_card_and_its_owner(lives) -> None:
    """440C at 58 HRC, 12 % CrC: TCC = -157 + 15.8 x 58 - 17.8 x included + 11.2 CrC; strop 0.5 um: 0.95, doubled."""
    settings = (*POCKET, "steel.hardness_hrc=58", "owner.gear=bench-stones,strop", "owner.use_hours_per_week=4")
    found = lives(*settings)
    first = found.blades[0]
    card = 11.2 * 12 - 157 + 15.8 * 58 - 17.8 * first.edge_angle_included_deg
    between = 0.1 * card * 0.95 * 2
    a_year = 4 * 365.25 / 7 / between
    assert found.touched_up_with == ("strop",)
    assert first.hours_between_sharpenings.likely == pytest.approx(between, rel=2e-3)
    assert first.sharpenings_per_year.likely == pytest.approx(a_year, rel=2e-3)
    assert first.thinning.years.likely == pytest.approx(first.thinning.sharpenings / a_year, rel=3e-3)
    assert first.thinning.years.low < first.thinning.years.likely < first.thinning.years.high


def test_twice_the_use_is_half_the_years(lives) -> None:
    once, twice = lives(*POCKET).blades[0], lives(*POCKET, "owner.use_hours_per_week=6").blades[0]
    assert once.grind == twice.grind
    assert once.end.years.likely == pytest.approx(2 * twice.end.years.likely, rel=2e-3)


def test_no_gear_beside_stones_keeps_no_edge_going(lives) -> None:
    found = lives(*POCKET, "wishes.grind=full-flat", "owner.gear=bench-stones,none,honing-steel")
    assert found.touched_up_with == ("honing-steel",)
    assert found.thinned_with == ("bench-stones",)


def test_an_unused_blade_has_no_years(lives) -> None:
    first = lives(*POCKET, "owner.use_hours_per_week=0").blades[0]
    assert first.hours_between_sharpenings is not None
    assert first.sharpenings_per_year is None
    assert first.end.years is None


def test_nothing_at_hand_means_neither_minutes_nor_years(lives) -> None:
    found = lives(*POCKET, "owner.gear=none")
    first = found.blades[0]
    assert found.touched_up_with == found.thinned_with == ()
    assert first.course.sharpening_minutes is None
    assert first.hours_between_sharpenings is None
    assert first.end.years is None
    assert "nothing at hand sharpens" in life_text(found)


# Beside the answer


def test_new_it_is_the_blade_of_the_answer(answered) -> None:
    answer, found = answered("tasks.food-prep=3", "tasks.cardboard-rope=1")
    first = found.blades[0]
    p, course, metrics = answer.proposal, first.course, answer.metrics
    assert (first.grind, first.edge_angle_included_deg) == (p.grind, p.edge_angle_included_deg)
    assert course.edge_thickness_mm[0] == pytest.approx(p.edge_thickness_mm, abs=1e-6)
    assert course.cut_force_n_per_mm[0] == pytest.approx(metrics["cut_force"].value, rel=1e-4)
    assert course.edge_strength_n[0] == pytest.approx(metrics["edge_strength"].value, rel=1e-4)
    assert course.sharpening_minutes[0] == pytest.approx(metrics["sharpening_minutes"].value, rel=1e-4)
    assert [b.grind for b in found.blades[1:]] == [a.grind for a in answer.alternatives if a.proposal]


def test_json_is_plain_and_comes_back(lives) -> None:
    found = lives(*POCKET)
    data = found.as_json()
    assert next(iter(data)) == "schema"
    assert data.pop("schema") == "bevelwright.life/1"
    again = json.loads(json.dumps(data, allow_nan=False))
    assert Life.model_validate(again) == found


def test_a_plug_in_that_fails_leaves_its_blade_out_and_is_named() -> None:
    service = Service()
    resolved = service.briefs.resolve(with_settings(Brief(), POCKET))
    answer = service.recommend(resolved.brief, flips=False)
    broken = answer.alternatives[0].grind

    def fails(designs):
        raise RuntimeError("no drawing today")

    stamped = service.registry.grinds[broken]
    service.registry.grinds[broken] = dataclasses.replace(
        stamped, item=dataclasses.replace(stamped.item, outlines=fails)
    )
    found = life(answer, resolved, service.registry)
    assert broken not in {b.grind for b in found.blades}
    assert found.blades[0].grind == answer.proposal.grind
    assert any("no drawing today" in failure for failure in found.provenance.failed)


# The human form


def test_nothing_fits_is_said(lives) -> None:
    found = lives("tasks.pocket-carry=1", "wishes.grind=chisel", "owner.gear=pull-through")
    assert found.blades == ()
    assert "Nothing fits" in life_text(found)


@pytest.mark.parametrize("width", [40, 60, 80, 100])
@pytest.mark.parametrize("inches", [False, True])
def test_every_line_fits(lives, width, inches) -> None:
    for found in (lives(*POCKET), lives(*POCKET, "wishes.grind=scandi", *CARVED), lives(*POCKET, "owner.gear=none")):
        text = life_text(found, width=width, inches=inches)
        assert max(len(line) for line in text.split("\n")) <= width
        assert all(line == line.rstrip() for line in text.split("\n"))


def test_the_text_tells_angles_milestones_and_curves_by_name(lives) -> None:
    found = lives(*POCKET)
    text, first = life_text(found), found.blades[0]
    side, both = first.edge_angle_per_side_deg, first.edge_angle_included_deg
    assert f"{side:g}° per side, {both:g}° included" in text
    assert f"after {first.thinning.sharpenings} sharpenings" in " ".join(text.split())
    plot = [line for line in text.split("\n") if any(0x2800 < ord(c) <= 0x28FF for c in line)]
    labels = [b.grind_label for b in found.blades if not b.ground_to_zero][:5]
    for label in labels:
        assert sum(line.endswith(label) for line in plot) == 1
    assert "never licence a load" in " ".join(text.split())


def curve_of(thick: list[float], label: str, like: BladeLife) -> BladeLife:
    course = like.course.model_copy(
        update={"edge_thickness_mm": tuple(thick) + (thick[-1],) * (261 - len(thick)), "sharpening_minutes": None}
    )
    return like.model_copy(update={"grind_label": label, "thinning": None, "course": course})


def test_labels_stand_in_the_curves_order_at_their_height(lives) -> None:
    found = lives(*POCKET)
    like = found.blades[0]
    three = (curve_of([0.5, 1.0], "low", like), curve_of([0.5, 2.0], "high", like), curve_of([0.5, 1.5], "mid", like))
    text = life_text(found.model_copy(update={"blades": three})).split("\n")
    at = {name: next(k for k, line in enumerate(text) if line.endswith(f" {name}")) for name in ("high", "mid", "low")}
    start = next(k for k, line in enumerate(text) if line.startswith("Thickness behind the edge"))
    bottom = next(k for k, line in enumerate(text) if line.strip().startswith("0 mm"))
    assert start < at["high"] < at["mid"] < at["low"] < bottom
    # 2 mm stands at the top of 15 lines, 1 mm half way down.
    assert bottom - at["high"] in (13, 14)
    assert bottom - at["low"] in (6, 7)
