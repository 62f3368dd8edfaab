"""Ceramic knives: ISO 8442-9:2018.

Source: seen (excerpt of the standard on a standards shop's page): the cutting edge should be formed to an included
angle no greater than 40 degrees and should be no thicker than 0.46 mm when measured 1 mm from the extremity of the
edge. Nothing in the code enforces it; the thickness and the included angle that it asks for are figures the code
reports, and its numbers tie the two together.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from recommender.geometry.profile import half_angles, height_at_thickness, thickness
from recommender.plugin.api import Designs

LIMIT_MM, LIMIT_DEG = 0.46, 40.0


def pure_v(included_deg: float) -> np.ndarray:
    half = 20 * math.tan(math.radians(included_deg / 2))
    return np.array([[0, 0, 0], [half, 20, 0], [-half, 20, 0]])


def test_a_pure_v_at_the_angle_limit_is_too_thick() -> None:
    """2 x 1 mm x tan 20 = 0.728 mm (mechanics.md section 3), beyond 0.46."""
    assert thickness(pure_v(LIMIT_DEG), 1.0) == pytest.approx(0.728, abs=6e-4)
    assert thickness(pure_v(LIMIT_DEG), 1.0) > LIMIT_MM


def test_the_steepest_pure_v_that_passes() -> None:
    """0.46 mm at 1 mm is 2 atan(0.23) = 25.91 degrees included."""
    included = 2 * math.degrees(math.atan(0.23))
    assert included == pytest.approx(25.91, abs=6e-3)
    assert thickness(pure_v(included), 1.0) == pytest.approx(LIMIT_MM, rel=1e-12)
    assert height_at_thickness(pure_v(included), LIMIT_MM) == pytest.approx(1.0, rel=1e-12)


@pytest.mark.parametrize(
    ("edge_mm", "at_1_mm", "passes"),
    [
        # h = 0.2 / tan 20 = 0.5495; 0.4 + 1.6 x 0.4505 / 29.4505 = 0.4245
        (0.40, 0.4245, True),
        # h = 0.215 / tan 20 = 0.5907; 0.43 + 1.57 x 0.4093 / 29.4093 = 0.4519
        (0.43, 0.4519, True),
        # h = 0.225 / tan 20 = 0.6182; 0.45 + 1.55 x 0.3818 / 29.3818 = 0.4701
        (0.45, 0.4701, False),
    ],
)
def test_a_full_flat_with_an_edge_bevel_at_the_angle_limit(
    outline_of: Callable[..., np.ndarray], edge_mm: float, at_1_mm: float, passes: bool
) -> None:
    """2 x 30 mm, 20 degrees per side: a thin edge passes where the pure V fails."""
    section = outline_of(
        "full-flat",
        stock_thickness_mm=2.0,
        height_mm=30.0,
        edge_thickness_mm=edge_mm,
        edge_angle_per_side_deg=20.0,
    )
    found = float(thickness(section, 1.0))
    assert found == pytest.approx(at_1_mm, abs=6e-5)
    assert (found <= LIMIT_MM) is passes


@pytest.mark.parametrize(("grind", "side", "per_side"), [("full-flat", "both", 20.0), ("chisel", "right", 40.0)])
def test_included_angle(
    outline_of: Callable[..., np.ndarray],
    designs_of: Callable[..., Designs],
    grind: str,
    side: str,
    per_side: float,
) -> None:
    """40 degrees included is 20 per side ground on both, 40 on a one-sided grind."""
    knobs = {
        "stock_thickness_mm": 2.0,
        "height_mm": 30.0,
        "edge_thickness_mm": 0.4,
        "edge_angle_per_side_deg": per_side,
        "side": side,
    }
    left, right = half_angles(outline_of(grind, **knobs), 0.1)
    assert math.degrees(left + right) == pytest.approx(LIMIT_DEG, rel=1e-12)
    assert float(designs_of(grind, **knobs).edge_angle_included_deg[0]) == LIMIT_DEG
