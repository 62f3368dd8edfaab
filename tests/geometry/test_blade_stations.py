"""The blade along its length: stations, grind line path, what is refused."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from bevelwright_builtin.grinds import chisel, compound, convex, flat, hollow

from recommender.errors import GeometryError
from recommender.geometry.blade import Blade, thinned
from recommender.geometry.outline import Outline
from recommender.geometry.profile import faces_at, half_angles, thickness
from recommender.geometry.side_views import BAR, SIDE_VIEWS, SideView
from recommender.mechanics import blade_bending as mechanics
from recommender.mechanics.cutting import CutMaterial
from recommender.plugin.api import Designs

STOCK, HEIGHT, TE, ANGLE, LENGTH = 4.0, 28.0, 0.5, 20.0, 110.0
BEVEL_MM = TE / 2 / np.tan(np.radians(ANGLE))
FLESH = CutMaterial(toughness_n_per_mm=0.5, foundation_n_per_mm3=0.1, plateau_mpa=0.2, friction=0.2)
STRESS_MPA = 1200.0


def designs(line: float = HEIGHT, wheel: float = 500.0, side: str = "both", **columns: object) -> Designs:
    values = {
        "stock_thickness_mm": STOCK,
        "height_mm": HEIGHT,
        "grind_line_mm": line,
        "edge_thickness_mm": TE,
        "edge_angle_per_side_deg": ANGLE,
        "wheel_diameter_mm": wheel,
        "micro_bevel_per_side_deg": np.nan,
        "side": side,
        "crown_share": 1.0,
        **columns,
    }
    return Designs({name: np.array([value]) for name, value in values.items()})


def blade(outlines: Outline, profile: str = "drop", **parts: object) -> Blade:
    return Blade(outlines, LENGTH, SIDE_VIEWS[profile], **parts)  # type: ignore[arg-type]


FULL_FLAT = flat.outlines(designs())
SABER_FLAT = flat.outlines(designs(line=18.0))
CONVEX = convex.outlines(designs())
CHISEL = chisel.outlines(designs(side="right"))
DEEP = 18.0 - BEVEL_MM
WAISTLESS_WHEEL = (DEEP**2 + 1.75**2) / 1.75
HOLLOW = hollow.outlines(designs(line=18.0, wheel=WAISTLESS_WHEEL))
ALL = {"full-flat": FULL_FLAT, "saber-flat": SABER_FLAT, "convex": CONVEX, "chisel": CHISEL, "hollow": HOLLOW}
ALONG = np.linspace(0, 0.99 * LENGTH, 67)


# -- side views ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SIDE_VIEWS)
def test_edge_and_spine_meet_at_the_tip_and_only_there(name: str) -> None:
    view, u = SIDE_VIEWS[name], np.linspace(0, 1, 1001)
    height = view.spine(u) - view.edge(u)
    assert height[-1] == pytest.approx(0.0, abs=1e-12)
    assert (height[:-1] > 0).all()
    assert height[0] == 1.0
    assert (np.diff(height) <= 1e-12).all()
    assert (np.diff(view.edge(u)) >= 0).all()
    assert height[-2] > 1e-3  # the point has an angle, it is no needle


def test_side_views_are_what_their_names_say() -> None:
    u = np.linspace(0, 1, 101)
    assert (SIDE_VIEWS["straight-back"].spine(u) == 1).all()
    assert (SIDE_VIEWS["straight-edge"].edge(u) == 0).all()
    assert SIDE_VIEWS["drop"].spine(1.0) < 1 < SIDE_VIEWS["trailing"].spine(1.0)
    cut = SIDE_VIEWS["clip"].spine(u[u >= 0.6])
    assert np.diff(cut, 2) == pytest.approx(0, abs=1e-12)  # cut off straight


@pytest.mark.parametrize(
    "values", [(0.5, 2, 0.5, 2, 2.1), (0.5, 0.5, 0.5, 2, 0.5), (1.0, 2, 0.5, 2, 0.5), (-0.1, 2, 0.5, 2, 0.5)]
)
def test_side_views_that_cannot_be(values: tuple[float, ...]) -> None:
    with pytest.raises(GeometryError):
        SideView(*values)


# -- stations ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ALL)
def test_stations_are_the_base_section_cut_off(name: str) -> None:
    """With no taper and no swedge the ground face is the same curve everywhere."""
    stations = blade(ALL[name]).at(ALONG)
    for k in range(0, len(ALONG), 6):
        y = np.linspace(0, 0.999 * stations.height_mm[0, k], 7)
        found = thickness(stations.outlines[:, k], y[None])
        assert found == pytest.approx(thickness(ALL[name], y[None]), abs=1e-12)
        assert stations.outlines[0, k, :, 1].max() == pytest.approx(stations.height_mm[0, k])


def test_a_full_flat_carries_distal_taper_in_the_grind_itself() -> None:
    stations = blade(FULL_FLAT, taper_mm_per_mm=0.02).at(ALONG)
    assert stations.line_share == pytest.approx(1.0)
    left, right = half_angles(stations.sections, 0.0)
    assert np.degrees(np.stack([left, right])) == pytest.approx(ANGLE)
    full = ALONG < 0.45 * LENGTH  # where the drop begins
    assert thickness(stations.outlines[0, full], HEIGHT) == pytest.approx(STOCK - 0.02 * ALONG[full], rel=1e-12)
    high = stations.height_mm[0] > BEVEL_MM * 1.01
    assert thickness(stations.outlines[0, high], BEVEL_MM) == pytest.approx(TE)


def test_a_tapered_convex_never_outgrows_the_bar() -> None:
    stations = blade(CONVEX, taper_mm_per_mm=0.02).at(ALONG)
    y = stations.height_mm.reshape(-1, 1) * np.linspace(0, 1, 40)
    widest = thickness(stations.sections, y).max(axis=1)
    assert (widest <= stations.stock_mm.ravel() * (1 + 1e-12)).all()
    assert stations.line_share == pytest.approx(1.0, abs=1e-4)


def test_a_saber_line_drops_with_taper() -> None:
    """Flat: the face rises DEEP over 1.75 mm per side; at half-stock s/2 it stands at bevel + DEEP (s/2 - e)/1.75."""
    stations = blade(SABER_FLAT, taper_mm_per_mm=0.02).at(ALONG[:30])
    expected = BEVEL_MM + DEEP * ((STOCK - 0.02 * ALONG[:30]) / 2 - TE / 2) / 1.75
    assert stations.line_mm[0] == pytest.approx(expected, rel=1e-9)


def test_a_hollow_line_drops_along_its_arc() -> None:
    """Wheel tangent to the centre plane at the shoulder: bevel + sqrt(2 R d - d^2), d = s/2 - e."""
    stations = blade(HOLLOW, taper_mm_per_mm=0.02).at(ALONG[:30])
    d = (STOCK - 0.02 * ALONG[:30]) / 2 - TE / 2
    assert stations.line_mm[0] == pytest.approx(BEVEL_MM + np.sqrt(WAISTLESS_WHEEL * d - d * d), rel=1e-9)


def test_a_full_hollow_keeps_its_wheel_and_its_line_leaves_the_spine() -> None:
    """As above with d = s/2 - e; tilting it about the shoulder would cut a waist into it."""
    deep = HEIGHT - BEVEL_MM
    wheel = (deep**2 + 1.75**2) / 1.75
    stations = blade(hollow.outlines(designs(wheel=wheel)), taper_mm_per_mm=0.02).at(ALONG[1:25])
    d = stations.stock_mm[0] / 2 - TE / 2
    assert stations.line_mm[0] == pytest.approx(BEVEL_MM + np.sqrt(wheel * d - d * d), rel=1e-9)
    assert (stations.line_share < 1).all()


def test_a_face_ground_to_zero_keeps_its_angle() -> None:
    """The facet is the edge: 2 mm over 28 mm, whatever the taper; the line stands where it meets the local bar."""
    facet = np.array([[[0, 0, 0], [STOCK / 2, HEIGHT, 0], [-STOCK / 2, HEIGHT, 0.0]]])
    stations = blade(facet, taper_mm_per_mm=0.02).at([0.0, 20.0, 40.0])
    assert np.tan(half_angles(stations.sections, 0.0)[1]) == pytest.approx(2 / 28)
    assert stations.line_mm[0] == pytest.approx([28.0, 28 * 3.6 / 4, 28 * 3.2 / 4])


@pytest.mark.parametrize("outlines", [SABER_FLAT, HOLLOW], ids=["flat", "hollow"])
def test_the_line_keeps_its_height_and_runs_out_at_the_spine(outlines: Outline) -> None:
    stations = blade(outlines).at(ALONG)
    share, out = stations.line_share[0], stations.height_mm[0] <= 18.0
    assert (np.diff(share) >= -1e-9).all()
    assert stations.line_mm[0, ~out] == pytest.approx(18.0)
    assert out.any()
    assert (share[out] == 1).all()


@pytest.mark.parametrize("side", ["right", "left"])
def test_one_sided_grinds_keep_their_flat_face(side: str) -> None:
    outlines = chisel.outlines(designs(line=18.0, side=side))
    parts = {"taper_mm_per_mm": 0.01, "swedge_length_mm": 40.0, "swedge_spine_mm": 0.5, "plunge_radius_mm": 5.0}
    stations = blade(outlines, **parts).at(ALONG)
    flat_face = stations.sections[..., 0].min(axis=1) if side == "right" else stations.sections[..., 0].max(axis=1)
    assert flat_face == pytest.approx(0.0, abs=1e-12)
    assert (np.diff(stations.line_mm[0, 5:25]) < 0).all()


def test_a_swedge_leaves_the_spine_asked_for_at_the_angle_asked_for() -> None:
    whole = blade(SABER_FLAT, "clip")
    swedged = replace(
        whole, swedge_length_mm=50.0, swedge_angle_per_side_deg=35.0, swedge_spine_mm=1.0, taper_mm_per_mm=0.005
    )
    stations = swedged.at([59.0, 80.0, 95.0])
    left, right = faces_at(stations.sections, stations.height_mm.ravel())
    assert right - left == pytest.approx([STOCK - 0.005 * 59, 1.0, 1.0])
    below = half_angles(stations.sections[1:], stations.height_mm[0, 1:], above=False)
    assert np.degrees(np.stack(below)) == pytest.approx(-35.0)
    assert (stations.line_mm == replace(swedged, swedge_length_mm=0.0).at(stations.x_mm).line_mm).all()


def test_the_grind_comes_out_of_the_bar_at_the_plunge_line() -> None:
    stations = blade(SABER_FLAT, plunge_radius_mm=8.0).at([0.0, 2.0, 4.0, 8.0, 12.0])
    at_10 = thickness(stations.outlines[0], 10.0)
    assert at_10[0] == pytest.approx(STOCK)
    assert (np.diff(at_10[:4]) < 0).all()
    assert at_10[3:] == pytest.approx(thickness(SABER_FLAT, 10.0)[0])


@pytest.mark.parametrize("outlines", [CONVEX, HOLLOW, CHISEL], ids=["convex", "hollow", "chisel"])
def test_the_plunge_stays_within_the_bar_and_on_its_edge(outlines: Outline) -> None:
    stations = blade(outlines, plunge_radius_mm=8.0).at(np.linspace(0, 8, 9))
    y = np.linspace(2 * BEVEL_MM, HEIGHT, 50)[None]  # a one-sided bevel is twice as high
    t = thickness(stations.sections, y)
    assert (t <= STOCK * (1 + 1e-12)).all()
    assert (np.diff(t, axis=0) <= 1e-9).all()  # the further out, the more is ground off
    assert t[0] == pytest.approx(STOCK)
    assert (stations.sections[:, 0, :2] == 0).all()


def test_no_swedge_beside_a_swedge() -> None:
    outlines = np.concatenate([SABER_FLAT, SABER_FLAT])
    ends = Blade(outlines, LENGTH, BAR, swedge_length_mm=[0.0, 40.0]).at(LENGTH)
    left, right = faces_at(ends.sections, HEIGHT)
    assert right - left == pytest.approx([STOCK, 0.0])


def test_zones_blend_over_the_transition() -> None:
    knobs = {"edge_zone": "hollow", "tip_zone": "convex"}
    made = designs(line=18.0, wheel=WAISTLESS_WHEEL, **{k: np.array(v) for k, v in knobs.items()})
    edge_zone, tip_zone = compound.outlines(made), compound.tip_outlines(made)
    both = blade(edge_zone, tip_outlines=tip_zone, tip_zone_mm=30.0, transition_mm=20.0)
    at_8 = thickness(both.at([50.0, 60.0, 70.0, 80.0, 85.0]).outlines[0], 8.0)
    hollow_8, convex_8 = thickness(edge_zone, 8.0)[0], thickness(tip_zone, 8.0)[0]
    assert at_8[[0, 1, 3, 4]] == pytest.approx([hollow_8, hollow_8, convex_8, convex_8])
    assert hollow_8 < at_8[2] < convex_8


def test_a_batch_is_its_blades_one_by_one() -> None:
    outlines = np.concatenate([FULL_FLAT, SABER_FLAT])
    parts = {"taper_mm_per_mm": [0.02, 0.0], "swedge_length_mm": [0.0, 40.0], "plunge_radius_mm": [6.0, 0.0]}
    together = blade(outlines, **parts)
    for k in range(2):
        alone = blade(outlines[k : k + 1], **{name: values[k] for name, values in parts.items()})
        for measure in (
            lambda b: mechanics.weight(b).mass_g,
            lambda b: mechanics.tip_strength_n(b, STRESS_MPA),
            lambda b: mechanics.stiffness_n_per_mm(b, 100.0),
            lambda b: mechanics.penetration(b, 25.0, FLESH).force,
        ):
            assert measure(together)[k] == pytest.approx(measure(alone)[0], rel=2e-4)


def test_thinning_by_nothing_changes_nothing() -> None:
    found = thinned(HOLLOW, STOCK / 2, STOCK / 2)
    y = np.linspace(0, HEIGHT, 30)
    assert thickness(found, y[None]) == pytest.approx(thickness(HOLLOW, y[None]), abs=1e-12)


# -- facts of the trade --------------------------------------------------------------------------------------------


def test_distal_taper_lightens_the_blade_towards_the_tip() -> None:
    plain, tapered = blade(SABER_FLAT), blade(SABER_FLAT, taper_mm_per_mm=0.02)
    before, after = mechanics.weight(plain), mechanics.weight(tapered)
    assert after.mass_g[0] < before.mass_g[0]
    assert after.balance_mm[0] < before.balance_mm[0]
    assert mechanics.stiffness_n_per_mm(tapered, 105.0)[0] < mechanics.stiffness_n_per_mm(plain, 105.0)[0]


@pytest.mark.parametrize("outlines", [SABER_FLAT, FULL_FLAT, HOLLOW], ids=["saber", "full flat", "hollow"])
@pytest.mark.parametrize("profile", ["drop", "clip", "straight-back"])
def test_a_swedge_lowers_penetration_and_costs_spine(outlines: Outline, profile: str) -> None:
    plain = blade(outlines, profile)
    swedged = replace(plain, swedge_length_mm=60.0, swedge_spine_mm=0.3)
    before, after = mechanics.penetration(plain, 30.0, FLESH), mechanics.penetration(swedged, 30.0, FLESH)
    for part in ("force", "parting", "wedging", "rubbing"):
        assert getattr(after, part)[0] < getattr(before, part)[0]
    assert mechanics.weight(swedged).mass_g[0] < mechanics.weight(plain).mass_g[0]
    assert mechanics.stiffness_n_per_mm(swedged, 105.0)[0] < mechanics.stiffness_n_per_mm(plain, 105.0)[0]
    pry = [mechanics.pry_moment_n_m(b, 80.0, STRESS_MPA)[0, 0] for b in (swedged, plain)]
    assert pry[0] < pry[1]


@pytest.mark.parametrize("zone", ["flat", "convex"])
def test_a_stout_tip_zone_makes_a_hollow_blade_markedly_stronger_there(zone: str) -> None:
    knobs = {"edge_zone": np.array("hollow"), "tip_zone": np.array(zone)}
    made = designs(line=18.0, wheel=WAISTLESS_WHEEL, **knobs)
    plain = blade(compound.outlines(made))
    stout = replace(plain, tip_outlines=compound.tip_outlines(made), tip_zone_mm=30.0, transition_mm=15.0)
    strength = [mechanics.tip_strength_n(b, STRESS_MPA, 3.0)[0] for b in (plain, stout)]
    assert strength[1] > 2 * strength[0]
    assert mechanics.stiffness_n_per_mm(stout, 102.0)[0] > mechanics.stiffness_n_per_mm(plain, 102.0)[0]


def test_the_nearer_to_the_point_the_weaker() -> None:
    found = [mechanics.tip_strength_n(blade(FULL_FLAT), STRESS_MPA, d)[0] for d in (2.0, 4.0, 8.0, 16.0)]
    assert (np.diff(found) > 0).all()


def test_deeper_takes_more() -> None:
    found = [mechanics.penetration(blade(FULL_FLAT), d, FLESH).force[0] for d in (5.0, 15.0, 40.0, LENGTH)]
    assert (np.diff(found) > 0).all()


# -- refusals ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        ({"taper_mm_per_mm": 0.04}, "no stock"),
        ({"taper_mm_per_mm": -0.01}, "at least 0"),
        ({"taper_mm_per_mm": np.nan}, "at least 0"),
        ({"taper_mm_per_mm": [0.0, 0.0]}, "2 values"),
        ({"swedge_length_mm": 120.0}, "length"),
        ({"tip_zone_mm": 80.0, "transition_mm": 40.0}, "length"),
        ({"plunge_radius_mm": 1e300}, "length"),
        ({"tip_outlines": FULL_FLAT[:, :-1]}, "vertices"),
    ],
)
def test_blades_that_cannot_be_made(parts: dict[str, object], words: str) -> None:
    with pytest.raises(GeometryError, match=words):
        blade(FULL_FLAT, **parts)


def test_a_blade_needs_a_length() -> None:
    with pytest.raises(GeometryError, match="length"):
        Blade(FULL_FLAT, 0.0, BAR)


@pytest.mark.parametrize("x", [-1.0, LENGTH + 1, np.nan, LENGTH])
def test_stations_that_are_not_there(x: float) -> None:
    with pytest.raises(GeometryError):
        blade(FULL_FLAT).at(x)


@pytest.mark.parametrize("angle", [-5.0, 90.0, 1e300])
def test_swedges_that_cannot_be_ground(angle: float) -> None:
    with pytest.raises(GeometryError):
        blade(FULL_FLAT, swedge_length_mm=40.0, swedge_angle_per_side_deg=angle).at(90.0)


def test_thinning_past_the_middle() -> None:
    with pytest.raises(GeometryError, match="less than nothing"):
        thinned(FULL_FLAT, -0.1, 0.1)


def test_places_on_the_blade() -> None:
    for refused in (0.0, -1.0, LENGTH + 1, np.nan):
        with pytest.raises(GeometryError):
            mechanics.stiffness_n_per_mm(blade(FULL_FLAT), refused)
        with pytest.raises(GeometryError):
            mechanics.penetration(blade(FULL_FLAT), refused, FLESH)
        with pytest.raises(GeometryError):
            mechanics.tip_strength_n(blade(FULL_FLAT), STRESS_MPA, refused)
    with pytest.raises(GeometryError):
        mechanics.stiffness_n_per_mm(blade(FULL_FLAT), LENGTH)  # the point itself gives way without limit
