"""Helpers of the validation suite: built-in grinds from their knobs, core tables as written."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from bevelwright_builtin.grinds import chisel, compound, convex, flat, hollow, scandi

from recommender.plugin.api import Designs
from tests.validation import predictions

Array = npt.NDArray[np.float64]

GRINDS = {grind.id: grind for module in (flat, hollow, convex, scandi, chisel, compound) for grind in module.GRINDS}
NOT_GIVEN = {
    "grind_line_share": np.nan,
    "edge_thickness_mm": np.nan,
    "micro_bevel": "no",
    "crown_share": np.nan,
    "edge_zone": "hollow",
    "tip_zone": "convex",
}


@pytest.fixture(scope="session")
def designs_of() -> Callable[..., Designs]:
    """One completed design of a built-in grind: ``designs_of("full-flat", stock_thickness_mm=3, ...)``."""

    def build(grind: str, **knobs: Any) -> Designs:
        return GRINDS[grind].complete(Designs.of(1, **(NOT_GIVEN | knobs)))

    return build


@pytest.fixture(scope="session")
def outline_of(designs_of: Callable[..., Designs]) -> Callable[..., Array]:
    """Outline (v, 3) of a built-in grind from its knobs."""
    return lambda grind, **knobs: GRINDS[grind].outlines(designs_of(grind, **knobs))[0]


@pytest.fixture(scope="session")
def chord_error_mm2() -> Callable[..., float]:
    """Bound on the area between an outline's arcs and their chords: sum of n (r^2 / 2)(theta/n)^3 / 6."""

    def bound(outline: Array, pieces: int = 200) -> float:
        total = 0.0
        for (x0, y0, bulge), (x1, y1, _) in zip(outline, np.roll(outline, -1, axis=0), strict=True):
            if bulge != 0:
                sweep = abs(4 * np.arctan(bulge))
                radius = np.hypot(x1 - x0, y1 - y0) / (2 * np.sin(sweep / 2))
                total += radius**2 * sweep**3 / (12 * pieces**2)
        return total

    return bound


@pytest.fixture(scope="session")
def core_table() -> Callable[[str, str], dict[str, Any]]:
    """A table of the core pack as written in its TOML file: ``core_table("steels", "m2")``."""
    return predictions.core_table
