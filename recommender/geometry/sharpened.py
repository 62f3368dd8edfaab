"""A section after sharpening: the edge moved back, the bevel ground again at the same angle."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from recommender.errors import GeometryError
from recommender.geometry.arcs import Array, bulge_from_radius
from recommender.geometry.outline import Outline, Sides, as_batch, is_single, mirrored, with_right_face_on_both
from recommender.geometry.profile import _bulge_up_to, _rest_bulge, _root


def sharpened_back(outline: npt.ArrayLike, back_mm: npt.ArrayLike) -> Outline:
    """Move the apex up the centre plane by `back_mm` and grind each face's first bevel anew at its old angle.

    The new shoulder is where the bevel meets the old profile. Vertices below it collapse onto it, so the shape
    (n, v, 3) stays. A hollowed back is laid flat until its rim along the edge is as wide as it was, the whole section
    being that much thinner. `back_mm` is a scalar or (n,), at least 0. Raises GeometryError where nothing of the blade
    is left.

    >>> wedge = np.array([[0, 0, 0], [2, 40, 0], [2, 60, 0], [-2, 60, 0], [-2, 40, 0.0]])
    >>> sharpened_back(wedge, 5.0)[:3].round(6).tolist()
    [[0.0, 5.0, 0.0], [2.0, 45.0, 0.0], [2.0, 60.0, 0.0]]
    """
    v = as_batch(outline)
    n = len(v)
    back = np.broadcast_to(np.asarray(back_mm, dtype=float), (n,))
    if not (back >= 0).all():
        raise GeometryError("a blade cannot be sharpened back by less than nothing")
    moved = back > 0
    back = v[:, 0, 1] + back  # height of the new apex; a blade sharpened before starts above 0
    if (back >= v[..., 1].max(axis=1)).any():
        raise GeometryError("sharpened back past the spine: nothing is left")
    sides = Sides.of_checked(v)
    if sides.right_face is not None:  # neither face is a back
        out = v.copy(order="K")
        _cut_right(out, v, sides, _first_slope(sides), back, moved)
        out[:, 0, 0], out[:, 0, 1] = 0.0, back
        out = with_right_face_on_both(out)
        return out[0] if is_single(outline) else out
    # The left face is the right face of the mirrored, reversed outline.
    slope = _first_slope(sides), _first_slope(Sides.of_checked(mirrored(v)))
    v = mirrored(_laid_flat(mirrored(_laid_flat(v, back)), back))
    out = v.copy(order="K")
    _cut_right(out, v, Sides.of_checked(v), slope[0], back, moved)
    flipped = mirrored(out)
    original = mirrored(v)
    _cut_right(flipped, original, Sides.of_checked(original), slope[1], back, moved)
    out = mirrored(flipped)
    out[:, 0, 0], out[:, 0, 1] = 0.0, back
    return out[0] if is_single(outline) else out


def _first_slope(sides: Sides) -> Array:
    """Slope dx/dy of the right face's first side, (n,); on a face ground to zero that may be the second."""
    rows = np.arange(len(sides.x0))
    first = np.argmax(sides.chord > 0, axis=1)
    rise = (sides.y1 - sides.y0)[rows, first]
    return np.asarray((sides.x1 - sides.x0)[rows, first] / np.where(rise > 0, rise, 1.0))


def _laid_flat(v: Outline, back: Array) -> Outline:
    """Sections (n, v, 3) whose right face is hollowed and not ground, that face laid flat for an edge at height `back`.

    The plane of the back moves in until it cuts the hollow's circle a rim above the new edge; upwards the rim grows by
    as much. The section then stands on its new plane in x = 0. Source: sagitta of a circle, closed form.
    """
    spine = Sides.of(v).spine_side
    hollow = (spine > 2) & (v[:, 1, 0] == 0) & (v[:, 1, 2] < 0) & (v[:, 2, 0] == 0) & (back > v[:, 0, 1])
    if not hollow.any():
        return v
    out = v.copy(order="K")
    low, high, bulge = v[hollow, 1, 1], v[hollow, 2, 1], v[hollow, 1, 2]
    chord = high - low
    by = np.minimum(back[hollow] - v[hollow, 0, 1], chord / 2)
    radius = chord * (1 + bulge**2) / (4 * -bulge)
    left = bulge_from_radius(chord - 2 * by, radius)
    taken = (-bulge * chord - left * (chord - 2 * by)) / 2
    out[hollow, 1, 1], out[hollow, 2, 1] = np.maximum(low + by, back[hollow]), np.maximum(high - by, back[hollow])
    out[hollow, 1, 2] = -left
    on_left = np.arange(v.shape[1])[None, :] > spine[hollow, None]
    out[hollow, :, 0] = np.where(on_left, v[hollow, :, 0] + taken[:, None], v[hollow, :, 0])
    return out


def _cut_right(out: Outline, v: Outline, sides: Sides, m: Array, back: Array, moved: npt.NDArray[np.bool_]) -> None:
    """Trim the right faces of `out` in place to the bevel x = m (y - back)."""
    spine = sides.spine_side
    ground = m > 1e-12  # a flat face in x = 0 stays as it is

    def beyond(x: Array, y: Array, w: Array | float) -> Array:
        """How far a (weighted) point lies outside the new bevel."""
        return np.asarray(x - m * (y - back * w))

    open_ = ground & moved
    for k in range(1, int(spine.max())):
        on_face = open_ & (k < spine)
        a0 = beyond(sides.x0[:, k], sides.y0[:, k], 1.0)
        a1 = beyond(sides.cx[:, k], sides.cy[:, k], sides.w[:, k])
        a2 = beyond(sides.x1[:, k], sides.y1[:, k], 1.0)
        # A steep hollow meets the bevel twice: the lower crossing is the shoulder, the grind line's corner is left.
        swing = a1 * a1 - a0 * a2
        twice = on_face & (a0 > 0) & (a2 > 0) & (a1 < 0) & (swing > 0)
        hit = on_face & (a0 >= 0) & (a2 <= 0) & (sides.chord[:, k] > 0) | twice
        lower = a0 / np.where(twice, a0 - a1 + np.sqrt(np.maximum(swing, 0.0)), 1.0)
        t = np.where(twice, lower, _root(a0, a1, a2))
        s = 1 - t
        weight = s * s + 2 * t * s * sides.w[:, k] + t * t
        x = (s * s * sides.x0[:, k] + 2 * t * s * sides.cx[:, k] + t * t * sides.x1[:, k]) / weight
        y = (s * s * sides.y0[:, k] + 2 * t * s * sides.cy[:, k] + t * t * sides.y1[:, k]) / weight
        part = _bulge_up_to(t, sides.w[:, k], 2 * sides._sine[:, k])
        rest = _rest_bulge(sides.bulge[:, k], part)
        for j in range(1, k + 1):
            out[:, j, 0] = np.where(hit, x, out[:, j, 0])
            out[:, j, 1] = np.where(hit, y, out[:, j, 1])
            out[:, j, 2] = np.where(hit, rest if j == k else 0.0, out[:, j, 2])
        open_ &= ~hit
    # A bevel that meets no face runs out at the spine, which grows narrower.
    top = v[..., 1].max(axis=1)
    for j in range(1, int(spine.max()) + 1) if open_.any() else ():
        gone = open_ & (j <= spine)
        out[:, j, 0] = np.where(gone, m * (top - back), out[:, j, 0])
        out[:, j, 1] = np.where(gone, top, out[:, j, 1])
        out[:, j, 2] = np.where(gone, 0.0, out[:, j, 2])
