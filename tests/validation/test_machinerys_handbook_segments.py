"""Hollow, flat and convex faces as circular segments: sagitta, chord, angle, where the circle meets the edge line.

Source: Machinery's Handbook, "Circular segments": c = 2 sqrt(h (2r - h)), h = r - sqrt(r^2 - c^2/4), and its table for
r = 1 (60 deg: c 1.0000, h 0.13397; 90 deg: 1.4142, 0.29289; 120 deg: 1.7321, 0.50000); known: memory, worked by hand.
The jig's height is a sine bar's: length x sin(angle), the same book.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from recommender.geometry.ground_face import GroundFace, edge_flat_mm

TABLE = [(60.0, 1.0, 0.13397), (90.0, 1.41421, 0.29289), (120.0, 1.73205, 0.5)]


def section(shoulder: tuple[float, float], line: tuple[float, float], arc_deg: float) -> np.ndarray:
    """A section with mirrored faces from shoulder to line, on an arc of that angle (below 0: hollow)."""
    (xs, ys), (xl, yl), bulge = shoulder, line, math.tan(math.radians(arc_deg) / 4)
    right = [[0, 0, 0], [xs, ys, bulge], [xl, yl, 0]]
    return np.array([[*right, [-xl, yl, bulge], [-xs, ys, 0.0]]])


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize(("degrees", "chord", "height"), TABLE)
def test_the_tables_of_circular_segments(degrees: float, chord: float, height: float, sign: int) -> None:
    """The chord laid along 3-4-5: depth 0.6 c and height 0.8 c, so the face stands at asin 0.6 = 36.870 deg."""
    face = GroundFace.right(section((1.0, 2.0), (1.0 + 0.6 * chord, 2.0 + 0.8 * chord), sign * degrees))
    assert face.chord_mm[0] == pytest.approx(chord, rel=1e-12)
    assert face.sagitta_mm[0] == pytest.approx(sign * height, abs=6e-6)
    assert math.degrees(face.angle_rad[0]) == pytest.approx(36.8698976, abs=1e-6)
    left = GroundFace.left(section((1.0, 2.0), (1.0 + 0.6 * chord, 2.0 + 0.8 * chord), sign * degrees))
    assert left.sagitta_mm[0] == pytest.approx(sign * height, abs=6e-6)


def arc_between(a: tuple[float, float], b: tuple[float, float], radius: float) -> float:
    return math.degrees(2 * math.asin(math.dist(a, b) / 2 / radius))


@pytest.mark.parametrize(
    ("shoulder", "line", "radius", "hollow", "reach"),
    [
        # Circles of 65 mm through points of 16-63-65, 25-60-65, 33-56-65 and 39-52-65, all by hand.
        # Wheel's centre (65.1, 0): leftmost just at the edge line, 0.1 off the middle.
        ((2.1, 16.0), (5.1, 25.0), 65.0, True, 0.1),
        # Wheel's centre (63.2, -16): it meets the edge line 63 left of there, 0.2 off the middle.
        ((3.2, 9.0), (7.2, 17.0), 65.0, True, 0.2),
        # A convex face round (-38.9, 52): it meets the edge line 39 right of there, 0.1 off the middle.
        ((13.1, 13.0), (21.1, 27.0), 65.0, False, 0.1),
        # The same convex 0.3 further in closes above the edge line: no flat is left along the edge.
        ((12.8, 13.0), (20.8, 27.0), 65.0, False, 0.0),
    ],
)
def test_flat_along_the_edge_of_an_arc(shoulder, line, radius: float, hollow: bool, reach: float) -> None:
    outline = section(shoulder, line, arc_between(shoulder, line, radius) * (-1 if hollow else 1))
    assert GroundFace.right(outline).reach_mm[0] == pytest.approx(reach, abs=1e-9)
    assert edge_flat_mm(outline)[0] == pytest.approx(2 * reach, abs=1e-9)


def test_flat_along_the_edge_of_a_flat_grind() -> None:
    """A face that rises 1.6 on 32, one on twenty: from (0.4, 2) down to the edge line it comes in by 0.1, to 0.3."""
    outline = section((0.4, 2.0), (2.0, 34.0), 0.0)
    assert edge_flat_mm(outline)[0] == pytest.approx(0.6, abs=1e-12)
    one_sided = np.array([[[0, 0, 0], [0.4, 2.0, 0], [2.0, 34.0, 0], [0.0, 34.0, 0.0]]])
    assert edge_flat_mm(one_sided)[0] == pytest.approx(0.3, abs=1e-12)


def test_the_sheet_is_set_up_by_these_relations(service, answered, shop) -> None:
    """Every zone of every shipped answer: angle and chord from the proposal's own dimensions, by hand's formulas.

    Shoulder at e/tan a, e what the edge's thickness is a ground side; a hollow's sagitta by h = r - sqrt(r^2 - c^2/4).
    """
    tools = set()
    for name, scenario in answered.items():
        p, sheet = scenario.proposal, service.workshop.worksheet(scenario.brief, scenario.answer, shop)
        sides = 2 if p.side == "both" else 1
        # On a facet ground to zero the only thing below it is the micro-bevel.
        to_zero = p.micro_bevel_per_side_deg if p.grind in ("scandi", "single-bevel") else None
        below = math.tan(math.radians(to_zero or p.edge_angle_per_side_deg))
        height = p.grind_line_mm - p.edge_thickness_mm / sides / below
        depth = (p.stock_thickness_mm - p.edge_thickness_mm) / sides
        for set_up in sheet.set_ups:
            tools.add(set_up.tool)
            angle = math.degrees(math.atan2(depth, height))
            assert set_up.primary_height_mm == pytest.approx(height, abs=6e-4), name
            assert set_up.depth_per_side_mm == pytest.approx(depth, abs=6e-4), name
            assert set_up.face_angle_deg == pytest.approx(angle, abs=6e-4), name
            assert set_up.jig_length_mm == shop.equipment.jig_length_mm
            jig = shop.equipment.jig_length_mm * math.sin(math.radians(angle))
            assert set_up.jig_height_mm == pytest.approx(jig, abs=6e-3), name
            chord = math.hypot(depth, height)
            if set_up.tool == "wheel" and set_up.sagitta_mm < 0:
                radius = (chord**2 / 4 + set_up.sagitta_mm**2) / (2 * -set_up.sagitta_mm)
                assert radius >= p.wheel_diameter_mm / 2 * (1 - 2e-3), f"{name}: no wheel cuts tighter than itself"
                if set_up.zone == "whole blade" and name == "wheels-only-skinner":
                    exact = p.wheel_diameter_mm / 2 - math.sqrt(p.wheel_diameter_mm**2 / 4 - chord**2 / 4)
                    assert -set_up.sagitta_mm == pytest.approx(exact, abs=6e-5)
            elif set_up.tool == "slack belt":
                assert 0 < set_up.sagitta_mm < depth, name
            else:
                assert set_up.sagitta_mm == 0, name
        arm, edge = shop.equipment.edge_fixture_arm_mm, sheet.edge
        sine = math.sin(math.radians(p.edge_angle_per_side_deg))
        assert edge.fixture_height_mm == pytest.approx(arm * sine, abs=6e-3)
        assert edge.angle_included_deg == pytest.approx(sides * p.edge_angle_per_side_deg)
    assert tools == {"platen", "wheel", "slack belt"}


def test_a_sine_bar_by_hand(service, answered, shop) -> None:
    """A 200 mm jig at 30 deg stands 100 mm off, at 5.739 deg (sine 0.1) 20; an arm of 160 mm at 30 deg 80 mm."""
    assert shop.equipment.jig_length_mm * math.sin(math.radians(30)) == pytest.approx(100)
    scenario = answered["camp-chopper-slack-belt"]
    doubled = shop.model_copy(
        update={"equipment": shop.equipment.model_copy(update={"jig_length_mm": 400.0, "edge_fixture_arm_mm": 80.0})}
    )
    plain = service.workshop.worksheet(scenario.brief, scenario.answer, shop)
    other = service.workshop.worksheet(scenario.brief, scenario.answer, doubled)
    assert other.set_ups[0].jig_height_mm == pytest.approx(2 * plain.set_ups[0].jig_height_mm, abs=0.02)
    assert other.edge.fixture_height_mm == pytest.approx(plain.edge.fixture_height_mm / 2, abs=0.01)
