"""Outlines: closed polylines of lines and arcs, one batch per grind.

An outline is an ``(n, v, 3)`` array of vertices x, y, bulge (mm, mm, tan(arc angle / 4)). x runs across the
blade, y up from the edge; the bulge belongs to the side from a vertex to the next. It starts at the apex on
x = 0, climbs the right face (x > 0), crosses the spine to the left and comes down the left face: anticlockwise.
A single ``(v, 3)`` outline is accepted everywhere and gives scalars back.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from recommender.errors import GeometryError
from recommender.geometry.arcs import Array

Outline = npt.NDArray[np.float64]
MAX_BULGE = 1.0 + 1e-9
MAX_MM = 1e6


def as_batch(outline: npt.ArrayLike) -> Outline:
    """Check an outline (n, v, 3) or (v, 3) and give it the shape (n, v, 3).

    Raises GeometryError for a wrong shape, fewer than 3 vertices, values that are not finite or beyond 1e6 mm,
    |bulge| > 1 or an outline without width or height.
    """
    try:
        # Section index fastest: sums over a section's few vertices then run along long columns.
        array = np.asarray(outline, dtype=float, order="F")
    except (TypeError, ValueError):
        raise GeometryError("an outline needs three numbers x, y, bulge for every vertex") from None
    if array.ndim == 2:
        array = array[None]
    if array.ndim != 3 or array.shape[2] != 3 or array.shape[1] < 3:
        raise GeometryError(f"an outline needs shape (n, v >= 3, 3), not {np.shape(outline)}")
    if not np.isfinite(array).all():
        raise GeometryError("an outline has coordinates that are not finite numbers")
    if (np.abs(array[..., :2]) > MAX_MM).any():
        raise GeometryError("an outline is larger than a kilometre")
    if (np.abs(array[..., 2]) > MAX_BULGE).any():
        raise GeometryError("an outline has an arc of more than a half-circle (bulge beyond 1)")
    flat = np.ptp(array[..., :2], axis=1).min(axis=-1) <= 0
    if (flat & (array[..., 2] == 0).all(axis=1)).any():
        raise GeometryError("an outline has no width or no height")
    return array


def is_single(outline: npt.ArrayLike) -> bool:
    """Tell whether one outline (v, 3) was given rather than a batch (n, v, 3)."""
    return np.ndim(outline) == 2


def face(*vertices: tuple[npt.ArrayLike, npt.ArrayLike, npt.ArrayLike]) -> Outline:
    """Stack (x, y, bulge to the next vertex) triples, each scalar or (n,), to a face (n, k, 3) from apex to spine.

    x and y in mm; k is the number of triples; n = 1 where all are scalars.

    >>> face((0, 0, 0), (np.array([1.0, 2.0]), 30.0, 0)).shape
    (2, 2, 3)
    """
    columns = [[np.asarray(c, dtype=float) for c in vertex] for vertex in vertices]
    shape = np.broadcast_shapes(*(c.shape for vertex in columns for c in vertex))
    out = np.empty((shape[0] if shape else 1, len(vertices), 3), order="F")  # section index fastest, as in `as_batch`
    for k, vertex in enumerate(columns):
        for j, column in enumerate(vertex):
            out[:, k, j] = column
    return out


def mirrored(outline: Outline) -> Outline:
    """Swap left and right of (n, v, 3), keeping start at the apex and anticlockwise order; the shape stays."""
    flipped = np.empty_like(outline)
    flipped[:, 0], flipped[:, 1:] = outline[:, 0], outline[:, :0:-1]
    flipped[..., 0] *= -1
    # A side keeps its bulge when both its sense of travel and its handedness turn over.
    flipped[..., 2] = outline[:, ::-1, 2]
    return flipped


def with_right_face_on_both(outline: Outline) -> Outline:
    """Make the left face the mirror image of the right one, (n, v, 3): for sections whose faces have as many vertices.

    >>> with_right_face_on_both(np.array([[[0, 0, 0], [1, 9, 0], [-2, 9, 0.0]]]))[0, :, 0].tolist()
    [0.0, 1.0, -1.0]
    """
    left = slice(-(outline.shape[1] // 2), None)
    out = outline.copy(order="K")
    out[:, left] = mirrored(outline)[:, left]
    return out


def symmetric(right_face: Outline) -> Outline:
    """Close a right face (n, k, 3) with its mirror image: (n, 2k - 1, 3)."""
    left = right_face[:, :0:-1].copy(order="K")
    left[..., 0] *= -1
    left[..., 2] = right_face[:, -2::-1, 2]
    right = right_face.copy(order="K")
    right[:, -1, 2] = 0.0
    return np.concatenate([right, left], axis=1)


def one_sided(right_face: Outline, left_ground: npt.ArrayLike = False, back: Outline | None = None) -> Outline:
    """Close a right face (n, k, 3) with a flat left face in x = 0: (n, k + 1, 3); mirrored where `left_ground`.

    `left_ground` is a flag or (n,). `back`, (n, b, 3), are vertices of that face between spine and apex, from above:
    (n, k + 1 + b, 3).
    """
    spine = right_face[:, -1:].copy(order="K")
    spine[..., 0] = 0.0
    spine[..., 2] = 0.0
    right = right_face.copy(order="K")
    right[:, -1, 2] = 0.0
    outline = np.concatenate([right, spine] if back is None else [right, spine, back], axis=1)
    left = np.broadcast_to(np.asarray(left_ground, dtype=bool), (len(outline),))
    return np.where(left[:, None, None], mirrored(outline), outline)


def padded(outline: Outline, count: int) -> Outline:
    """Give sections (n, v, 3) more vertices without changing them: the spine's corners are repeated, evenly.

    The result is (n, count, 3). So batches of different grinds become one. Raises GeometryError for fewer vertices than
    there are.

    >>> padded(np.array([[[0, 0, 0], [1, 9, 0], [-1, 9, 0.0]]]), 5)[0, :, 0].tolist()
    [0.0, 1.0, 1.0, -1.0, -1.0]
    """
    v = outline.shape[1]
    if count < v:
        raise GeometryError(f"{v} vertices do not fit into {count}")
    on_left = (count - v) // 2
    on_right = count - v - on_left
    corner = Sides.of(outline).spine_side[:, None]
    index = np.arange(count)[None, :]
    source = np.where(index <= corner + on_right, np.minimum(index, corner), np.maximum(index - count + v, corner + 1))
    out = np.asfortranarray(np.take_along_axis(outline, source[..., None], axis=1))
    repeated = source == np.roll(source, -1, axis=1)
    out[..., 2] = np.where(repeated, 0.0, out[..., 2])
    return out


def _following(values: Array) -> Array:
    """What stands at the next vertex, (n, v), sections lying in memory as they did."""
    out = np.empty_like(values)
    out[:, :-1], out[:, -1] = values[:, 1:], values[:, 0]
    return out


@dataclass(frozen=True)
class Sides:
    """The sides of a batch of outlines as rational quadratics, every one exact for lines and arcs alike.

    P(t) = ((1-t)^2 P0 + 2 t (1-t) C + t^2 P1) / ((1-t)^2 + 2 t (1-t) w + t^2) with w = cos(theta/2) and
    C = w M + n (c/2) sin(theta/2) (M the chord's midpoint, n its right normal, c its length). C stays
    finite up to the half-circle. All arrays have shape (n, v), mm but for bulge and w. Source: closed form, rational
    Bezier arcs.
    """

    x0: Array
    y0: Array
    x1: Array
    y1: Array
    bulge: Array

    @classmethod
    def of(cls, outline: npt.ArrayLike) -> Sides:
        """Take the sides of an outline (n, v, 3) or (v, 3); arrays are (n, v).

        Raises GeometryError as `as_batch` does.
        """
        return cls.of_checked(as_batch(outline))

    @classmethod
    def of_checked(cls, outline: Outline) -> Sides:
        """Take the sides of outlines (n, v, 3) that `as_batch` has seen; arrays are (n, v)."""
        x, y = outline[..., 0], outline[..., 1]
        return cls(x, y, _following(x), _following(y), outline[..., 2])

    @cached_property
    def w(self) -> Array:
        """Middle weight, cos(theta / 2) = (1 - b^2) / (1 + b^2), dimensionless (n, v)."""
        u = self.bulge**2
        return np.asarray((1 - u) / (1 + u))

    @cached_property
    def _sine(self) -> Array:
        return np.asarray(self.bulge / (1 + self.bulge**2))  # sin(theta/2) / 2

    @cached_property
    def cx(self) -> Array:
        """Weighted control point, x, mm (n, v)."""
        return np.asarray(self.w * (self.x0 + self.x1) / 2 + self._sine * (self.y1 - self.y0))

    @cached_property
    def cy(self) -> Array:
        """Weighted control point, y, mm (n, v)."""
        return np.asarray(self.w * (self.y0 + self.y1) / 2 - self._sine * (self.x1 - self.x0))

    @cached_property
    def swapped(self) -> Sides:
        """The same sides (n, v) with x and y exchanged, to ask for heights at a given x."""
        return Sides(self.y0, self.x0, self.y1, self.x1, -self.bulge)

    @cached_property
    def chord(self) -> Array:
        """Chord length, mm (n, v)."""
        return np.hypot(self.x1 - self.x0, self.y1 - self.y0)

    @cached_property
    def spine_side(self) -> npt.NDArray[np.intp]:
        """Index (n,) of the side that crosses the spine from right to left."""
        top = self.y0.max(axis=1, keepdims=True)
        tolerance = 1e-9 * top
        flat = (self.y0 >= top - tolerance) & (self.y1 >= top - tolerance)
        return np.asarray(np.argmin(np.where(flat, self.x1 - self.x0, np.inf), axis=1))

    def taking(self, rows: npt.NDArray[Any]) -> Sides:
        """The sides of some of the sections, (k, v), by mask (n,) or index."""
        return Sides(*(v[rows] for v in (self.x0, self.y0, self.x1, self.y1, self.bulge)))

    @cached_property
    def mirrored(self) -> npt.NDArray[np.bool_]:
        """Which sections are their own mirror images, (n,)."""
        x, y, b = self.x0[:, 1:], self.y0[:, 1:], self.bulge
        same = (self.x0[:, 0] == 0) & (x == -x[:, ::-1]).all(axis=1) & (y == y[:, ::-1]).all(axis=1)
        return np.asarray(same & (b == b[:, ::-1]).all(axis=1))

    @cached_property
    def right_face(self) -> Sides | None:
        """The sides (n, v // 2) from the apex to the spine, where every section is its own mirror image: half of all.

        None where one is not.
        """
        if not self.mirrored.all():
            return None
        k = self.x0.shape[1] // 2
        return Sides(*(v[:, :k] for v in (self.x0, self.y0, self.x1, self.y1, self.bulge)))

    def face(self, *, right: bool) -> Sides:
        """The sides (n, v) of sections that have one face alone, the other flat in x = 0.

        >>> lean = Sides.of([[0, 0, 0], [1, 9, 0], [-2, 9, 0.0]])
        >>> lean.face(right=True).x0[0].tolist(), lean.face(right=False).x0[0].tolist()
        ([0.0, 1.0, 0.0], [0.0, 0.0, -2.0])
        """
        index, spine = np.arange(self.x0.shape[1]), self.spine_side[:, None]
        starts, ends = (index <= spine, index < spine) if right else (index > spine, index >= spine)
        own = ends if right else starts
        x0, x1 = np.where(starts, self.x0, 0.0), np.where(ends, self.x1, 0.0)
        return Sides(x0, self.y0, x1, self.y1, np.where(own, self.bulge, 0.0))

    @cached_property
    def flat_backed(self) -> Sides:
        """The same with the unground face of one-sided sections laid in x = 0, as if it were not hollowed, (n, v).

        A hollowed back guides and is measured for its grind line as a flat one is: by the rims on which it lies.
        """
        if self.right_face is not None:
            return self
        index, spine = np.arange(self.x0.shape[1]), self.spine_side[:, None]
        on_right = (self.x0 >= -1e-12).all(axis=1, keepdims=True)
        on_left = (self.x0 <= 1e-12).all(axis=1, keepdims=True)
        on_right, on_left = on_right & ~on_left, on_left & ~on_right
        starts = (on_right & (index > spine)) | (on_left & (index <= spine))
        back = (on_right & (index > spine)) | (on_left & (index < spine))
        if not (back & (self.bulge != 0)).any():
            return self
        # Its vertices are moved to the spine's corner, as in sections whose flat face has no others.
        starts &= index > 0
        top = self.y0.max(axis=1, keepdims=True)
        x0, y0 = np.where(starts, 0.0, self.x0), np.where(starts, top, self.y0)
        return Sides(x0, y0, _following(x0), _following(y0), np.where(back, 0.0, self.bulge))

    @cached_property
    def monotone(self) -> bool:
        """No side of any section turns back in y, so every height meets a side once at most."""
        a, b = self.cy - self.w * self.y0, self.w * self.y1 - self.cy
        size = self.y0.max(initial=1.0)
        return not bool(((a * b < 0) & (np.minimum(np.abs(a), np.abs(b)) > 1e-9 * size)).any())

    def require_monotone(self) -> None:
        """Raise GeometryError if a side turns back in y: heights would then meet a face more than once."""
        if not self.monotone:
            raise GeometryError("a face turns back towards the edge")
