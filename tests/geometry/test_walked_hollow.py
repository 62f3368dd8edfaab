"""Passes side by side in a hollow larger than the wheel, against circles drawn exactly."""

import math

import pytest

from recommender.geometry.wheel import walked_spacing_mm


@pytest.mark.parametrize(("wheel", "hollow"), [(100.0, 180.0), (200.0, 350.0), (350.0, 420.0)])
def test_the_ridge_between_two_passes_is_as_high_as_asked(wheel, hollow):
    ridge = 0.02
    s = float(walked_spacing_mm(wheel, hollow, ridge))
    # Two wheels inside the hollow, each touching it, their centres (Q - R) off its centre and turned by s / Q.
    big, small = hollow / 2, wheel / 2
    turn = s / big / 2
    off = (big - small) * math.cos(turn), (big - small) * math.sin(turn)
    meets = off[0] + math.sqrt(small**2 - off[1] ** 2)  # where both wheels' circles cross, half-way between
    assert big - meets == pytest.approx(ridge, rel=0.02)


def test_a_wheel_as_large_as_the_hollow_needs_one_pass():
    assert float(walked_spacing_mm(200.0, 200.0, 0.02)) == math.inf
