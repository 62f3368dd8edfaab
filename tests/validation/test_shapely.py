"""Areas and thicknesses by polygon operations of the package shapely.

Source: shapely (GEOS), run here on polygons of the same outlines, arcs as 2000 chords. The chords leave an area
between themselves and the arc that is known in closed form (see `chord_error_mm2`) and is the tolerance, plus 1e-10
for rounding.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from shapely import LineString, Polygon, box

from recommender.geometry.profile import area_below, clipped, height_at_thickness, thickness
from recommender.geometry.section import measure
from recommender.geometry.sharpened import sharpened_back
from recommender.mechanics.sharpening import BACK_PER_SHARPENING_MM, steel_per_sharpening_mm2

PIECES = 2000
ROUNDING = 1e-10
Outlines = Callable[..., np.ndarray]
Polygons = Callable[..., Polygon]
Errors = Callable[..., float]

COMMON = {
    "stock_thickness_mm": 3.5,
    "height_mm": 32.0,
    "edge_thickness_mm": 0.5,
    "edge_angle_per_side_deg": 18.0,
}
GRINDS = [
    pytest.param("full-flat", COMMON, id="full-flat"),
    pytest.param("saber-flat", COMMON | {"grind_line_share": 0.4}, id="saber-flat"),
    pytest.param("full-hollow", COMMON | {"wheel_diameter_mm": 700.0}, id="full-hollow"),
    pytest.param("saber-hollow", COMMON | {"grind_line_share": 0.4, "wheel_diameter_mm": 150.0}, id="saber-hollow"),
    pytest.param("convex", COMMON | {"crown_share": 1.0}, id="full-convex"),
    pytest.param("saber-convex", COMMON | {"grind_line_share": 0.5, "crown_share": 0.7}, id="saber-convex"),
    pytest.param("scandi", COMMON, id="scandi"),
    pytest.param("scandi", COMMON | {"micro_bevel": "yes"}, id="scandi-micro"),
    pytest.param("chisel", COMMON | {"side": "right"}, id="chisel-right"),
    pytest.param("chisel", COMMON | {"side": "left"}, id="chisel-left"),
    pytest.param("saber-chisel", COMMON | {"grind_line_share": 0.6, "side": "left"}, id="saber-chisel-left"),
    pytest.param("compound", COMMON | {"grind_line_share": 0.6, "wheel_diameter_mm": 400.0}, id="compound"),
]
WIDE = 1000.0


def below(y: float) -> Polygon:
    return box(-WIDE, -1.0, WIDE, y)


def tolerance(outline: np.ndarray, chord_error: Errors) -> float:
    return chord_error(outline, PIECES) + ROUNDING


@pytest.mark.parametrize(("grind", "knobs"), GRINDS)
def test_whole_section(
    outline_of: Outlines,
    polygon_of: Polygons,
    chord_error_mm2: Errors,
    grind: str,
    knobs: dict[str, object],
) -> None:
    outline = outline_of(grind, **knobs)
    polygon, error = polygon_of(outline, PIECES), tolerance(outline, chord_error_mm2)
    assert polygon.is_valid
    m = measure(outline)
    assert m.area_mm2 == pytest.approx(polygon.area, abs=error)
    assert m.perimeter_mm == pytest.approx(polygon.length, rel=1e-8)
    # The centroid's first moment is off by at most the missing area times the section's size.
    assert m.centroid_x_mm == pytest.approx(polygon.centroid.x, abs=error)
    assert m.centroid_y_mm == pytest.approx(polygon.centroid.y, abs=error)


@pytest.mark.parametrize("share", [0.004, 0.03, 0.3, 0.5, 0.77, 1.0])
@pytest.mark.parametrize(("grind", "knobs"), GRINDS)
def test_cut_at_a_height(
    outline_of: Outlines,
    polygon_of: Polygons,
    chord_error_mm2: Errors,
    grind: str,
    knobs: dict[str, object],
    share: float,
) -> None:
    """Area below a height, the clipped section's area, and thickness as the length of a level line inside."""
    outline = outline_of(grind, **knobs)
    polygon, error = polygon_of(outline, PIECES), tolerance(outline, chord_error_mm2)
    y = share * 32.0
    cut = polygon.intersection(below(y))
    assert area_below(outline, y) == pytest.approx(cut.area, abs=error)
    m = measure(clipped(outline[None], y))
    assert m.area_mm2[0] == pytest.approx(cut.area, abs=error)
    assert m.centroid_y_mm[0] * cut.area == pytest.approx(cut.centroid.y * cut.area, abs=error * 32)
    # Level lines end on chords, not arcs: off by a chord's rise, far below 1e-6 for 2000 of them.
    level = y if share < 1 else y - 1e-9
    across = polygon.intersection(LineString([(-WIDE, level), (WIDE, level)])).length
    assert thickness(outline, level) == pytest.approx(across, abs=1e-6)


@pytest.mark.parametrize("wanted", [0.1, 0.6, 1.3, 3.0])
@pytest.mark.parametrize(("grind", "knobs"), GRINDS)
def test_height_at_a_thickness(
    outline_of: Outlines, polygon_of: Polygons, grind: str, knobs: dict[str, object], wanted: float
) -> None:
    """A level line there is `wanted` long, and 1 um lower it is shorter: these sections only widen."""
    outline = outline_of(grind, **knobs)
    polygon = polygon_of(outline, PIECES)
    y = float(height_at_thickness(outline, wanted))

    def across(level: float) -> float:
        return float(polygon.intersection(LineString([(-WIDE, level), (WIDE, level)])).length)

    assert across(y) == pytest.approx(wanted, abs=1e-6)
    assert across(y - 1e-3) < wanted


def bevel(grind: str, knobs: dict[str, object], back: float) -> Polygon:
    """The wedge between the two bevels after sharpening: apex (0, back), the bevel's angle on every ground face."""
    degrees = float(knobs["edge_angle_per_side_deg"])  # type: ignore[arg-type]
    if knobs.get("micro_bevel") == "yes":
        # The micro-bevel is what gets sharpened: 5 degrees steeper, on the one facet of a single bevel 10.
        degrees += 10 if grind == "single-bevel" else 5
    m = math.tan(math.radians(degrees))
    right = 0.0 if knobs.get("side") == "left" else m
    left = 0.0 if knobs.get("side") == "right" else m
    return Polygon([(0, back), (right * WIDE, back + WIDE), (-left * WIDE, back + WIDE)])


@pytest.mark.parametrize("back", [0.0, 0.05, 0.4, 1.5, 5.0])
@pytest.mark.parametrize(("grind", "knobs"), GRINDS)
def test_sharpened_back(
    outline_of: Outlines,
    polygon_of: Polygons,
    chord_error_mm2: Errors,
    grind: str,
    knobs: dict[str, object],
    back: float,
) -> None:
    """What is left is the old section within the new bevels."""
    outline = outline_of(grind, **knobs)
    polygon, error = polygon_of(outline, PIECES), tolerance(outline, chord_error_mm2)
    left = polygon.intersection(bevel(grind, knobs, back))
    sharpened = sharpened_back(outline, back)
    m = measure(sharpened)
    assert m.area_mm2 == pytest.approx(left.area, abs=error)
    assert m.centroid_x_mm == pytest.approx(left.centroid.x, abs=error)
    assert m.centroid_y_mm == pytest.approx(left.centroid.y, abs=error)
    assert polygon_of(sharpened, PIECES).symmetric_difference(left).area == pytest.approx(0, abs=3 * error)


@pytest.mark.parametrize(("grind", "knobs"), GRINDS)
def test_steel_per_sharpening(outline_of: Outlines, polygon_of: Polygons, grind: str, knobs: dict[str, object]) -> None:
    outline = outline_of(grind, **knobs)
    polygon = polygon_of(outline, PIECES)
    lost = polygon.difference(bevel(grind, knobs, BACK_PER_SHARPENING_MM)).area
    assert lost > 0
    # The lost corner is bounded by the same chords twice; only what they leave at the shoulder counts.
    assert float(steel_per_sharpening_mm2(outline[None])[0]) == pytest.approx(lost, rel=1e-5)


@pytest.mark.parametrize("back", [0.3, 0.6, 0.9, 1.1, 1.3, 1.6, 2.5])
def test_sharpening_adds_no_steel(outline_of: Outlines, polygon_of: Polygons, back: float) -> None:
    """A short, deep hollow from a small wheel (4 x 30 mm, line 6.5, 30 mm wheel, 20 degrees per side).

    The primary grind's chord (16.9 degrees) is flatter than the bevel, as every grind demands; but from 1.0 mm back
    the new bevel passes below the grind line's corner while it still crosses the hollow under it. Steel
    may be left standing or taken there; none may appear in the hollow.
    """
    outline = outline_of(
        "saber-hollow",
        stock_thickness_mm=4.0,
        height_mm=30.0,
        edge_thickness_mm=0.3,
        edge_angle_per_side_deg=20.0,
        grind_line_share=6.5 / 30,
        wheel_diameter_mm=30.0,
    )
    old, new = polygon_of(outline, PIECES), polygon_of(sharpened_back(outline, back), PIECES)
    # Chords of the new, shorter arc bulge less than those of the old: allow their difference.
    assert new.difference(old).area == pytest.approx(0, abs=1e-5)


@pytest.mark.parametrize("grind", ["full-flat", "saber-flat", "scandi", "chisel", "saber-chisel"])
def test_straight_faces_stay_straight(outline_of: Outlines, grind: str) -> None:
    """A polygon cut by straight lines is a polygon: a bulge of 1e-17 would be an arc of 1e18 mm radius in a drawing."""
    side = "right" if "chisel" in grind else "both"
    micro = "yes" if grind == "scandi" else "no"
    outline = outline_of(grind, **COMMON, grind_line_share=0.5, side=side, micro_bevel=micro)
    assert sharpened_back(outline, 0.4)[:, 2].tolist() == [0.0] * len(outline)
    assert clipped(outline[None], 12.3)[0, :, 2].tolist() == [0.0] * len(outline)
