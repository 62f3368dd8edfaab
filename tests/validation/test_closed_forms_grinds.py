"""The geometry of the grinds as mechanics.md section 1 derives it, worked by hand from triangles and circles.

Source: closed forms (exact), written out beside each value. No value is taken from the code.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from recommender.geometry.outline import Sides
from recommender.geometry.profile import half_angles, thickness
from recommender.geometry.wheel import highest_hollow_mm, least_wheel_mm
from recommender.mechanics.sharpening import (
    BACK_PER_SHARPENING_MM,
    sharpenings_until,
    steel_per_sharpening_mm2,
)

Outlines = Callable[..., np.ndarray]
FLAT = {
    "stock_thickness_mm": 3.0,
    "height_mm": 40.0,
    "edge_thickness_mm": 0.4,
    "edge_angle_per_side_deg": 20.0,
}
H_EDGE = 0.2 / math.tan(math.radians(20))  # e / tan a, 0.5495 mm


def test_full_flat(outline_of: Outlines) -> None:
    """Shoulder te thick at e / tan a; above it the platen angle atan((stock - te) / 2H), H = line - h_edge."""
    section = outline_of("full-flat", **FLAT)
    assert thickness(section, H_EDGE) == pytest.approx(0.4, abs=1e-12)
    assert half_angles(section, 0.1) == pytest.approx([math.radians(20)] * 2, rel=1e-12)
    platen = math.atan((3.0 - 0.4) / (2 * (40 - H_EDGE)))
    assert half_angles(section, 20.0) == pytest.approx([platen] * 2, rel=1e-12)


@pytest.mark.parametrize("side", ["right", "left"])
def test_chisel(outline_of: Outlines, side: str) -> None:
    """One side takes it all: e = te, platen angle atan((stock - te) / H), the other face plane."""
    section = outline_of("chisel", **FLAT, side=side)
    h_edge = 0.4 / math.tan(math.radians(20))
    assert thickness(section, h_edge) == pytest.approx(0.4, abs=1e-12)
    platen = math.atan((3.0 - 0.4) / (40 - h_edge))
    left, right = half_angles(section, 20.0)
    ground, plane = (right, left) if side == "right" else (left, right)
    assert (ground, plane) == pytest.approx((platen, 0.0), abs=1e-12)


def test_scandi_line(outline_of: Outlines) -> None:
    """Ground to zero: line = stock / (2 tan a) = 3 / (2 tan 12) = 7.057 mm, full stock from there on."""
    section = outline_of("scandi", stock_thickness_mm=3.0, height_mm=25.0, edge_angle_per_side_deg=12.0)
    line = 3 / (2 * math.tan(math.radians(12)))
    assert line == pytest.approx(7.057, abs=6e-4)
    assert thickness(section, line) == pytest.approx(3.0, rel=1e-12)
    assert thickness(section, line / 2) == pytest.approx(1.5, rel=1e-12)
    assert half_angles(section, 1.0) == pytest.approx([math.radians(12)] * 2, rel=1e-12)


@pytest.mark.parametrize(("crown", "touches"), [(1.0, "bevel"), (0.5, "neither")])
def test_convex_stays_between_straight_and_tangent(outline_of: Outlines, crown: float, touches: str) -> None:
    """A full crown on a low edge angle leaves the shoulder at the bevel's own angle; half a crown halfway there."""
    section = outline_of("convex", **(FLAT | {"edge_angle_per_side_deg": 3.5}), crown_share=crown)
    h_edge = 0.2 / math.tan(math.radians(3.5))
    chord = math.atan(1.3 / (40 - h_edge))  # 2.03 degrees; room to the bevel 1.47, less than to the flat
    start = chord + crown * (math.radians(3.5) - chord)
    assert half_angles(section, h_edge, above=True) == pytest.approx([start] * 2, rel=1e-9)
    assert (start == pytest.approx(math.radians(3.5))) == (touches == "bevel")


def test_convex_tangent_to_the_flat(outline_of: Outlines) -> None:
    """On a steep edge angle the flat is nearer: a full crown ends parallel to the centre plane at the line."""
    section = outline_of("saber-convex", **FLAT, grind_line_share=0.5, crown_share=1.0)
    assert half_angles(section, 20.0, above=False) == pytest.approx([0.0, 0.0], abs=1e-7)


@pytest.mark.parametrize(
    ("diameter", "stock", "edge", "height"),
    [
        # sqrt(2 R d - d^2), d = (stock - te) / 2: R 125, d 0.85: sqrt(212.5 - 0.7225) = 14.5526
        (250.0, 2.0, 0.3, 14.5526),
        # R 125, d 2.35: sqrt(587.5 - 5.5225) = 24.1242
        (250.0, 5.0, 0.3, 24.1242),
        # R 25, d 1.6: sqrt(80 - 2.56) = 8.8000
        (50.0, 3.5, 0.3, 8.8000),
    ],
)
def test_highest_hollow(diameter: float, stock: float, edge: float, height: float) -> None:
    depth = (stock - edge) / 2
    assert highest_hollow_mm(diameter / 2, depth) == pytest.approx(height, abs=6e-5)
    assert least_wheel_mm(height, depth) == pytest.approx(diameter, rel=1e-5)


@pytest.mark.parametrize(("diameter", "line"), [(250.0, 14.0), (100.0, 9.0), (1500.0, 30.0)])
def test_hollow_fits_its_wheel(outline_of: Outlines, diameter: float, line: float) -> None:
    """Three points of the face lie on a circle of the wheel's radius: R = abc / 4 area."""
    section = outline_of("saber-hollow", **FLAT, grind_line_share=line / 40, wheel_diameter_mm=diameter)
    ys = np.array([H_EDGE, (H_EDGE + line) / 2, line])
    xs = np.asarray(thickness(section, ys[None, :])) / 2
    p = xs + 1j * ys
    a, b, c = abs(p[1] - p[0]), abs(p[2] - p[1]), abs(p[2] - p[0])
    area = abs(((p[1] - p[0]).conjugate() * (p[2] - p[0])).imag) / 2
    # The circle through three nearly collinear points magnifies rounding: 1e-8.
    assert a * b * c / (4 * area) == pytest.approx(diameter / 2, rel=1e-8)
    assert xs[1] < (xs[0] + xs[2]) / 2  # bent inwards


def test_least_wheel_for_a_full_hollow(outline_of: Outlines) -> None:
    """The wheel (H^2 + d^2) / d leaves the shoulder parallel to the centre plane: no waist, not a degree to spare."""
    depth, height = 1.3, 40 - H_EDGE
    wheel = (height**2 + depth**2) / depth
    section = outline_of("full-hollow", **FLAT, wheel_diameter_mm=wheel)
    assert half_angles(section, H_EDGE, above=True) == pytest.approx([0.0, 0.0], abs=1e-8)
    assert float(least_wheel_mm(height, depth)) == pytest.approx(wheel, rel=1e-14)


@pytest.mark.parametrize("thickest", [0.6, 1.0, 1.5])
def test_sharpenings_of_a_flat(outline_of: Outlines, thickest: float) -> None:
    """Bevel x = (y - s) tan a meets face x = e + (y - h) tan p where it is T thick: s = y(T) - T / (2 tan a)."""
    sides = Sides.of(outline_of("full-flat", **FLAT))
    tan_p = 1.3 / (40 - H_EDGE)
    height = H_EDGE + (thickest / 2 - 0.2) / tan_p
    back = height - thickest / 2 / math.tan(math.radians(20))
    found = float(sharpenings_until(sides, thickest)[0])
    assert found == pytest.approx(back / BACK_PER_SHARPENING_MM, rel=1e-9)


def test_scandi_does_not_thicken(outline_of: Outlines) -> None:
    section = outline_of("scandi", stock_thickness_mm=3.0, height_mm=25.0, edge_angle_per_side_deg=12.0)
    """It lasts until half its height is gone: 12.5 mm at 0.05 mm a time."""
    assert float(sharpenings_until(Sides.of(section), 1.0)[0]) == pytest.approx(250)


@pytest.mark.parametrize("micro", ["no", "yes"])
@pytest.mark.parametrize(("stock", "angle"), [(3.0, 12.0), (6.0, 18.0)])
def test_steel_off_a_facet_ground_to_zero(outline_of: Outlines, stock: float, angle: float, micro: str) -> None:
    """Laying facets flat moves the whole wedge up by s: thickness runs from 0 to stock, so stock x s is lost.

    With a micro-bevel (e = 0.05 mm, 5 degrees steeper) only its own wedge is worked: a sliver on each face, by the
    shoelace formula on apex, new apex, new shoulder, old shoulder.
    """
    section = outline_of(
        "scandi", stock_thickness_mm=stock, height_mm=30.0, edge_angle_per_side_deg=angle, micro_bevel=micro
    )
    s = BACK_PER_SHARPENING_MM
    expected = stock * s
    if micro == "yes":
        steep, facet = math.tan(math.radians(angle + 5)), math.tan(math.radians(angle))
        h = 0.05 / steep
        # (y - s) steep = 0.05 + (y - h) facet
        y = (0.05 - h * facet + s * steep) / (steep - facet)
        p = [0j, complex(0, s), complex((y - s) * steep, y), complex(0.05, h)]
        expected = abs(sum((a.conjugate() * b).imag for a, b in zip(p, p[1:] + p[:1], strict=True)))
    assert float(steel_per_sharpening_mm2(section[None])[0]) == pytest.approx(expected, rel=1e-9)
