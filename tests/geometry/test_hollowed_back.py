"""A hollowed back against the circle's closed forms: segment area, sagittas, and what lying flat on a stone leaves."""

import math

import numpy as np
import pytest

from recommender.geometry.hollowed_back import back_hollow, with_flat_back
from recommender.geometry.outline import Sides, face, mirrored, one_sided
from recommender.geometry.profile import half_angles, register_width, thickness
from recommender.geometry.section import area_mm2
from recommender.geometry.sharpened import sharpened_back
from recommender.mechanics.cutting import CutMaterial, cut_force
from recommender.mechanics.sharpening import sharpenings_until

STOCK, HEIGHT, LINE, RIM, RADIUS = 4.0, 34.0, 16.0, 1.5, 600.0
CHORD = HEIGHT - 2 * RIM
HALF = math.asin(CHORD / 2 / RADIUS)
"""Half the arc's angle, rad."""
DEPTH = RADIUS * (1 - math.cos(HALF))


def blade(*, left=False, hollowed=True):
    right = face((0, 0, 0), (0, 0, 0), (STOCK, LINE, 0), (STOCK, HEIGHT, 0))
    bulge = -math.tan(HALF / 2) if hollowed else 0.0
    low, high = (RIM, HEIGHT - RIM) if hollowed else (HEIGHT, HEIGHT)
    return one_sided(right, left, face((0, high, bulge), (0, low, 0)))


def test_the_hollow_is_a_circular_segment():
    # A = R^2 (2 phi - sin 2 phi) / 2, tables of circular segments.
    segment = RADIUS**2 * (2 * HALF - math.sin(2 * HALF)) / 2
    assert area_mm2(blade(hollowed=False)) - area_mm2(blade()) == pytest.approx(segment, rel=1e-9)
    assert thickness(blade(), HEIGHT / 2)[0] == pytest.approx(STOCK - DEPTH, rel=1e-12)
    assert area_mm2(with_flat_back(blade())) == pytest.approx(area_mm2(blade(hollowed=False)), rel=1e-14)


@pytest.mark.parametrize("left", [False, True])
def test_it_is_read_off_the_outline(left):
    found = back_hollow(blade(left=left)[0])
    assert (found.rim_mm, found.upper_rim_mm) == (RIM, RIM)
    assert found.depth_mm == pytest.approx(DEPTH, rel=1e-9)
    assert found.radius_mm == pytest.approx(RADIUS, rel=1e-9)
    assert back_hollow(blade(left=left, hollowed=False)[0]) is None
    saber = face((0, 0, 0), (0.2, 0.5, 0), (2, 20, 0), (2, 30, 0))
    assert back_hollow(one_sided(saber)[0]) is None


@pytest.mark.parametrize("left", [False, True])
def test_sharpened_back_the_rim_stays_and_the_blade_is_thinner(left):
    back = 2.0
    after = sharpened_back(blade(left=left), back)
    found = back_hollow(after[0])
    assert found.rim_mm == pytest.approx(RIM, abs=1e-9)
    assert found.upper_rim_mm == pytest.approx(RIM + back, abs=1e-9)
    assert found.radius_mm == pytest.approx(RADIUS, rel=1e-6)
    # The plane of the back went in by the difference of both sagittas, R - sqrt(R^2 - c^2/4).
    left_over = RADIUS - math.sqrt(RADIUS**2 - (CHORD - 2 * back) ** 2 / 4)
    assert np.ptp(after[..., 0]) == pytest.approx(STOCK - (DEPTH - left_over), rel=1e-9)
    assert max(float(a[0]) for a in half_angles(after, back)) == pytest.approx(math.atan(STOCK / LINE), rel=1e-12)
    assert (mirrored(sharpened_back(blade(left=not left), back)) == after).all()


def test_sharpened_past_the_hollow_the_back_is_flat():
    after = sharpened_back(blade(), CHORD / 2 + 0.5)
    assert back_hollow(after[0]) is None
    assert np.ptp(after[..., 0]) == pytest.approx(STOCK - DEPTH, rel=1e-9)


def test_it_guides_and_is_pushed_like_a_flat_back():
    assert register_width(blade(), both_faces=False)[0] == HEIGHT
    material = CutMaterial(0.2, 0.1, 10.0, 0.5)
    hollowed, flat = (cut_force(Sides.of(blade(hollowed=h)), 12.0, material).push[0] for h in (True, False))
    assert hollowed == flat


def test_ground_to_zero_it_lasts_as_long_as_with_a_flat_back():
    # One bevel from edge to line only moves up: half the height is there to be sharpened away, 0.05 mm at a time.
    lasts = sharpenings_until(Sides.of(np.concatenate([blade(), blade(left=True)])), 0.8, 0.05)
    assert lasts == pytest.approx([HEIGHT / 2 / 0.05] * 2)
