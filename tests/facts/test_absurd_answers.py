"""Absurd answers that a careless model gives, as far as geometry and mechanics alone can give them."""

import dataclasses
import importlib.resources
import math
import tomllib

import bevelwright_builtin
import numpy as np
import pytest

from recommender.geometry.profile import half_angles, height_at_thickness, thickness
from recommender.mechanics.cutting import CutMaterial, cut_force, drift_force
from recommender.mechanics.splitting import HELD_SHARE, Billet, split
from recommender.mechanics.steel import failure_stress_mpa, fracture_toughness, yield_strength_mpa
from recommender.mechanics.strength import (
    body_edge_strength,
    local_edge_strength,
    pry_moment_n_m,
    stiffness_n_per_mm,
)
from recommender.plugin.api import BOTH, Designs, Workshop

PACK = importlib.resources.files("bevelwright_rules") / "core"
STRESS_MPA = 1500.0
COMMON_WHEELS = (50.0, 100.0, 150.0, 200.0, 250.0, 300.0, 350.0)


def table(kind, name):
    """A table of the pack as written, without loading rules."""
    return tomllib.loads((PACK / "tables" / kind / f"{name}.toml").read_text(encoding="utf-8"))


def material(name, **changed):
    written = table("materials", name)
    likely = {
        key: written[key]["likely"] for key in written if isinstance(written[key], dict) and "likely" in written[key]
    }
    return dataclasses.replace(
        CutMaterial(
            likely["toughness_j_per_m2"] / 1000,
            likely["foundation_n_per_mm3"],
            likely["plateau_mpa"],
            likely["friction"],
        ),
        **changed,
    )


def value(array):
    (single,) = np.ravel(array)
    return float(single)


# Edge strength measured at the spine


def test_the_spine_does_not_strengthen_the_edge(grind, bar):
    # The same faces up to the same line; only the unground flat above grows.
    low = grind("saber-flat", bar)
    high = grind("saber-flat", dataclasses.replace(bar, height=bar.height + 40.0))
    bevel = np.array([bar.bevel_mm])
    assert local_edge_strength(low.sides, STRESS_MPA, bevel) == local_edge_strength(high.sides, STRESS_MPA, bevel)


def test_edge_strength_follows_the_thickness_behind_the_edge_rather_than_the_bar(grind, bar):
    thin_edge_on_thick_bar = dataclasses.replace(bar, stock=1.5 * bar.stock, te=0.4 * bar.te, line=bar.height)
    thick_edge_on_thin_bar = dataclasses.replace(bar, line=bar.height)
    stout = grind("full-flat", thin_edge_on_thick_bar)
    slim = grind("full-flat", thick_edge_on_thin_bar)

    def edge(blade, b):
        return value(local_edge_strength(blade.sides, STRESS_MPA, np.array([b.bevel_mm])))

    assert edge(stout, thin_edge_on_thick_bar) < edge(slim, thick_edge_on_thin_bar)
    # Yet the bar itself is the stouter one.
    assert value(pry_moment_n_m(stout.outlines, STRESS_MPA)) > value(pry_moment_n_m(slim.outlines, STRESS_MPA))


def test_edge_strength_stays_below_what_the_bar_would_bear(grind, bar):
    # A bar unground down to the edge: sigma t^2 (2 + 2y) / (6y) is least at the top of the edge zone.
    top = max(3 * bar.bevel_mm, 3.0)
    unground = STRESS_MPA * bar.stock**2 * (2 + 2 * top) / (6 * top)
    for name in ("saber-flat", "saber-convex"):
        strength = local_edge_strength(grind(name, bar).sides, STRESS_MPA, np.array([bar.bevel_mm]))
        assert value(strength) < 0.5 * unground


def test_edge_strength_of_a_wedge_by_hand(grind, bar):
    # t = 2 m y: sigma (2 m y)^2 (2 + 2y) / (6y) rises with y, so 1 mm up decides: 8 sigma m^2 / 3.
    facet = dataclasses.replace(bar, line=bar.stock / 2 / math.tan(math.radians(12.0)))
    scandi = grind("scandi", facet)
    strength = local_edge_strength(scandi.sides, STRESS_MPA, np.array([0.0]))
    assert value(strength) == pytest.approx(8 * STRESS_MPA * math.tan(math.radians(12.0)) ** 2 / 3, rel=1e-9)


def test_strength_at_the_line_by_hand(grind, bar):
    blade = grind("saber-flat", bar)
    wanted = STRESS_MPA * bar.stock**2 * (2 + 2 * bar.line) / (6 * bar.line)
    assert value(body_edge_strength(blade.sides, STRESS_MPA, np.array([bar.line]))) == pytest.approx(wanted, rel=1e-9)


# Release compared at equal height


def test_release_is_taken_at_the_opening_and_not_at_a_height(grind, bar):
    arm, modulus, gc, mu = 30.0, 11000.0, 0.28, 0.4
    opening = bar.te + 0.4 * (bar.stock - bar.te)
    length = (3 * modulus * arm**3 * (opening / 2) ** 2 / (4 * gc)) ** 0.25
    billet = Billet(length, arm, modulus, gc, mu)
    held = Billet(length / HELD_SHARE, arm, modulus, gc, mu)  # whose split has run that far at the opening
    margins = {}
    for name in ("saber-flat", "saber-convex"):
        blade = grind(name, bar)
        result = split(blade.sides, billet)
        y = value(height_at_thickness(blade.outlines, opening))
        assert value(result.depth_mm) == pytest.approx(y, rel=1e-9)
        at_opening = math.degrees(value(half_angles(blade.outlines, y)[1]) - math.atan(mu))
        margins[name] = value(split(blade.sides, held).release_margin_deg)
        assert margins[name] == pytest.approx(at_opening, abs=1e-6)
    # At the opening the convex lets go better; at one and the same height near the line it would seem worse.
    assert margins["saber-convex"] > margins["saber-flat"]
    high = 0.9 * bar.line
    convex, flat = (value(half_angles(grind(n, bar).outlines, high)[1]) for n in ("saber-convex", "saber-flat"))
    assert convex < flat


# Harder always pries better

STEELS = sorted(entry.name.removesuffix(".toml") for entry in (PACK / "tables" / "steels").iterdir())
NICK_UM = 60.0


def failure_of(steel, hrc, flaw_um=NICK_UM):
    tough = steel["toughness"]
    k_ic = fracture_toughness(
        tough["k_ic_mpa_sqrt_m"]["likely"],
        tough["k_ic_slope_per_hrc"],
        steel["hardness"]["usual_hrc"],
        hrc,
    )
    return failure_stress_mpa(yield_strength_mpa(hrc), k_ic, flaw_um)


@pytest.mark.parametrize("name", ["1084", "1095", "o1", "d2", "440c", "52100"])
def test_harder_does_not_pry_better_past_a_point(name):
    steel = table("steels", name)
    low, high = steel["hardness"]["low_hrc"], steel["hardness"]["high_hrc"]
    over_range = [failure_of(steel, hrc) for hrc in np.linspace(low, high, 9)]
    assert over_range[-1] < max(over_range)
    assert over_range[-1] < over_range[0]


def test_some_steels_gain_from_hardness_and_some_lose():
    gains = {}
    for name in STEELS:
        hardness = table("steels", name)["hardness"]
        steel = table("steels", name)
        gains[name] = failure_of(steel, hardness["high_hrc"]) - failure_of(steel, hardness["low_hrc"])
    assert len(gains) >= 20
    assert min(gains.values()) < 0 < max(gains.values())


def test_a_tough_steel_gains_from_hardness():
    # L6 is chosen for prying because it yields rather than cracks.
    steel = table("steels", "l6")
    hardness = steel["hardness"]
    assert failure_of(steel, hardness["usual_hrc"]) > failure_of(steel, hardness["low_hrc"])


def test_between_steels_the_harder_is_not_the_stronger():
    tool, spring = table("steels", "d2"), table("steels", "l6")
    assert tool["hardness"]["usual_hrc"] > spring["hardness"]["usual_hrc"]
    assert failure_of(tool, tool["hardness"]["usual_hrc"]) < failure_of(spring, spring["hardness"]["usual_hrc"])


@pytest.mark.parametrize("name", STEELS)
def test_a_deeper_flaw_never_makes_steel_stronger(name):
    steel = table("steels", name)
    by_flaw = [failure_of(steel, steel["hardness"]["usual_hrc"], flaw) for flaw in (1.0, 10.0, 60.0, 1000.0)]
    assert by_flaw == sorted(by_flaw, reverse=True)
    assert by_flaw[-1] < by_flaw[0]


# Friction swamps the rest


@pytest.fixture
def kitchen(grind, bar):
    """A 2 mm full flat of 45 mm, 0.3 mm behind a 15 degree edge."""
    full = dataclasses.replace(bar, stock=2.0, height=45.0, line=45.0, te=0.3, angle=15.0)
    return grind("full-flat", full)


@pytest.mark.parametrize("slice_push", [0.0, 0.5, 1.5])
def test_rubbing_does_not_swamp_the_rest(kitchen, slice_push):
    force = cut_force(kitchen.sides, 30.0, material("firm-vegetables"), slice_push_ratio=slice_push)
    share = value(force.rubbing) / value(force.push)
    assert 0.1 < share < 0.85
    assert value(force.wedging) > 0.02 * value(force.push)
    assert value(force.push) == pytest.approx(
        value(force.parting) + value(force.wedging) + value(force.rubbing), rel=1e-12
    )


def test_capped_pressure_rubs_less(kitchen):
    pressed = [
        value(cut_force(kitchen.sides, 30.0, material("firm-vegetables", plateau_mpa=plateau)).rubbing)
        for plateau in (0.005, 0.01, 0.02, 0.04, 1e6)
    ]
    assert pressed == sorted(pressed)
    assert len(set(pressed)) == len(pressed)


def test_fully_yielded_material_rubs_with_its_plateau_on_both_faces(kitchen):
    # 2 p mu D, but for the few hundredths of a millimetre before it yields.
    firm = material("firm-vegetables", plateau_mpa=0.0005)
    force = cut_force(kitchen.sides, 30.0, firm)
    assert value(force.rubbing) == pytest.approx(2 * 0.0005 * firm.friction * 30.0, rel=1e-3)


def test_the_cap_bites_where_the_pressure_passes_the_plateau_of_the_table(grind, bar):
    # Firm vegetables yield at 0.15 / 0.07 = 2.14 mm on a side: thin blades never get there, a 9 mm splitter does.
    firm = material("firm-vegetables")
    elastic = material("firm-vegetables", plateau_mpa=1e6)
    stout = grind("saber-flat", dataclasses.replace(bar, stock=9.0, height=60.0, line=36.0, te=1.2, angle=25.0))
    slim = grind("saber-flat", dataclasses.replace(bar, stock=2.0, height=45.0, line=16.0, te=0.3, angle=15.0))
    assert value(cut_force(stout.sides, 30.0, firm).push) < value(cut_force(stout.sides, 30.0, elastic).push)
    assert value(cut_force(slim.sides, 30.0, firm).push) == value(cut_force(slim.sides, 30.0, elastic).push)


def test_sharpness_plays_a_part(kitchen):
    keen, blunt = (
        value(cut_force(kitchen.sides, 30.0, material("firm-vegetables"), apex_radius_mm=r).push)
        for r in (0.0005, 0.02)
    )
    assert blunt > 1.3 * keen


def test_the_force_on_a_plain_wedge_by_hand(grind, bar):
    # k tan a (tan a + mu) D^2 beside R, all elastic.
    facet = dataclasses.replace(bar, stock=6.0, height=40.0, line=30.0)
    wedge = grind("scandi", facet)
    soft = CutMaterial(toughness_n_per_mm=0.3, foundation_n_per_mm3=0.02, plateau_mpa=1e6, friction=0.25)
    m = 3.0 / 30.0
    for depth in (5.0, 12.0, 29.0):
        wanted = 0.3 + 0.02 * m * (m + 0.25) * depth**2
        assert value(cut_force(wedge.sides, depth, soft).push) == pytest.approx(wanted, rel=1e-9)


# A blade that goes in deeper than it is high


@pytest.mark.parametrize("name", ["saber-flat", "saber-convex", "chisel"])
@pytest.mark.parametrize("beyond", [1.001, 1.2, 2.0])
def test_a_blade_buried_deeper_than_its_spine_is_not_freed(grind, bar, name, beyond):
    firm = material("firm-vegetables")
    side = "right" if name == "chisel" else BOTH
    blade = grind(name, bar, side=side)
    buried, just = (cut_force(blade.sides, depth, firm) for depth in (beyond * bar.height, bar.height))
    assert value(buried.wedging) == pytest.approx(value(just.wedging), rel=1e-12)
    assert value(buried.push) >= value(just.push) * (1 - 1e-12)


def test_a_buried_chisel_drifts_no_less(grind, bar):
    firm = material("firm-vegetables")
    blade = grind("chisel", bar, side="right")
    at_spine = abs(value(drift_force(blade.sides, bar.height, firm)))
    assert abs(value(drift_force(blade.sides, 1.5 * bar.height, firm))) == pytest.approx(at_spine, rel=1e-3)


# Scandi wins prying


def test_at_an_equal_line_the_scandi_is_the_weakest_flat(grind, bar):
    scandi, saber, convex = (grind(name, bar) for name in ("scandi", "saber-flat", "saber-convex"))
    pry = [value(pry_moment_n_m(blade.outlines, STRESS_MPA)) for blade in (scandi, saber, convex)]
    assert pry == sorted(pry)
    assert len(set(pry)) == 3
    behind = [value(thickness(blade.outlines, bar.bevel_mm + 1.0)) for blade in (scandi, saber, convex)]
    assert behind == sorted(behind)


# A full hollow on 3.5 x 26 mm, and ideal wheels


def full_hollows(stock, height):
    te, angle, wheel = (
        a.ravel() for a in np.meshgrid([0.1, 0.3, 0.5, 0.8, 1.2], [8, 12, 16, 20, 25, 30], COMMON_WHEELS)
    )
    n = len(te)
    hollow = next(g for g in bevelwright_builtin.grinds() if g.id == "full-hollow")
    columns = {
        "stock_thickness_mm": np.full(n, stock),
        "height_mm": np.full(n, height),
        "grind_line_mm": np.full(n, np.nan),
        "edge_thickness_mm": te.astype(float),
        "edge_angle_per_side_deg": angle.astype(float),
        "wheel_diameter_mm": wheel.astype(float),
        "micro_bevel_per_side_deg": np.full(n, np.nan),
        "side": np.full(n, BOTH),
    }
    return hollow, hollow.complete(Designs(columns))


def refused(hollow, designs, wheels):
    rows = np.zeros(len(designs), dtype=bool)
    reasons = []
    for refusal in hollow.refusals(designs, Workshop(wheels, True, True)):
        rows |= refusal.rows
        if refusal.rows.any():
            reasons.append(refusal.reason)
    return rows, reasons


@pytest.mark.parametrize("largest", [100.0, 250.0, 350.0])
def test_a_full_hollow_on_a_hunter_is_refused_for_common_wheels(largest):
    hollow, designs = full_hollows(3.5, 26.0)
    designs = designs.taking(designs["wheel_diameter_mm"] <= largest)
    rows, reasons = refused(hollow, designs, tuple(w for w in COMMON_WHEELS if w <= largest))
    assert rows.all()
    assert any(f"{largest:g} mm" in reason for reason in reasons)


def test_the_same_full_hollow_on_a_very_large_wheel_is_not_refused():
    # It takes about 416 mm.
    hollow, designs = full_hollows(3.5, 26.0)
    usual = (designs["edge_thickness_mm"] < 0.6) & (designs["edge_angle_per_side_deg"] > 15)
    rows, _ = refused(hollow, designs.taking(usual).changed(wheel_diameter_mm=450.0), (*COMMON_WHEELS, 450.0))
    assert not rows.any()


@pytest.mark.parametrize(("stock", "height"), [(1.5, 36.0), (2.0, 45.0), (2.5, 45.0), (3.0, 50.0)])
def test_no_common_wheel_hollows_a_kitchen_blade_to_the_spine(stock, height):
    hollow, designs = full_hollows(stock, height)
    assert refused(hollow, designs, COMMON_WHEELS)[0].all()


# Free stock: force alone always picks the thinnest bar


def test_a_thinner_bar_cuts_easier_and_bears_less(grind, bar):
    bars = [dataclasses.replace(bar, stock=share * bar.stock) for share in (0.6, 0.8, 1.0)]
    blades = [grind("saber-flat", each) for each in bars]
    push = [value(cut_force(blade.sides, 0.8 * bar.line, material("firm-vegetables")).push) for blade in blades]
    pry = [value(pry_moment_n_m(blade.outlines, STRESS_MPA)) for blade in blades]
    stiff = [value(stiffness_n_per_mm(blade.outlines, 120.0)) for blade in blades]
    # What bears falls faster than what cuts: thin stock is paid for.
    for rising in (push, pry, stiff):
        assert rising == sorted(rising)
        assert rising[0] < rising[-1]
    assert pry[0] / pry[-1] < push[0] / push[-1]
    assert stiff[0] / stiff[-1] < pry[0] / pry[-1]
