"""Designs over the whole range of a grind's knobs, ends included, and what a workshop refuses of them."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from recommender.plugin.api import Designs, Grind, Workshop, refused_rows

WHEELS_MM = (50.0, 100.0, 150.0, 200.0, 250.0, 300.0, 350.0)
WORKSHOP = Workshop(wheels_mm=WHEELS_MM, platen=True, slack_belt=True)
"""Everything a shop may have."""
HEIGHT_MM = (5.0, 120.0)
COUNT = 3000
_AT_AN_END = 0.2
_SEED = 20240607


def designs_over_range(grind: Grind, n: int = COUNT, **given: Any) -> Designs:
    """Designs over a grind's whole range, completed, one in five at an end of it; `given` fixes columns.

    The same every time. Raises what the grind's `complete` raises.
    """
    random = np.random.default_rng(_SEED)

    def spread(low: float, high: float) -> npt.NDArray[np.float64]:
        share = random.random(n)
        return low + (high - low) * np.where(random.random(n) < _AT_AN_END, np.round(share), share)

    columns: dict[str, npt.ArrayLike] = {"height_mm": spread(*HEIGHT_MM)}
    for parameter in grind.parameters:
        choices = WHEELS_MM if parameter.name == "wheel_diameter_mm" else parameter.choices
        columns[parameter.name] = random.choice(choices, n) if choices else spread(parameter.low, parameter.high)
    return grind.complete(Designs.of(n, **{**columns, **given}))


def refused(grind: Grind, designs: Designs, workshop: Workshop = WORKSHOP) -> npt.NDArray[np.bool_]:
    """Which designs a grind refuses in a workshop, for whatever reason, (n,)."""
    return refused_rows(grind.refusals(designs, workshop), len(designs))


def described(designs: Designs, index: int) -> str:
    """One design in a few words: every column that has a value there."""
    row = designs.row(index)
    return ", ".join(
        f"{name} {value:.6g}" if isinstance(value, float) else f"{name} {value}"
        for name, value in row.items()
        if value is not None
    )
