"""Steel ground off prisms, worked by hand.

Source: areas of rectangles, triangles and circular segments; known: exact.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from recommender.geometry.blade import Blade
from recommender.geometry.side_views import BAR
from recommender.shop.price.removal import removal

LENGTH = 100.0


def wedge(edge_mm: float, bevel_mm: float, *, one_sided: bool = False, bulge: float = 0.0) -> np.ndarray:
    """4 mm at the spine of a blade 40 mm high; edge bevels `bevel_mm` high to `edge_mm` of thickness."""
    if one_sided:
        return np.array([[[0, 0, 0], [edge_mm, bevel_mm, bulge], [4.0, 40.0, 0], [0.0, 40.0, 0.0]]])
    half = edge_mm / 2
    return np.array([[[0, 0, 0], [half, bevel_mm, bulge], [2, 40, 0], [-2, 40, bulge], [-half, bevel_mm, 0.0]]])


def test_full_flat_wedge_without_tip_or_taper() -> None:
    """Bar 45 x 5, blade 40 x 4 x 100, edge 0.4 at 1 mm up: reach of a side 0.2 - 1.8/39.

    Round the outline (45 - 40) x 100 x 5 = 2500; off the faces 40 x 100 x 1 = 4000. Ground section: two triangles of
    0.2 x 1 / 2 and two trapezoids (0.2 + 2)/2 x 39, together 86. Edge: two triangles (0.2 - 1.8/39) x 1 / 2. Primary:
    4 x 40 less all that.
    """
    off = removal(Blade(wedge(0.4, 1.0), LENGTH, BAR), 45.0, 5.0)
    edge = 100 * (0.2 - 1.8 / 39)
    assert off.profile_mm3 == pytest.approx(2500)
    assert off.clean_up_mm3 == pytest.approx(4000)
    assert off.edge_mm3 == pytest.approx(edge)
    assert off.primary_mm3 == pytest.approx((160 - 86) * 100 - edge)
    assert (off.taper_mm3, off.swedge_mm3, off.tip_zone_share) == (0.0, pytest.approx(0.0, abs=1e-9), 0.0)
    assert off.ground_mm3 == pytest.approx(4000 + (160 - 86) * 100)
    assert off.ground_mm2 == pytest.approx(2 * 100 * math.hypot(1.8, 39))
    assert off.faces_mm2 == pytest.approx(2 * 4000)
    assert (off.edge_mm, off.outline_mm) == (pytest.approx(100), pytest.approx(200))
    assert not off.taper_in_grind


def test_one_side_of_the_same() -> None:
    """Half of it, on one face: 0.4 x 1 / 2 + (0.4 + 4)/2 x 39 = 86 left, edge (0.4 - 3.6/39) x 1 / 2."""
    off = removal(Blade(wedge(0.4, 1.0, one_sided=True), LENGTH, BAR), 40.0, 4.0)
    edge = 100 * (0.4 - 3.6 / 39) / 2
    assert off.edge_mm3 == pytest.approx(edge)
    assert off.primary_mm3 == pytest.approx((160 - 86) * 100 - edge)
    assert off.ground_mm2 == pytest.approx(100 * math.hypot(3.6, 39))
    assert off.profile_mm3 == off.clean_up_mm3 == 0


def test_a_hollow_takes_its_segments_more() -> None:
    """Two segments of radius 600 mm over the chord of the flat: r^2 (t - sin t)/2, t = 2 asin(c/2r)."""
    chord = math.hypot(1.8, 39)
    theta = 2 * math.asin(chord / 1200)
    segment = 600**2 * (theta - math.sin(theta)) / 2
    flat = removal(Blade(wedge(0.4, 1.0), LENGTH, BAR), 40.0, 4.0)
    hollow = removal(Blade(wedge(0.4, 1.0, bulge=-math.tan(theta / 4)), LENGTH, BAR), 40.0, 4.0)
    more = hollow.primary_mm3 + hollow.edge_mm3 - flat.primary_mm3 - flat.edge_mm3
    assert more == pytest.approx(2 * segment * 100)
    assert hollow.ground_mm2 == pytest.approx(2 * 600 * theta * 100)
    # The wheel's centre, from the chord's middle (1.1, 20.5) at a right angle to it, and where it meets the edge line.
    away = math.sqrt(600**2 - chord**2 / 4) / chord
    reach = 1.1 + 39 * away - math.sqrt(600**2 - (20.5 - 1.8 * away) ** 2)
    assert 1.1 - 20.5 * 1.8 / 39 < reach < 0.2, "a hollow stands off more than the flat at the edge line"
    assert hollow.edge_mm3 == pytest.approx(2 * reach * 1.0 / 2 * 100)


def test_a_taper_ground_with_the_primary_grind_and_one_ground_before() -> None:
    """1 mm of 4 lost over 100 mm, mean half of it: 40 x 0.5 x 100 = 2000.

    A full flat carries it: half goes from where the wedge stands, a triangle per section: (the spine 4 - x/100 wide and
    0.4 at the shoulder). A saber with its line at 20 has it ground first, all over the height.
    """
    full = removal(Blade(wedge(0.4, 1.0), LENGTH, BAR, taper_mm_per_mm=0.01), 40.0, 4.0)
    plain = removal(Blade(wedge(0.4, 1.0), LENGTH, BAR), 40.0, 4.0)
    assert full.taper_in_grind
    assert full.taper_mm3 == 0
    assert full.primary_mm3 + full.edge_mm3 - plain.primary_mm3 - plain.edge_mm3 == pytest.approx(39 * 0.5 * 100 / 2)
    saber = np.array([[[0, 0, 0], [0.2, 1, 0], [2, 20, 0], [2, 40, 0], [-2, 40, 0], [-2, 20, 0], [-0.2, 1, 0.0]]])
    before = removal(Blade(saber, LENGTH, BAR, taper_mm_per_mm=0.01), 40.0, 4.0)
    assert not before.taper_in_grind
    assert before.taper_mm3 == pytest.approx(2000)
    # Section: bar less what the faces take, held in place: a side's triangle is 19/1.8 x (stock/2 - 0.2)^2 / 2.
    faces = [2 * 19 / 1.8 * (s / 2 - 0.2) ** 2 / 2 + s - 0.2 for s in np.linspace(4, 3, 2001)]
    # From the edge line to the shoulder: 1 mm high, s wide, less two triangles of 0.2 x 1 / 2.
    simpson = np.array([1, *[4, 2] * 999, 4, 1]) * (LENGTH / 2000) / 3
    assert before.primary_mm3 + before.edge_mm3 == pytest.approx(float(simpson @ faces), rel=1e-6)


def test_a_bar_of_just_that_size_leaves_nothing_round_it() -> None:
    off = removal(Blade(wedge(0.4, 1.0), LENGTH, BAR), 40.0, 4.0)
    assert off.profile_mm3 == pytest.approx(0, abs=1e-9)
    assert off.clean_up_mm3 == 0
