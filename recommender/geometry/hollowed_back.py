"""The hollow in the unground face of a one-sided section: how deep, how round, and the rims that it leaves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from recommender.geometry.outline import Outline, Sides, as_batch


@dataclass(frozen=True)
class BackHollow:
    """One hollow, mm."""

    rim_mm: float
    """Flat left between the edge and the hollow."""
    upper_rim_mm: float
    """Flat left between the hollow and the spine."""
    depth_mm: float
    """In its middle, under a straight edge on both rims."""
    radius_mm: float


def back_hollow(outline: npt.ArrayLike) -> BackHollow | None:
    """The hollow in the back of one section (v, 3); None where it has none.

    Depth b c / 2 and radius c (1 + b^2) / 4 b of the arc of bulge b over the chord c, mm. Source: closed form. Raises
    GeometryError as `as_batch` does.

    >>> back = [[0, 0, 0], [4, 20, 0], [4, 30, 0], [0, 30, 0], [0, 28, -0.02], [0, 2, 0.0]]
    >>> back_hollow(back)  # 0.02 x 26 / 2 deep
    BackHollow(rim_mm=2.0, upper_rim_mm=2.0, depth_mm=0.26, radius_mm=325.13)
    """
    v = as_batch(outline)
    sides, flat = Sides.of(v), Sides.of(v).flat_backed
    arcs = np.flatnonzero((flat.bulge[0] == 0) & (sides.bulge[0] < 0))
    if flat is sides or not arcs.size:
        return None
    k = int(arcs[0])
    low, high = sorted((float(sides.y0[0, k]), float(sides.y1[0, k])))
    bulge, chord = -float(sides.bulge[0, k]), float(sides.chord[0, k])
    return BackHollow(
        low - float(v[0, 0, 1]),
        float(v[0, :, 1].max()) - high,
        round(bulge * chord / 2, 12),
        round(chord * (1 + bulge**2) / (4 * bulge), 9),
    )


def with_flat_back(outline: Outline) -> Outline:
    """Sections (n, v, 3) with their backs filled up, mm: what they were before they were hollowed.

    Source: definition. Raises GeometryError as `Sides.of` does.

    >>> with_flat_back(np.array([[[0, 0, 0], [4, 20, 0], [4, 30, 0], [0, 30, 0], [0, 28, -0.02], [0, 2, 0.0]]]))[0, 4:]
    array([[ 0., 30.,  0.],
           [ 0., 30.,  0.]])
    """
    flat = Sides.of(outline).flat_backed
    return np.stack([flat.x0, flat.y0, flat.bulge], axis=2)
