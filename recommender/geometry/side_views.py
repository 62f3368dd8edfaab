"""The side view of a blade: where edge and spine run between plunge line and tip."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from recommender.errors import GeometryError
from recommender.geometry.arcs import Array


@dataclass(frozen=True)
class SideView:
    """A blade's profile in shares of its length L and height H; edge and spine are straight, then power curves.

    With u = (x/L - from)/(1 - from), 0 before `from`: y_edge = H tip u^edge_power and
    y_spine = H + H (tip - 1) u^spine_power, from the straight edge line. Both meet at the tip, at height tip x H and
    at an angle, so the blade narrows linearly into the point. A curve that starts `from` 1 never starts: with both at
    1 the blade is a bar. All fields are dimensionless. Forms of our own. Raises GeometryError for shares outside 0..1,
    powers below 1, a tip outside 0..2 and curves that do not meet.
    """

    edge_from: float
    edge_power: float
    spine_from: float
    spine_power: float
    tip: float

    def __post_init__(self) -> None:
        if not (0 <= self.edge_from <= 1 and 0 <= self.spine_from <= 1):
            raise GeometryError("edge and spine start to curve between plunge line (0) and tip (1)")
        if not (self.edge_power >= 1 and self.spine_power >= 1 and 0 <= self.tip <= 2):
            raise GeometryError("edge and spine need powers of at least 1 and a tip between 0 and 2 heights")
        rise = self.tip if self.edge_from < 1 else 0.0
        drop = 1 - self.tip if self.spine_from < 1 else 0.0
        if not (rise + drop == 0 or abs(rise + drop - 1) < 1e-9):
            raise GeometryError("edge and spine do not meet at the tip")

    def edge(self, x_share: npt.ArrayLike) -> Array:
        """Height of the edge over H at x/L, a ratio; any shape."""
        return np.asarray(self.tip * _run(x_share, self.edge_from) ** self.edge_power)

    def spine(self, x_share: npt.ArrayLike) -> Array:
        """Height of the spine over H at x/L, a ratio; any shape."""
        return np.asarray(1 + (self.tip - 1) * _run(x_share, self.spine_from) ** self.spine_power)

    @property
    def area(self) -> float:
        """Area of the side view over L H, a ratio: the integral of both power curves, closed form.

        >>> round(SIDE_VIEWS["straight-edge"].area, 6)  # 1 - 0.5 / 3
        0.833333
        """
        below_edge = self.tip * (1 - self.edge_from) / (self.edge_power + 1)
        return 1 + (self.tip - 1) * (1 - self.spine_from) / (self.spine_power + 1) - below_edge


def _run(x_share: npt.ArrayLike, start: float) -> Array:
    """How far along its curve, 0 to 1."""
    beyond = np.maximum(np.asarray(x_share, dtype=float) - start, 0.0)
    return np.asarray(beyond / (1 - start) if start < 1 else np.zeros_like(beyond))


SIDE_VIEWS = {
    "straight-back": SideView(edge_from=0.5, edge_power=2.5, spine_from=1.0, spine_power=1.0, tip=1.0),
    "drop": SideView(edge_from=0.5, edge_power=2.0, spine_from=0.45, spine_power=2.0, tip=0.55),
    "clip": SideView(edge_from=0.5, edge_power=2.5, spine_from=0.6, spine_power=1.0, tip=0.65),
    "straight-edge": SideView(edge_from=1.0, edge_power=1.0, spine_from=0.5, spine_power=2.0, tip=0.0),
    "trailing": SideView(edge_from=0.35, edge_power=2.5, spine_from=0.5, spine_power=2.0, tip=1.2),
}
"""Common profiles; the shares are estimates of what is usual."""

BAR = SideView(edge_from=1.0, edge_power=1.0, spine_from=1.0, spine_power=1.0, tip=1.0)
"""No tip at all: the same height to the end."""
