"""What a wheel of a given size can hollow."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from recommender.geometry.arcs import Array


def highest_hollow_mm(radius_mm: npt.ArrayLike, depth_mm: npt.ArrayLike) -> Array:
    """Height of the highest hollow without a waist: sqrt(2 R d - d^2), d the depth per ground side, mm.

    Arguments broadcast. Holds where the wheel meets the shoulder tangent to the centre plane, for d up to R; lower
    lines come by tilting the blade. 0 where there is no depth, or more than the wheel has.
    Source: sagitta of a circle, closed form.

    >>> round(float(highest_hollow_mm(125.0, 1.0 - 0.15)), 2)
    14.55
    """
    r, d = np.asarray(radius_mm, dtype=float), np.asarray(depth_mm, dtype=float)
    return np.asarray(np.sqrt(np.maximum(2 * r * d - d * d, 0.0)))


def least_wheel_mm(hollow_height_mm: npt.ArrayLike, depth_mm: npt.ArrayLike) -> Array:
    """Smallest wheel diameter that hollows to a height in one pass without a waist: (H^2 + d^2) / d, mm.

    H is the hollow's height, d its depth per ground side, mm; arguments broadcast. Infinite where there is no depth.
    Source: sagitta of a circle, closed form: `highest_hollow_mm` solved for 2 R.

    >>> round(float(least_wheel_mm(26.0 - 0.56, 1.75 - 0.15)), 0)
    406.0
    """
    h, d = np.asarray(hollow_height_mm, dtype=float), np.asarray(depth_mm, dtype=float)
    with np.errstate(divide="ignore"):
        return np.asarray(np.where(d > 0, (h * h + d * d) / np.where(d > 0, d, 1.0), np.inf))


def walked_spacing_mm(wheel_mm: npt.ArrayLike, hollow_mm: npt.ArrayLike, left_mm: npt.ArrayLike) -> Array:
    """How far apart passes of a wheel may lie in a larger hollow, mm: s = sqrt(4 h / (1/D - 1/E)).

    D and E are the diameters of wheel and hollow, h the ridge that is left between two passes, mm; arguments broadcast.
    Two circles of radius R touching a larger one of radius Q at points s apart leave a ridge of s^2/8 (1/R - 1/Q), the
    difference of their sagittas. Infinite where the wheel is no smaller than the hollow. Holds for s well below D.
    Source: sagitta of a circle, closed form.

    >>> round(float(walked_spacing_mm(100.0, 200.0, 0.02)), 6)  # sqrt(0.08 / (0.01 - 0.005))
    4.0
    """
    gap = 1 / np.asarray(wheel_mm, dtype=float) - 1 / np.asarray(hollow_mm, dtype=float)
    with np.errstate(divide="ignore"):
        return np.asarray(np.where(gap > 0, np.sqrt(4 * np.asarray(left_mm) / np.where(gap > 0, gap, 1.0)), np.inf))
