"""Which wheel hollows how high: the sagitta of a circle."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from recommender.geometry.arcs import bulge_from_radius
from recommender.geometry.outline import face, symmetric
from recommender.geometry.profile import half_angles, min_thickness
from recommender.geometry.wheel import highest_hollow_mm, least_wheel_mm


def test_a_triangle_in_whole_numbers():
    # R = 25, d = 5: 25^2 - 20^2 = 15^2.
    assert highest_hollow_mm(25.0, 5.0) == pytest.approx(15.0, rel=1e-15)
    assert least_wheel_mm(15.0, 5.0) == pytest.approx(50.0, rel=1e-15)


@given(st.floats(20.0, 400.0), st.floats(0.1, 5.0))
def test_each_undoes_the_other(radius, depth):
    assert least_wheel_mm(highest_hollow_mm(radius, depth), depth) == pytest.approx(2 * radius, rel=1e-12)


def test_nothing_is_hollowed_by_a_depth_of_nothing():
    assert highest_hollow_mm(100.0, 0.0) == 0.0
    assert least_wheel_mm(10.0, 0.0) == math.inf


def test_a_full_hollow_on_a_broad_thin_bar_takes_more_than_any_common_wheel():
    # (25.5^2 + 1.6^2) / 1.6 = 408 mm
    assert least_wheel_mm(25.5, 1.6) == pytest.approx(408.0, abs=0.1)


def test_shapes_broadcast():
    assert np.shape(highest_hollow_mm(125.0, np.array([0.5, 1.0]))) == (2,)
    assert np.shape(least_wheel_mm(np.ones((3, 1)), np.array([0.5, 1.0]))) == (3, 2)
    assert np.shape(least_wheel_mm(1.0, 1.0)) == ()


@given(st.floats(25.0, 400.0), st.floats(0.3, 3.0))
def test_the_highest_hollow_leaves_the_shoulder_upright_and_a_higher_one_has_a_waist(radius, depth):
    e, shoulder = 0.2, 0.6

    def hollow(high):
        bulge = -bulge_from_radius(np.hypot(depth, high), radius)
        line, half = shoulder + high, e + depth
        return symmetric(face((0, 0, 0.0), (e, shoulder, bulge), (half, line, 0.0), (half, line + 5, 0.0)))

    high = math.sqrt(2 * radius * depth - depth**2)
    assert half_angles(hollow(high), shoulder)[1] == pytest.approx([0.0], abs=1e-7)
    assert min_thickness(hollow(0.95 * high), shoulder, shoulder + 0.95 * high)[0] == pytest.approx([2 * e], abs=1e-12)
    assert min_thickness(hollow(1.05 * high), shoulder, shoulder + 1.05 * high)[0] < 2 * e - 1e-6
