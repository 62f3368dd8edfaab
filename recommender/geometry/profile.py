"""The profile of a section: thickness, face angles and area at any height, exact for lines and arcs.

Heights are measured from the original edge, mm. `y` is a scalar, (n,) for one height an outline, or (n, m) /
(1, m) for m heights each; the result has shape (n,) or (n, m), a float or (m,) for a single outline. Outlines may be
given as their `Sides`, which spares working those out anew; all raise GeometryError for what `as_batch` refuses.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from recommender.errors import GeometryError
from recommender.geometry.arcs import Array, segment_area
from recommender.geometry.outline import Outline, Sides, is_single


def _levels(y: npt.ArrayLike, n: int) -> tuple[Array, bool]:
    """Bring heights to (n, m); tell whether the m axis was asked for."""
    levels = np.asarray(y, dtype=float, order="F")  # as sections lie in memory
    if levels.ndim == 2:
        return np.broadcast_to(levels, (n, levels.shape[1])), True
    return np.broadcast_to(levels, (n,))[:, None], False


def _root(a0: Array, a1: Array, a2: Array) -> Array:
    """Root t in [0, 1] of a0 (1-t)^2 + 2 a1 t (1-t) + a2 t^2 where a0 and a2 have opposite signs (or one is 0)."""
    spread = np.sqrt(np.maximum(a1 * a1 - a0 * a2, 0.0))
    q = -(a1 + np.copysign(spread, a1))
    # Two forms of the ratio t : (1 - t); the positive one is the root inside.
    first = (q * a2 > 0) | ((q * a2 == 0) & (q * a0 <= 0))
    numerator = np.abs(np.where(first, q, a0))
    denominator = np.abs(np.where(first, a2, q))
    total = numerator + denominator
    return np.asarray(np.where(total > 0, numerator / np.where(total > 0, total, 1.0), 1.0))


class _Crossings:
    """Where sides meet horizontal levels (n, m): one entry a crossing, flat, as most sides are not met at most levels.

    row, column, side: indices of each crossing; rising: the side goes up there; t: its parameter; x: where.
    """

    def __init__(self, sides: Sides, levels: Array, above: bool) -> None:
        y0, y1, level = sides.y0[:, None, :], sides.y1[:, None, :], levels[:, :, None]
        if above:  # a level on a vertex belongs to the side above it
            starts_over, ends_over = y0 > level, y1 > level
        else:  # to the side below it: the spine itself has its full thickness
            starts_over, ends_over = y0 >= level, y1 >= level
        self.shape = starts_over.shape
        # Side by side, as sections lie in memory.
        self.side, self.column, self.row = np.nonzero((starts_over ^ ends_over).T)
        self.rising = ends_over[self.row, self.column, self.side]
        self.sides, self.at = sides, (self.row, self.side)
        self._flat = self.side * len(levels) + self.row
        height = levels[self.row, self.column]
        self.w = self.of(sides.w)
        y0, y1 = self.of(sides.y0), self.of(sides.y1)
        self.t = _root(y0 - height, self.of(sides.cy) - self.w * height, y1 - height)
        t, s = self.t, 1 - self.t
        middle, end, start = 2 * t * s, t * t, s * s
        self.weight = start + middle * self.w + end
        x0, x1 = self.of(sides.x0), self.of(sides.x1)
        self.x = (start * x0 + middle * self.of(sides.cx) + end * x1) / self.weight

    def of(self, values: Array) -> Array:
        """A value (n, v) of the side met, for each crossing."""
        return values.T.reshape(-1).take(self._flat)

    def slope(self) -> Array:
        """dx/dy of the side at each crossing."""
        c, w = self.sides, self.w
        x0, y0, x1, y1, cx, cy = (self.of(v) for v in (c.x0, c.y0, c.x1, c.y1, c.cx, c.cy))
        t, s = self.t, 1 - self.t
        y = (s * s * y0 + 2 * t * s * cy + t * t * y1) / self.weight
        dw = s * (w - 1) + t * (1 - w)
        dx = s * (cx - x0) + t * (x1 - cx) - self.x * dw
        dy = s * (cy - y0) + t * (y1 - cy) - y * dw
        # A side that runs level where it is met: dy tends to 0 from above on its way up, from below on its way down.
        level = np.where(dx == 0, 0.0, np.copysign(np.inf, dx) * np.where(self.rising, 1.0, -1.0))
        return np.asarray(np.where(dy != 0, dx / np.where(dy == 0, 1.0, dy), level))

    def part(self) -> Array:
        """Bulge of each met side's part from its start to the crossing."""
        return _bulge_up_to(self.t, self.w, 2 * self.of(self.sides._sine))

    def total(self, values: Array, rising: bool) -> Array:
        """Sum values over the crossings going up (or down) at each level, (n, m)."""
        chosen = self.rising == rising
        n, m, _ = self.shape
        index = self.row[chosen] * m + self.column[chosen]
        summed = np.bincount(index, weights=values[chosen], minlength=n * m)
        return np.asarray(summed, dtype=float).reshape(n, m)

    def spread(self, values: Array, fill: Array | float) -> Array:
        """Put values of the first level's crossings back to their sides, (n, v); `fill` elsewhere."""
        n, _, v = self.shape
        out = np.array(np.broadcast_to(fill, (n, v)))
        out[self.at] = values
        return out


def _shape(result: Array, many: bool, single: bool) -> Any:
    out = result if many else result[:, 0]
    return out[0] if single else out


def _sides(outline: Sides | npt.ArrayLike) -> tuple[Sides, bool]:
    if isinstance(outline, Sides):
        return outline, False
    return Sides.of(outline), is_single(outline)


def faces_at(outline: Sides | npt.ArrayLike, y: npt.ArrayLike, *, above: bool = False) -> tuple[Any, Any]:
    """Give x of the left and of the right face at height y, mm; 0, 0 outside the section.

    `y` scalar, (n,) or (n, m); each result (n,) or (n, m), or a float for one outline. At a vertex: of the side below
    it, or with ``above=True`` of the side above. For faces that do not turn back in y. Source: closed form.

    >>> faces_at([[0, 0, 0], [2, 40, 0], [-2, 40, 0]], 10.0)
    (np.float64(-0.5), np.float64(0.5))
    """
    sides, single = _sides(outline)
    levels, many = _levels(y, len(sides.x0))
    half = sides.right_face
    met = _Crossings(sides if half is None else half, levels, above)
    right = met.total(met.x, rising=True)
    left = met.total(met.x, rising=False) if half is None else 0.0 - right
    return _shape(left, many, single), _shape(right, many, single)


def thickness(outline: Sides | npt.ArrayLike, y: npt.ArrayLike, *, above: bool = False) -> Any:
    """Thickness of the section at height y, mm; 0 outside, the full width on the spine.

    `y` scalar, (n,) or (n, m); gives (n,) or (n, m), or a float for one outline; ``above`` as in `faces_at`.
    Formula: sum of x over sides met going up less those met going down, so faces that turn back count too.
    Source: closed form.

    >>> float(thickness([[0, 0, 0], [2, 40, 0], [-2, 40, 0]], 10.0))
    1.0
    """
    sides, single = _sides(outline)
    levels, many = _levels(y, len(sides.x0))
    half = sides.right_face
    met = _Crossings(sides if half is None else half, levels, above)
    total = met.total(met.x, rising=True) - met.total(met.x, rising=False)
    if half is not None:
        total = 2 * total
    if not sides.monotone:
        total = total + _turned_back(sides, levels)
    return _shape(total, many, single)


def _turned_back(sides: Sides, levels: Array) -> Array:
    """What arcs that pass a crest add: they meet a level twice between two ends on the same side of it, (n, m)."""
    level = levels[:, :, None]
    w, cx = sides.w[:, None, :], sides.cx[:, None, :]
    x0, x1 = sides.x0[:, None, :], sides.x1[:, None, :]
    a0, a2 = sides.y0[:, None, :] - level, sides.y1[:, None, :] - level
    a1 = sides.cy[:, None, :] - w * level
    disc = a1 * a1 - a0 * a2
    double = (a0 * a2 > 0) & (disc > 0) & (a0 * a1 < 0)
    total = np.zeros(levels.shape)
    for sense in (1.0, -1.0):
        ratio = np.where(double, (-a1 + sense * np.sqrt(np.maximum(disc, 0))) / np.where(double, a2, 1.0), 0.0)
        t = ratio / (1 + ratio)
        s = 1 - t
        x = (s * s * x0 + 2 * t * s * cx + t * t * x1) / (s * s + 2 * t * s * w + t * t)
        # The form's derivative at the root has the sign of +-sqrt(disc): up where it grows with t.
        total += np.where(double, sense * x, 0.0).sum(-1)
    return total


def half_angles(outline: Sides | npt.ArrayLike, y: npt.ArrayLike, *, above: bool = True) -> tuple[Any, Any]:
    """Local angles of the left and right face to the centre plane at height y, rad; positive where it widens.

    `y` scalar, (n,) or (n, m); each result (n,) or (n, m), or a float for one outline; 0 outside the section.
    At a vertex: of the side above it, or with ``above=False`` of the side below. For faces that do not turn back in y.
    Source: closed form, the derivative dx/dy of the side.

    >>> left, right = half_angles([[0, 0, 0], [2, 40, 0], [-2, 40, 0]], 10.0)
    >>> round(float(np.degrees(left)), 6), round(float(np.degrees(right)), 6)
    (2.862405, 2.862405)
    """
    sides, single = _sides(outline)
    levels, many = _levels(y, len(sides.x0))
    half = sides.right_face
    met = _Crossings(sides if half is None else half, levels, above)
    slope = met.slope()
    right = np.arctan(met.total(slope, rising=True))
    left = np.arctan(-met.total(slope, rising=False)) if half is None else right.copy()
    return _shape(left, many, single), _shape(right, many, single)


def _bulge_up_to(t: Array, w: Array, sine: Array) -> Array:
    """Bulge of an arc's part from its start to P(t): half its angle is atan2(t sin(theta/2), 1 - t + t cos(theta/2)).

    Without the differences of coordinates, which cancel near a vertex and turn lines into arcs.
    """
    across, along = t * sine, 1 - t + t * w
    reach = along + np.hypot(across, along)
    return np.asarray(np.where(reach > 0, across / np.where(reach > 0, reach, 1.0), 0.0))


def _rest_bulge(whole: Array, part: Array) -> Array:
    """Bulge of what is left of an arc: tan(A - B) of quarter angles."""
    return np.asarray((whole - part) / (1 + whole * part))


def area_below(outline: Sides | npt.ArrayLike, y: npt.ArrayLike) -> Any:
    """Area of the section between edge and height y, mm2: the sum of exact integrals of x dy up to y.

    `y` scalar, (n,) or (n, m); gives (n,) or (n, m), or a float for one outline; the whole area above the spine.
    Raises GeometryError if a face turns back towards the edge. Source: closed form, Green's theorem.

    >>> float(area_below([[0, 0, 0], [2, 40, 0], [-2, 40, 0]], 20.0))
    20.0
    """
    sides, single = _sides(outline)
    sides.require_monotone()
    levels, many = _levels(y, len(sides.x0))
    half = sides.right_face
    sides = sides if half is None else half
    met = _Crossings(sides, levels, above=False)
    # Each met side's part below its level, and whole sides below it; Green's integral of x dy over both.
    part, bulge = met.part(), met.of(sides.bulge)
    up, height = met.rising, levels[met.row, met.column]
    x_end = np.where(up, met.of(sides.x0), met.of(sides.x1))
    y_end = np.where(up, met.of(sides.y0), met.of(sides.y1))
    below = np.where(up, part, _rest_bulge(bulge, part))
    chord = np.hypot(met.x - x_end, height - y_end)
    travel = np.where(up, height - y_end, y_end - height)
    pieces = (x_end + met.x) / 2 * travel + segment_area(below, chord)
    whole = (sides.x0 + sides.x1) / 2 * (sides.y1 - sides.y0) + segment_area(sides.bulge, sides.chord)
    under = np.maximum(sides.y0, sides.y1)[:, None, :] <= levels[:, :, None]
    touched = np.zeros(under.shape, dtype=bool)
    touched[met.row, met.column, met.side] = True
    total = (np.where(under & ~touched, whole[:, None, :], 0.0)).sum(-1)
    total = total + met.total(pieces, rising=True) + met.total(pieces, rising=False)
    if half is not None:
        total = 2 * total
    return _shape(total, many, single)


def clipped(outline: Outline, y: npt.ArrayLike) -> Outline:
    """Cut a batch of sections off at height y (n,), mm, and keep the edge's side: the section where the blade is lower.

    Vertices above the cut move to it, so the shape (n, v, 3) stays; heights above the spine leave the section as it is.
    Raises GeometryError if a face turns back.

    >>> clipped(np.array([[[0, 0, 0], [2, 40, 0], [-2, 40, 0.0]]]), 10.0)[0].tolist()
    [[0.0, 0.0, 0.0], [0.5, 10.0, 0.0], [-0.5, 10.0, 0.0]]
    """
    sides = Sides.of(outline)
    sides.require_monotone()
    n, v = sides.x0.shape
    level = np.minimum(np.asarray(y, dtype=float).reshape(-1, 1), sides.y0.max(axis=1, keepdims=True))
    met = _Crossings(sides, level, above=False)
    left, right = met.total(met.x, rising=False), met.total(met.x, rising=True)
    on_right = np.arange(v)[None, :] <= sides.spine_side[:, None]
    over = sides.y0 > level
    out = np.empty((n, v, 3))
    out[..., 0] = np.where(over, np.where(on_right, right, left), sides.x0)
    out[..., 1] = np.minimum(sides.y0, level)
    wholly_above = (sides.y0 >= level) & (sides.y1 >= level)
    part = met.part()
    kept = np.where(met.rising, part, _rest_bulge(sides.bulge[met.at], part))
    out[..., 2] = met.spread(kept, np.where(wholly_above, 0.0, sides.bulge))
    return out


def height_at_thickness(outline: Sides | npt.ArrayLike, wanted: npt.ArrayLike) -> Any:
    """Least height at which the section is `wanted` mm thick, mm; NaN where it never is.

    `wanted` is a scalar or (n,); gives (n,), or a float for one outline. Sections with mirror-image faces or one flat
    face in x = 0 are solved in closed form; the answer is checked against the exact thickness, and other shapes are
    bracketed between vertex heights and solved by safeguarded Newton steps to 1e-12 of the height.

    >>> float(height_at_thickness([[0, 0, 0], [2, 40, 0], [-2, 40, 0]], 1.0))
    10.0
    """
    sides, single = _sides(outline)
    n = len(sides.x0)
    target = np.broadcast_to(np.asarray(wanted, dtype=float), (n,))
    y = _height_closed(sides, target)
    reached = _at_vertices(sides) >= target[:, None] * (1 - 1e-14)
    possible = reached.any(axis=1)
    solved = possible & (np.abs(np.asarray(thickness(sides, np.nan_to_num(y))) - target) <= 1e-12 * (1 + target))
    rest = possible & ~solved
    if rest.any():
        y = y.copy()
        y[rest] = _height_iterated(sides.taking(rest), target[rest])
    y = np.where(possible, y, np.nan)
    return y[0] if single else y


def _at_vertices(sides: Sides) -> Array:
    """Thickness at the height of every vertex (of one face, where the other is like it), kept with the sides."""
    kept: dict[str, Array] = sides.__dict__
    if "_at_vertices" not in kept:
        heights = sides.y0 if sides.right_face is None else sides.y0[:, : sides.y0.shape[1] // 2 + 1]
        kept["_at_vertices"] = np.asarray(thickness(sides, heights))
    return kept["_at_vertices"]


def _height_closed(sides: Sides, target: Array) -> Array:
    """Height where the wider face stands at half the thickness (mirrored faces) or at all of it (one flat face)."""
    half = sides.right_face
    if half is not None:
        y = _lowest_at(half, target / 2).min(axis=1)
        return np.asarray(np.where(np.isfinite(y), y, np.nan))
    left, right = sides.x0.min(axis=1), sides.x0.max(axis=1)
    two_sided = (left < -1e-12) & (right > 1e-12)
    right_sided = right > 1e-12
    x = np.where(two_sided, target / 2, np.where(right_sided, target, -target))
    v = sides.x0.shape[1]
    index = np.arange(v)[None, :]
    spine = sides.spine_side[:, None]
    on_face = np.where(right_sided[:, None], index < spine, index > spine)
    lowest = np.where(on_face, _lowest_at(sides, x), np.inf).min(axis=1)
    return np.asarray(np.where(np.isfinite(lowest), lowest, np.nan))


def _lowest_at(sides: Sides, x: Array) -> Array:
    """Lowest height at which each side stands at x (n,), (n, v); infinite where it does not."""
    y = np.full(sides.x0.shape, np.inf)
    # The left face comes down, so its sides are met from their upper end; both ways the lowest height counts.
    for above in (False, True):
        met = _Crossings(sides.swapped, x[:, None], above=above)
        y = np.minimum(y, met.spread(met.x, np.inf))
    return y


def _height_iterated(sides: Sides, target: Array) -> Array:
    knots = np.sort(sides.y0, axis=1)
    reached = np.asarray(thickness(sides, knots)) >= target[:, None] * (1 - 1e-14)
    first = np.argmax(reached, axis=1)
    rows = np.arange(len(target))
    high = knots[rows, first]
    low = knots[rows, np.maximum(first - 1, 0)]
    y = np.where(high > low, (low + high) / 2, high)
    done = np.zeros(len(target), dtype=bool)
    for _ in range(60):
        left, right = half_angles(sides, y, above=False)
        slope = np.tan(left) + np.tan(right)
        error = np.asarray(thickness(sides, y)) - target
        high = np.where(error >= 0, np.minimum(high, y), high)
        low = np.where(error < 0, np.maximum(low, y), low)
        step = y - error / np.where(slope > 1e-9, slope, np.inf)
        safe = np.where((step > low) & (step < high), step, (low + high) / 2)
        near = np.abs(safe - y) <= 1e-13 * (1 + y)
        y = np.where(done, y, safe)  # a row stands once it is found, however long others take
        done |= near
        if done.all():
            break
    return np.asarray(np.where(first == 0, knots[:, 0], y))


def min_thickness(outline: Sides | npt.ArrayLike, low: npt.ArrayLike, high: npt.ArrayLike) -> tuple[Any, Any]:
    """Least thickness between two heights and where it is, mm; below zero where the faces cross.

    Formula: thickness at both ends and at every vertex between, and wherever its slope turns from falling to rising
    inside a piece (bisection on the exact slope). `low` and `high` are scalars or (n,), mm; both results (n,), or
    floats for one outline. Raises GeometryError where `low` lies above `high`.

    >>> waisted = [[0, 0, 0], [1, 10, 0], [0.5, 20, 0], [1, 30, 0], [-1, 30, 0], [-0.5, 20, 0], [-1, 10, 0]]
    >>> least, at = min_thickness(waisted, 10.0, 30.0)
    >>> float(least), float(at)
    (1.0, 20.0)
    """
    sides, single = _sides(outline)
    n = len(sides.x0)
    lo = np.broadcast_to(np.asarray(low, dtype=float), (n,))
    hi = np.broadcast_to(np.asarray(high, dtype=float), (n,))
    if (lo > hi).any():
        raise GeometryError("the lower height lies above the upper one")
    knots = np.sort(np.clip(np.concatenate([sides.y0, lo[:, None], hi[:, None]], 1), lo[:, None], hi[:, None]), 1)
    a, b = knots[:, :-1].copy(), knots[:, 1:].copy()

    def growth(y: Array, above: bool) -> Array:
        left, right = half_angles(sides, y, above=above)
        return np.asarray(np.tan(left) + np.tan(right))

    turns = (b > a) & (growth(a, True) < 0) & (growth(b, False) > 0)
    for _ in range(60 if turns.any() else 0):
        middle = (a + b) / 2
        falling = growth(middle, True) < 0
        a, b = np.where(turns & falling, middle, a), np.where(turns & ~falling, middle, b)
    places = np.concatenate([knots, np.where(turns, (a + b) / 2, knots[:, :-1])], axis=1)
    values = np.asarray(thickness(sides, places))
    best = np.argmin(values, axis=1)
    rows = np.arange(n)
    value, where = values[rows, best], places[rows, best]
    return (value[0], where[0]) if single else (value, where)


def register_width(outline: Sides | npt.ArrayLike, *, within_mm: float = 0.02, both_faces: bool = True) -> Any:
    """Width of the flat facet that guides the edge, the narrower of both faces (or the wider), mm (n,) or a float.

    A straight facet guides when its plane passes within `within_mm` of the apex and it starts below 0.5 mm; a
    micro-bevel takes little from it, an edge bevel on a thin blade leaves only itself. 0 where no facet guides.
    Source: closed form; the 0.02 and 0.5 mm are estimates.

    >>> round(float(register_width([[0, 0, 0], [1.5, 2, 0], [1.5, 20, 0], [-1.5, 20, 0], [-1.5, 2, 0]])), 12)  # 3-4-5
    2.5
    """
    sides, single = _sides(outline)
    sides = sides.flat_backed
    v = sides.x0.shape[1]
    length = np.where(sides.bulge == 0, sides.chord, 0.0)
    safe = np.where(sides.chord > 0, sides.chord, 1.0)
    offset = np.abs(sides.x0 * sides.y1 - sides.x1 * sides.y0) / safe
    guiding = (offset <= within_mm) & (np.minimum(sides.y0, sides.y1) < 0.5)
    index = np.arange(v)[None, :]
    spine = sides.spine_side[:, None]
    right = np.where(guiding & (index < spine), length, 0.0).max(axis=1)
    left = np.where(guiding & (index > spine), length, 0.0).max(axis=1)
    width = np.minimum(left, right) if both_faces else np.maximum(left, right)
    return width[0] if single else width
