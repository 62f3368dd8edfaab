"""Finite elements: bending, torsion and section moduli against the package sectionproperties.

Source: sectionproperties (quadratic triangles, warping function for torsion), run here on polygons of the same
outlines; 218.7 and 386.3 mm4 are mechanics.md section 3. Areas and second moments of a polygon are exact in finite
elements whatever the mesh; arcs as 80 chords leave at most 1e-4. The torsion of these meshes is converged to
0.2 %: quartering the elements moves it by less.

Tolerance of the torsion estimate: mechanics.md gives "about 1 %" for t/h up to 0.1, taken as 1.5 %. Thin-section theory
takes the membrane as a parabola across the local thickness; it drops terms of the order (dt/dy)^2 and (t/h)^2, which
grow to a few per cent in a lens of t/h 0.15 to 0.2.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from sectionproperties.analysis import Section
from sectionproperties.pre import Geometry
from shapely import Polygon

from recommender.geometry.outline import symmetric
from recommender.geometry.section import bending_modulus, measure, torsion_constant
from recommender.mechanics.strength import pry_moment_n_m

THIN = 0.015
"""'About 1 %' for t/h up to 0.1, and the mesh's own 0.2 %."""

KITCHEN = {
    "stock_thickness_mm": 2.0,
    "height_mm": 45.0,
    "edge_thickness_mm": 0.3,
    "edge_angle_per_side_deg": 15.0,
}
STOUT = {
    "stock_thickness_mm": 3.0,
    "height_mm": 30.0,
    "edge_thickness_mm": 0.4,
    "edge_angle_per_side_deg": 18.0,
}
GRINDS = [
    pytest.param("full-flat", KITCHEN, id="full-flat-kitchen"),
    pytest.param("full-flat", STOUT, id="full-flat-stout"),
    pytest.param("saber-flat", STOUT | {"grind_line_share": 0.6}, id="saber-flat"),
    pytest.param("full-hollow", KITCHEN | {"wheel_diameter_mm": 3000.0}, id="full-hollow-kitchen"),
    pytest.param("full-hollow", STOUT | {"wheel_diameter_mm": 700.0}, id="full-hollow-stout"),
    pytest.param("saber-hollow", STOUT | {"grind_line_share": 0.5, "wheel_diameter_mm": 250.0}, id="saber-hollow"),
    pytest.param("convex", STOUT | {"crown_share": 1.0}, id="full-convex"),
    pytest.param("saber-convex", STOUT | {"grind_line_share": 0.5, "crown_share": 0.8}, id="saber-convex"),
    pytest.param("scandi", STOUT | {"edge_angle_per_side_deg": 12.0}, id="scandi"),
    pytest.param("chisel", KITCHEN | {"side": "right"}, id="chisel-right"),
    pytest.param("saber-chisel", STOUT | {"grind_line_share": 0.6, "side": "left"}, id="saber-chisel-left"),
    pytest.param("compound", STOUT | {"grind_line_share": 0.6, "wheel_diameter_mm": 500.0}, id="compound"),
]
Outlines = Callable[..., np.ndarray]
Polygons = Callable[..., Polygon]


def analysed(polygon: Polygon, mesh_mm2: float = 0.5, *, torsion: bool = True) -> Section:
    geometry = Geometry(polygon)
    geometry.create_mesh(mesh_sizes=[mesh_mm2])
    section = Section(geometry)
    section.calculate_geometric_properties()
    if torsion:
        section.calculate_warping_properties()
    return section


def assert_same_measures(outline: np.ndarray, section: Section, rel: float) -> None:
    m = measure(outline)
    strong, weak, product = section.get_ic()
    cx, cy = section.get_c()
    assert m.area_mm2 == pytest.approx(section.get_area(), rel=rel)
    assert m.i_weak_mm4 == pytest.approx(weak, rel=3 * rel)  # thickness enters cubed
    assert m.i_strong_mm4 == pytest.approx(strong, rel=3 * rel)
    assert m.i_product_mm4 == pytest.approx(product, abs=3 * rel * math.sqrt(weak * strong))
    assert m.centroid_x_mm == pytest.approx(cx, abs=rel * np.ptp(outline[:, 0]))
    assert m.centroid_y_mm == pytest.approx(cy, rel=rel)


@pytest.mark.parametrize(("grind", "knobs"), GRINDS)
def test_bending_of_real_grinds(
    outline_of: Outlines, polygon_of: Polygons, grind: str, knobs: dict[str, object]
) -> None:
    outline = outline_of(grind, **knobs)
    section = analysed(polygon_of(outline, 80), mesh_mm2=5.0, torsion=False)
    straight = (outline[:, 2] == 0).all()
    assert_same_measures(outline, section, 1e-9 if straight else 1e-4)


@pytest.mark.parametrize(("grind", "knobs"), GRINDS)
def test_torsion_of_real_grinds(
    outline_of: Outlines, polygon_of: Polygons, grind: str, knobs: dict[str, object]
) -> None:
    outline = outline_of(grind, **knobs)
    found = float(torsion_constant(outline))
    assert found == pytest.approx(analysed(polygon_of(outline, 40)).get_j(), rel=THIN)


def test_trapezoid_torsion(polygon_of: Polygons) -> None:
    """4 -> 0.5 x 40: finite elements 218.7, thin-section integral 243.75 less its end correction."""
    outline = np.array([[0, 0, 0], [0.25, 0, 0], [2, 40, 0], [-2, 40, 0], [-0.25, 0, 0]])
    section = analysed(polygon_of(outline), mesh_mm2=0.2)
    assert section.get_j() == pytest.approx(218.7, abs=0.1)  # the reference agrees with the printed figure
    assert_same_measures(outline, section, 1e-9)
    assert torsion_constant(outline) == pytest.approx(218.7, rel=THIN)


def lens(t: float) -> np.ndarray:
    """Circular lens, chord 40, standing on its edge."""
    radius = (400 + t * t / 4) / t
    bulge = math.tan(math.asin(20 / radius) / 4)
    return np.array([[0, 0, bulge], [t / 2, 20, bulge], [0, 40, bulge], [-t / 2, 20, bulge]])


@pytest.mark.parametrize(
    ("t", "tolerance"),
    [
        (2.0, THIN),
        (4.0, THIN),
        # Beyond t/h = 0.1 "only roughly": both neglected terms grow with (t/h)^2, from about 1.3 % at 0.1.
        (6.0, 0.04),
        (8.0, 0.07),
    ],
)
def test_lens(polygon_of: Polygons, t: float, tolerance: float) -> None:
    section = analysed(polygon_of(lens(t), 60), mesh_mm2=0.5)
    if t == 4.0:
        assert section.get_j() == pytest.approx(386.3, rel=2e-3)  # mechanics.md section 3
    assert_same_measures(lens(t), section, 2e-4)
    assert torsion_constant(lens(t)) == pytest.approx(section.get_j(), rel=tolerance)


def test_bare_hollow(polygon_of: Polygons) -> None:
    """4 -> 0.5 x 30, R 200: A 44.847, I_weak 23.42, I_strong 2509.8 (mechanics.md section 3)."""
    bulge = -math.tan(math.asin(math.hypot(30, 1.75) / 400) / 2)
    outline = symmetric(np.array([[[0.0, 0.0, 0.0], [0.25, 0.0, bulge], [2.0, 30.0, 0.0]]]))[0]
    section = analysed(polygon_of(outline, 200), torsion=False)
    assert section.get_area() == pytest.approx(44.847, abs=1e-3)
    assert_same_measures(outline, section, 1e-4)


@pytest.mark.parametrize(("grind", "knobs"), GRINDS)
def test_section_modulus_of_real_grinds(
    outline_of: Outlines, polygon_of: Polygons, grind: str, knobs: dict[str, object]
) -> None:
    """I / c about the axis along the height: the smaller of the package's two elastic moduli.

    One-sided sections bend about a tilted axis instead and stand less than the larger figure that ignores it.
    """
    outline = outline_of(grind, **knobs)
    section = analysed(polygon_of(outline, 80), mesh_mm2=5.0, torsion=False)
    _, _, right, left = section.get_z()
    if "chisel" in grind:
        assert bending_modulus(outline[None])[0] < 1.05 * min(right, left)
    else:
        assert bending_modulus(outline[None])[0] == pytest.approx(min(right, left), rel=5e-4)


@pytest.mark.parametrize(("grind", "knobs"), GRINDS)
def test_prying_stress_of_real_grinds(
    outline_of: Outlines, polygon_of: Polygons, grind: str, knobs: dict[str, object]
) -> None:
    """A sideways moment of 1 N m: the greatest bending stress anywhere in the section, then the moment for 1000 MPa.

    One-sided sections bend about a tilted neutral axis (unsymmetrical bending); the package accounts for it.
    """
    outline = outline_of(grind, **knobs)
    section = analysed(polygon_of(outline, 80), mesh_mm2=5.0, torsion=False)
    stress = section.calculate_stress(myy=1000.0).get_stress()[0]["sig_zz"]
    expected = 1000.0 / float(np.abs(stress).max())
    assert float(pry_moment_n_m(outline[None], 1000.0)[0]) == pytest.approx(expected, rel=5e-4)
