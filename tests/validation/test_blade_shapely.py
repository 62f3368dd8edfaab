"""Sections trimmed for taper and swedge, whole blades and side views against shapely and plain quadrature.

Source: shapely's polygon intersection and area; Simpson's and mpmath's quadrature; known: computed by them.
"""

from __future__ import annotations

from collections.abc import Callable

import mpmath
import numpy as np
import pytest
from shapely import Polygon, box

from recommender.geometry.blade import Blade, thinned
from recommender.geometry.section import measure
from recommender.geometry.side_views import BAR, SIDE_VIEWS, SideView
from recommender.mechanics.blade_bending import weight

KNOBS = {
    "stock_thickness_mm": 4.0,
    "height_mm": 30.0,
    "edge_thickness_mm": 0.5,
    "edge_angle_per_side_deg": 20.0,
    "grind_line_share": 0.6,
    "wheel_diameter_mm": 300.0,
    "crown_share": 1.0,
}
GRINDS = ["full-flat", "saber-flat", "saber-hollow", "convex", "saber-convex", "scandi", "chisel"]


def base(outline_of: Callable[..., np.ndarray], grind: str) -> np.ndarray:
    unknown = {"edge_thickness_mm", "grind_line_share"} if grind == "scandi" else set()
    return outline_of(grind, **{name: value for name, value in KNOBS.items() if name not in unknown})


@pytest.mark.parametrize("grind", GRINDS)
@pytest.mark.parametrize(("right", "left", "angle"), [(1.5, 1.0, 0.0), (0.4, 0.4, 25.0), (0.0, 0.0, 40.0)])
def test_trimmed_sections(outline_of, polygon_of, grind: str, right: float, left: float, angle: float) -> None:
    outline = base(outline_of, grind)
    left = min(left, -outline[:, 0].min())  # a flat face is left alone
    found = thinned(outline[None], right, left, half_angle_rad=np.radians(angle))
    top, slope = 30.0, np.tan(np.radians(angle))
    allowed = Polygon([(-left, top), (-left - slope * top, 0), (right + slope * top, 0), (right, top)])
    expected = polygon_of(outline, 2000).intersection(allowed)
    assert measure(found).area_mm2[0] == pytest.approx(expected.area, rel=1e-6)
    assert measure(found).centroid_y_mm[0] == pytest.approx(expected.centroid.y, rel=1e-6)
    assert polygon_of(found[0], 2000).symmetric_difference(expected).area < 1e-4


@pytest.mark.parametrize("grind", ["saber-flat", "saber-hollow", "saber-convex", "chisel"])
@pytest.mark.parametrize("name", ["drop", "clip"])
def test_mass_of_a_tapered_blade(outline_of, polygon_of, grind: str, name: str) -> None:
    """Held setting: every section is the base section within the local bar; the chisel is the one that tilts."""
    outline = base(outline_of, grind)
    taper, length, side_view = 0.015, 110.0, SIDE_VIEWS[name]
    blade = Blade(outline[None], length, side_view, taper_mm_per_mm=0.0 if grind == "chisel" else taper)
    section = polygon_of(outline, 300)
    one_sided = outline[:, 0].min() == 0
    x = np.linspace(0, length, 401)
    areas = []
    for station in x:
        height = 30.0 * float(side_view.spine(station / length) - side_view.edge(station / length))
        half = 4.0 if one_sided else (4.0 - taper * station) / 2
        areas.append(section.intersection(box(-half, 0, half, max(height, 0.0))).area)
    simpson = np.array([1, *[4, 2] * 199, 4, 1]) * (length / 400) / 3
    volume = float(simpson @ areas)
    found = weight(blade, 0.0078)
    assert found.mass_g[0] == pytest.approx(0.0078 * volume, rel=3e-4)
    assert found.balance_mm[0] == pytest.approx(float(simpson @ (areas * x)) / volume, rel=3e-4)


@pytest.mark.parametrize("name", SIDE_VIEWS)
def test_side_view_area(name: str) -> None:
    view = SIDE_VIEWS[name]
    u = np.linspace(0, 1, 20001)
    corners = [*zip(u, view.edge(u), strict=True), *zip(u[::-1], view.spine(u[::-1]), strict=True)]
    assert view.area == pytest.approx(Polygon(corners).area, rel=1e-7)


def test_side_view_area_in_mm2(outline_of) -> None:
    """Straight edge, spine a parabola from half-way: 110 x 30 x (1 - 1/6)."""
    blade = Blade(base(outline_of, "full-flat")[None], 110.0, SIDE_VIEWS["straight-edge"])
    assert blade.side_area_mm2[0] == pytest.approx(2750.0, rel=1e-12)


def test_side_view_by_hand() -> None:
    """u = (0.75 - 0.5)/0.5 = 1/2: edge 0.6 u^2 = 0.15; u = (0.75 - 0.6)/0.4 = 0.375: spine 1 - 0.4 u^2 = 0.94375."""
    view = SideView(edge_from=0.5, edge_power=2.0, spine_from=0.6, spine_power=2.0, tip=0.6)
    assert float(view.edge(0.75)) == pytest.approx(0.15)
    assert float(view.spine(0.75)) == pytest.approx(0.94375)


def test_plunge_radius(outline_of) -> None:
    """Of a rectangle ground to a wedge: what is left in shrinks as a quarter-circle; r (1 - pi/4) of it along r.

    A bar 4 x 40 and a wedge from it: left in are 160 - 80 mm2 times 1 - sqrt(1 - (1 - x/r)^2).
    """
    wedge = np.array([[[0, 0, 0], [0, 0, 0], [2, 40, 0], [2, 40, 0], [-2, 40, 0], [-2, 40, 0], [0, 0, 0.0]]])
    found = weight(Blade(wedge, 100.0, BAR, plunge_radius_mm=12.0), 1.0).mass_g[0]
    left_in = mpmath.quad(lambda x: 80 * (1 - mpmath.sqrt(1 - (1 - x / 12) ** 2)), [0, 12])
    assert float(left_in) == pytest.approx(80 * 12 * (1 - np.pi / 4))
    assert found == pytest.approx(8000 + float(left_in), rel=1e-3)
