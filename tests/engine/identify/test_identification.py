"""A blade in the hand: readings synthesised from a known blade must name its grind, or say that they cannot tell."""

from __future__ import annotations

import functools
import json
import math
from dataclasses import replace

import numpy as np
import pytest

from recommender.drawing.text.measured.identify_text import identify_text
from recommender.engine.identify.identification import Identification, identify, sharpened_away_mm
from recommender.engine.identify.readings import CaliperBlade, parse_readings
from recommender.errors import InputError
from recommender.geometry.profile import thickness
from recommender.geometry.sharpened import sharpened_back
from recommender.plugin.api import BOTH, LEFT, RIGHT, Designs, Workshop
from recommender.service import Service

GRINDS = Service(strict=True).grinds
WHEEL, SHARE, CROWN, STOCK = "wheel_diameter_mm", "grind_line_share", "crown_share", "stock_thickness_mm"
EDGE, ANGLE, HEIGHT = "edge_thickness_mm", "edge_angle_per_side_deg", "height_mm"
FLAT = {BOTH: "none", RIGHT: "left", LEFT: "right"}
TRUTHS = {
    "full-flat": {STOCK: 3.0, HEIGHT: 40.0, EDGE: 0.3, ANGLE: 15.0},
    "saber-flat": {STOCK: 4.0, HEIGHT: 36.0, EDGE: 0.5, ANGLE: 18.0, SHARE: 0.75},
    "full-hollow": {STOCK: 3.0, HEIGHT: 20.0, EDGE: 0.3, ANGLE: 18.0, WHEEL: 320.0},
    "saber-hollow": {STOCK: 3.5, HEIGHT: 25.0, EDGE: 0.4, ANGLE: 18.0, SHARE: 0.65, WHEEL: 250.0},
    "convex": {STOCK: 4.0, HEIGHT: 35.0, EDGE: 0.4, ANGLE: 20.0, CROWN: 0.8},
    "saber-convex": {STOCK: 5.0, HEIGHT: 35.0, EDGE: 0.5, ANGLE: 22.0, CROWN: 0.8, SHARE: 0.6},
    "scandi": {STOCK: 3.0, HEIGHT: 25.0, ANGLE: 12.0, "micro_bevel": "no"},
    "chisel": {STOCK: 3.0, HEIGHT: 30.0, EDGE: 0.3, ANGLE: 25.0, "side": RIGHT},
    "saber-chisel": {STOCK: 4.0, HEIGHT: 30.0, EDGE: 0.3, ANGLE: 30.0, SHARE: 0.5, "side": LEFT},
    "compound": {
        STOCK: 4.0, HEIGHT: 30.0, EDGE: 0.4, ANGLE: 18.0, SHARE: 0.6, WHEEL: 300.0,
        "edge_zone": "hollow", "tip_zone": "convex",
    },
}  # fmt: skip
WITHIN = {STOCK: 0.02, EDGE: 0.03, ANGLE: 0.3, SHARE: 0.01, WHEEL: 10.0, CROWN: 0.05}
"""What the noise-free readings determine at least this well."""
every_grind = pytest.mark.parametrize("name", sorted(TRUTHS))


def truth(name: str, **changed: object) -> tuple[Designs, np.ndarray]:
    columns = {
        "grind_line_mm": np.nan,
        EDGE: 0.0,
        WHEEL: np.nan,
        "micro_bevel_per_side_deg": np.nan,
        "side": BOTH,
        **TRUTHS[name],
        **changed,
    }
    designs = GRINDS[name].complete(Designs({key: np.array([value]) for key, value in columns.items()}))
    refused = GRINDS[name].refusals(designs, Workshop((400.0,), True, True))
    assert not any(refusal.rows.any() for refusal in refused), "the test's own blade must be one that can be made"
    return designs, GRINDS[name].outlines(designs)


def measured(
    name: str, *, noise: float = 0.0, seed: int = 0, n: int = 10, stated: bool = True, **changed: object
) -> CaliperBlade:
    """Readings from 1 mm to just below the spine, with normal errors of thickness; facts stated or not."""
    designs, outline = truth(name, **changed)
    height = float(designs[HEIGHT][0])
    heights = np.linspace(1.0, height - 0.5, n)
    values = thickness(outline, heights[None, :])[0] + noise * np.random.default_rng(seed).normal(size=n)
    return CaliperBlade(
        tuple(zip(heights.tolist(), values.tolist(), strict=True)),
        height_mm=height,
        edge_angle_per_side_deg=float(designs[ANGLE][0]),
        flat_face=FLAT[designs["side"][0]] if stated else None,
        tip=("same" if GRINDS[name].tip_outlines is None else "other") if stated else None,
        uncertainty_mm=max(noise, 0.03),
    )


@functools.cache
def answered(name: str, noise: float = 0.0, seed: int = 0, stated: bool = True) -> Identification:
    return identify(GRINDS, measured(name, noise=noise, seed=seed, stated=stated))


NEARLY = {"scandi"}
"""A slight crown or hollow above a thick edge is within what calipers can read of one facet; a straight one is it."""


@every_grind
def test_exact_readings_name_the_grind_and_its_dimensions(name: str) -> None:
    found = answered(name)
    if name in NEARLY:
        assert found.grinds[0] == name
        assert found.best.weight > 0.7
        assert "saber-flat" not in found.grinds
    else:
        assert (found.verdict, found.grinds) == ("identified", (name,))
    assert found.best.rms_mm < 1e-3
    assert found.best.weight == max(fit.weight for fit in found.fits)
    for key, expected in TRUTHS[name].items():
        if key in WITHIN:
            assert found.best.designs[key][0] == pytest.approx(expected, abs=WITHIN[key]), key
        elif isinstance(expected, str) and key not in ("tip_zone", "micro_bevel"):
            assert found.best.designs[key][0] == expected


def test_one_facet_on_one_side_is_not_doubted_for_a_shoulder_that_nobody_finds():
    """A wedge of 15 degrees up to 3 mm, its back flat: a saber chisel hardly steeper at the edge is the same blade."""
    readings = tuple(
        (y, min(y * np.tan(np.radians(15.0)), 3.0)) for y in (1.0, 3.0, 5.0, 7.0, 9.0, 11.0, 14.0, 18.0, 23.0)
    )
    blade = CaliperBlade(readings, height_mm=24.0, edge_angle_per_side_deg=15.0, flat_face="left", tip="same")
    found = identify(GRINDS, blade)
    assert (found.verdict, found.grinds) == ("identified", ("single-bevel",))


@every_grind
@pytest.mark.parametrize("noise", [pytest.param(0.02, marks=pytest.mark.long), 0.05])
def test_noisy_readings_keep_the_truth_among_those_named(name: str, noise: float) -> None:
    for seed in range(2):
        found = answered(name, noise, seed)
        assert name in found.grinds, (seed, found.grinds)
        assert found.fit(name).rms_mm < 2 * noise
        truth_stock = TRUTHS[name][STOCK]
        assert found.fit(name).designs[STOCK][0] == pytest.approx(truth_stock, abs=4 * noise)


@pytest.mark.long
@pytest.mark.parametrize(
    ("name", "least"),
    [("chisel", 4), ("saber-chisel", 4), ("compound", 4), ("full-flat", 4), ("saber-hollow", 3), ("saber-convex", 3)],
)
def test_most_noisy_readings_name_the_grind_alone(name: str, least: int) -> None:
    verdicts = [answered(name, noise, seed).verdict for noise in (0.02, 0.05) for seed in range(2)]
    assert verdicts.count("identified") >= least


@pytest.mark.parametrize(
    ("name", "other", "how"),
    [
        ("full-flat", "chisel", "flat face"),
        ("chisel", "full-flat", "flat face"),
        ("saber-flat", "saber-chisel", "flat face"),
        ("saber-hollow", "compound", "tip"),
        ("compound", "saber-hollow", "tip"),
    ],
)
def test_what_calipers_cannot_see_is_said_unless_stated(name: str, other: str, how: str) -> None:
    # Above the edge bevel both have one profile; readings start where both are past it.
    designs, outline = truth(name)
    heights = np.linspace(2.0, float(designs[HEIGHT][0]) - 0.5, 10)
    values = thickness(outline, heights[None, :])[0]
    blade = CaliperBlade(
        tuple(zip(heights.tolist(), values.tolist(), strict=True)), height_mm=float(designs[HEIGHT][0])
    )
    found = identify(GRINDS, blade)
    assert found.verdict == "cannot tell"
    assert {name, other} <= set(found.grinds)
    assert how in {telling.how for telling in found.telling}


def test_stated_faces_shut_out_the_others() -> None:
    found = answered("chisel")
    assert {fit.grind for fit in found.fits} == {"chisel", "saber-chisel", "single-bevel"}
    assert found.best.designs["side"][0] == RIGHT
    assert "full-flat" in found.left_out
    assert "compound" not in {fit.grind for fit in answered("saber-hollow").fits}


def test_a_low_flat_and_the_hollow_of_a_great_wheel_cannot_be_told_apart() -> None:
    # Sagitta of 2 m diameter over 12 mm: 12^2 / (8 x 1000) = 0.018 mm a side, less than a caliper reads.
    found = identify(GRINDS, measured("saber-flat", **{HEIGHT: 24.0, SHARE: 0.5}))
    assert found.verdict == "cannot tell"
    assert {"saber-flat", "saber-hollow"} <= set(found.grinds)


def test_a_wheel_that_nobody_had_settles_it() -> None:
    # 300 mm over 14 mm leaves 14^2 / (8 x 150) = 0.16 mm a side, 2 m 0.02 mm.
    blade = measured("saber-flat", n=12, **{HEIGHT: 24.0, SHARE: 0.6})
    assert "saber-hollow" in identify(GRINDS, blade).grinds
    assert identify(GRINDS, replace(blade, largest_wheel_mm=300.0)).grinds == ("saber-flat",)


def test_a_stepped_blade_fits_no_grind_and_a_slip_is_named() -> None:
    steps = tuple((float(y), 1.0 if y < 12 else 4.0) for y in range(3, 30, 3))
    found = identify(GRINDS, CaliperBlade(steps, height_mm=30.0))
    assert (found.verdict, found.grinds) == ("none fits", ())
    slipped = measured("full-flat")
    readings = list(slipped.readings)
    readings[4] = (readings[4][0], readings[4][1] + 0.35)
    found = identify(GRINDS, replace(slipped, readings=tuple(readings)))
    assert found.verdict == "none fits"
    assert found.worst == f"reading 5 ({readings[4][0]:g}:{readings[4][1]:g})"


def test_coarser_calipers_are_less_sure() -> None:
    sharp = answered("convex")
    blunt = identify(GRINDS, replace(measured("convex"), uncertainty_mm=0.3))
    assert sharp.verdict == "identified"
    assert blunt.verdict == "cannot tell"
    assert set(sharp.grinds) < set(blunt.grinds)


def test_without_height_and_angle_the_dimensions_that_show_are_found() -> None:
    blade = measured("saber-hollow")
    found = identify(GRINDS, replace(blade, height_mm=None, edge_angle_per_side_deg=None))
    assert found.grinds == ("saber-hollow",)
    best = found.best
    assert best.designs["grind_line_mm"][0] == pytest.approx(0.65 * 25.0, abs=0.2)
    assert best.designs[WHEEL][0] == pytest.approx(250.0, abs=15.0)
    assert {HEIGHT, ANGLE} <= best.loose
    assert STOCK not in best.loose


def test_errors_shrink_with_the_uncertainty() -> None:
    blade = measured("saber-hollow")
    fine = identify(GRINDS, replace(blade, uncertainty_mm=0.01, height_uncertainty_mm=0.0)).fit("saber-hollow")
    coarse = identify(GRINDS, replace(blade, uncertainty_mm=0.02, height_uncertainty_mm=0.0)).fit("saber-hollow")
    assert coarse.errors[STOCK] == pytest.approx(2 * fine.errors[STOCK], rel=0.02)


def test_the_stock_error_is_that_of_a_mean() -> None:
    # A scandi's readings on the flats all measure the stock alone: sigma / sqrt(n), the facet's aside.
    blade = replace(measured("scandi"), height_uncertainty_mm=0.0)
    on_flats = sum(height > 8 for height, _ in blade.readings)
    assert identify(GRINDS, blade).fit("scandi").errors[STOCK] == pytest.approx(0.03 / math.sqrt(on_flats), rel=0.05)


def test_an_uncertain_height_counts_by_the_slope() -> None:
    # A flat grows by (stock - te) / (H - h_edge) per mm, h_edge = 0.15 / tan 15 deg.
    slope = (3.0 - 0.3) / (40.0 - 0.15 / math.tan(math.radians(15.0)))
    assert answered("full-flat").sigma_mm == pytest.approx(np.full(10, math.hypot(0.03, 0.2 * slope)), rel=1e-3)


def test_readings_worse_than_stated_stretch_the_uncertainty() -> None:
    found = identify(GRINDS, replace(measured("convex", noise=0.05), uncertainty_mm=0.02))
    best = found.best
    # Ten readings and the edge angle; variances grow until chi^2 meets its degrees of freedom.
    freedom = 11 - best.determined
    assert found.verdict != "none fits"
    assert best.chi2 > 1.5 * freedom
    assert best.score == pytest.approx(freedom + best.parsimony(best.chi2 / freedom))


@pytest.mark.parametrize(("name", "choices"), [("full-flat", 1), ("chisel", 1), ("scandi", 2), ("compound", 2)])
def test_a_family_pays_for_choices_that_change_the_section(name: str, choices: int) -> None:
    # Left or right, and the tip zone, leave the section as it is; a micro-bevel and the edge zone change it.
    fit = answered(name, stated=False).fit(name)
    assert fit.choices == choices
    one = replace(fit, choices=1)
    assert fit.parsimony() - one.parsimony() == pytest.approx(2 * math.log(choices))


def test_a_slip_at_the_end_is_named_too() -> None:
    # The last reading pulls the face towards itself: its neighbour is left with the largest residual.
    blade = measured("full-flat", n=5)
    height, value = blade.readings[-1]
    slipped = replace(blade, readings=(*blade.readings[:-1], (height, value - 0.5)))
    found = identify({"full-flat": GRINDS["full-flat"]}, slipped)
    assert found.verdict == "none fits"
    assert np.argmax(np.abs(found.best.residuals_mm / found.sigma_mm)) == 3
    assert found.worst == slipped.named(4)


def test_readings_on_the_edge_bevel_tell_one_sided_from_symmetric() -> None:
    # Up to 1.1 mm a symmetric bevel of 15 deg a side grows by 2 tan 15 = 0.54, a one-sided one by 0.27.
    designs, outline = truth("full-flat", **{EDGE: 0.6})
    heights = np.array([0.3, 0.6, 0.9, 2.0, 8.0, 16.0, 24.0, 32.0, 39.0])
    values = thickness(outline, heights[None, :])[0]
    blade = CaliperBlade(
        tuple(zip(heights.tolist(), values.tolist(), strict=True)),
        height_mm=40.0,
        edge_angle_per_side_deg=float(designs[ANGLE][0]),
        height_uncertainty_mm=0.0,
    )
    assert "chisel" not in identify(GRINDS, blade).grinds


def test_what_calipers_cannot_see_is_never_ruled_out_by_odds() -> None:
    # A scandi explains these nearly as well with fewer figures. By odds alone the compound, which pays for its
    # choice of edge zone, would fall behind the saber hollow of the same section.
    _, outline = truth("compound", **{STOCK: 4.85, HEIGHT: 27.8, EDGE: 0.57, ANGLE: 16.05, SHARE: 0.4, WHEEL: 350.0})
    heights = np.linspace(1.0, 27.3, 9)
    values = thickness(outline, heights[None, :])[0]
    readings = tuple(zip(heights.tolist(), values.tolist(), strict=True))
    found = identify(GRINDS, CaliperBlade(readings, height_mm=27.8, edge_angle_per_side_deg=16.05))
    behind = {fit.grind: fit.score - found.best.score for fit in found.fits}
    assert behind["saber-hollow"] < 6 < behind["compound"]
    assert {"compound", "saber-hollow"} <= set(found.grinds)


def test_order_of_readings_does_not_matter() -> None:
    blade = measured("saber-hollow", noise=0.02, seed=1)
    turned = identify(GRINDS, replace(blade, readings=blade.readings[::-1]))
    straight = answered("saber-hollow", 0.02, 1)
    assert turned.grinds == straight.grinds
    assert turned.best.chi2 == pytest.approx(straight.best.chi2, rel=1e-3)


GOOD = ((1.0, 0.4), (5.0, 0.8), (10.0, 1.3), (15.0, 1.8), (20.0, 2.3), (24.0, 2.7))


def changed(index: int, height: float, value: float) -> CaliperBlade:
    return CaliperBlade(
        (*GOOD[:index], (height, value), *GOOD[index + 1 :]), height_mm=25.0, edge_angle_per_side_deg=18.0
    )


@pytest.mark.parametrize(
    ("blade", "named"),
    [
        (changed(2, 10.0, math.nan), "reading 3 (10:nan)"),
        (changed(2, math.inf, 1.3), "reading 3 (inf:1.3)"),
        (changed(2, 10.0, -1.3), "reading 3 (10:-1.3)"),
        (changed(2, 10.0, 0.0), "reading 3 (10:0)"),
        (changed(0, -1.0, 0.4), "reading 1 (-1:0.4)"),
        (changed(5, 27.0, 2.9), "reading 6 (27:2.9)"),
        (changed(4, 20.0, 1.2), "reading 5 (20:1.2)"),
        (changed(5, 24.0, 2.0), "reading 6 (24:2)"),
        (changed(3, 10.0, 1.8), "reading 4 (10:1.8)"),
        (replace(changed(0, 1.0, 0.4), stock_thickness_mm=2.4), "reading 6 (24:2.7)"),
        (CaliperBlade(GOOD[:3], height_mm=25.0), "3 (1:0.4, 5:0.8, 10:1.3)"),
        (CaliperBlade((), height_mm=25.0), "0 (none)"),
        (CaliperBlade((GOOD[0],) * 6, height_mm=25.0), "different heights: 1"),
        (CaliperBlade(GOOD, height_mm=-1.0), "--height"),
        (CaliperBlade(GOOD, height_mm=25.0, edge_angle_per_side_deg=95.0), "--edge-angle-per-side"),
        (CaliperBlade(GOOD, height_mm=25.0, stock_thickness_mm=math.nan), "--stock"),
        (CaliperBlade(GOOD, height_mm=25.0, uncertainty_mm=0.0), "--uncertainty"),
    ],
)
def test_impossible_readings_are_refused_by_name(blade: CaliperBlade, named: str) -> None:
    with pytest.raises(InputError) as caught:
        identify(GRINDS, blade)
    assert named in str(caught.value)
    assert "expected" in str(caught.value)


def test_good_readings_and_a_waist_are_not_refused() -> None:
    assert identify(GRINDS, CaliperBlade(GOOD, height_mm=25.0, edge_angle_per_side_deg=18.0)).best.rms_mm < 0.05
    waist = ((1.0, 0.60), (4.0, 0.40), (8.0, 0.7), (12.0, 1.2), (16.0, 2.0), (20.0, 3.0))
    identify(GRINDS, CaliperBlade(waist, height_mm=25.0, edge_angle_per_side_deg=18.0, height_uncertainty_mm=0.0))


def test_readings_must_outnumber_what_they_determine() -> None:
    # A saber hollow has stock, line, edge thickness, edge angle and wheel: six figures at least.
    five = tuple(GOOD[:5])
    with pytest.raises(InputError, match="at least 6"):
        identify(GRINDS, CaliperBlade(five, height_mm=25.0))
    identify(GRINDS, CaliperBlade(five, height_mm=25.0, edge_angle_per_side_deg=18.0))
    identify(GRINDS, CaliperBlade(GOOD[:4], height_mm=25.0, edge_angle_per_side_deg=18.0, stock_thickness_mm=3.0))


@pytest.mark.parametrize("text", ["5", "5:", "a:1", "1:2:3", "5,0.2", "\x1b[31m:1"])
def test_readings_that_are_no_pairs(text: str) -> None:
    with pytest.raises(InputError, match=r"reading 2 .*HEIGHT:THICKNESS") as caught:
        parse_readings(["1:0.35", text])
    assert "\x1b" not in str(caught.value)


@pytest.mark.parametrize("name", ["full-flat", "saber-flat", "saber-hollow", "saber-convex", "chisel"])
@pytest.mark.parametrize("back", [1.5, 4.0])
def test_sharpened_back_is_found_from_the_original_edge(name: str, back: float) -> None:
    designs, outline = truth(name)
    now = sharpened_back(outline, back)
    height = float(designs[HEIGHT][0]) - back
    heights = np.linspace(1.0, height - 0.5, 12)
    values = thickness(now, back + heights[None, :])[0]
    blade = CaliperBlade(
        tuple(zip(heights.tolist(), values.tolist(), strict=True)),
        height_mm=height,
        edge_angle_per_side_deg=float(designs[ANGLE][0]),
        flat_face=FLAT[designs["side"][0]],
        tip="same",
    )
    fit = identify(GRINDS, blade).fit(name)
    original = float(designs[EDGE][0])
    grind = GRINDS[name]
    found = sharpened_away_mm(grind, fit, original_edge_thickness_mm=original)
    assert found == pytest.approx(back, abs=0.4 if grind.parent == "convex" else 0.1)
    assert sharpened_away_mm(grind, fit, original_height_mm=height + back) == pytest.approx(back)


def test_originals_that_contradict_the_blade() -> None:
    fit = answered("saber-flat").best
    with pytest.raises(InputError, match="--original-edge-thickness"):
        sharpened_away_mm(GRINDS["saber-flat"], fit, original_edge_thickness_mm=0.9)
    with pytest.raises(InputError, match="--original-height"):
        sharpened_away_mm(GRINDS["saber-flat"], fit, original_height_mm=30.0)
    unknown = identify(GRINDS, replace(measured("saber-flat"), height_mm=None)).fit("saber-flat")
    with pytest.raises(InputError, match="--height beside it"):
        sharpened_away_mm(GRINDS["saber-flat"], unknown, original_height_mm=40.0)
    assert sharpened_away_mm(GRINDS["saber-flat"], fit) is None
    assert sharpened_away_mm(GRINDS["scandi"], answered("scandi").best, original_edge_thickness_mm=0.1) is None


def test_a_plug_in_that_fails_is_left_out() -> None:
    def attempt(grind, doing, function, *args):
        try:
            return function(*args)
        except ZeroDivisionError:
            return None

    def broken(designs):
        raise ZeroDivisionError

    grinds = {**GRINDS, "broken": replace(GRINDS["full-flat"], id="broken", outlines=broken)}
    found = identify(grinds, measured("full-flat"), attempt)
    assert found.grinds == ("full-flat",)
    assert "broken" in found.left_out
    with pytest.raises(ZeroDivisionError):
        identify(grinds, measured("full-flat"))


def test_the_answer_is_plain_json() -> None:
    for found in (answered("scandi"), answered("saber-flat", stated=False)):
        data = json.loads(json.dumps(found.as_json(), allow_nan=False))
        assert data["schema"] == "bevelwright.measure/1"
        assert data["verdict"] == found.verdict
        assert sum(fit["weight"] for fit in data["fits"]) == pytest.approx(1.0)
        assert len(data["readings"]) == len(data["fits"][0]["residuals_mm"]) == 10


@pytest.mark.parametrize("width", [60, 80])
def test_the_words_follow_the_verdict(width: int) -> None:
    sure = identify_text(answered("saber-hollow"), back_mm=1.25, width=width)
    assert sure.startswith("It is a saber hollow.")
    assert "18° per side, 36° included" in " ".join(sure.split())
    assert "1.25 mm" in sure
    unsure = " ".join(identify_text(answered("full-flat", stated=False), width=width).split())
    assert unsure.startswith("The readings cannot tell a full flat from a chisel")
    assert "Look whether one face is flat" in unsure
    steps = tuple((float(y), 1.0 if y < 12 else 4.0) for y in range(3, 30, 3))
    none = " ".join(identify_text(identify(GRINDS, CaliperBlade(steps, height_mm=30.0)), width=width).split())
    assert none.startswith("No grind fits these readings.")
    assert "fits worst" in none
    assert max(map(len, sure.splitlines())) <= max(width, 70)
