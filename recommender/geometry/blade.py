"""The blade along its length: sections from plunge line to tip, from one base section and one setting.

x runs along the blade from the plunge line (0) to the tip (length), mm. The maker holds the setting, so the ground
face is the same curve in section coordinates at every station; a station's section is the base section trimmed to
the local stock and cut off at the local height. Where the grind line runs is read off the sections, never assumed.

Limits: stations stand square to the length and heights are taken upright from the edge. Where the edge sweeps up by an
angle s, a section square to it is lower by cos s: thicknesses at the very tip are upper bounds by about 1/cos s.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from recommender.errors import GeometryError
from recommender.geometry.arcs import Array
from recommender.geometry.outline import Outline, Sides, as_batch, mirrored, with_right_face_on_both
from recommender.geometry.profile import _bulge_up_to, _root, clipped, height_at_thickness
from recommender.geometry.side_views import SideView

SWEDGE_RUN_IN = 1 / 3
"""Share of its length over which a swedge runs in from nothing; estimate, as a belt lifts off."""


def thinned(
    outline: Outline, right_mm: npt.ArrayLike, left_mm: npt.ArrayLike, *, half_angle_rad: npt.ArrayLike = 0.0
) -> Outline:
    """Trim the faces of (n, v, 3) to |x| = right (left) + (top - y) tan(half angle), exactly; gives (n, v + 2, 3).

    With no angle the bar is thinned to right + left; with one, bevels beside the spine leave right + left of it.
    Limits and angle are scalars or (n,), mm and rad. The spine's corners are doubled to make room for new ones; faces
    must not widen again above a waist. Raises GeometryError for negative limits and angles outside 0..90 degrees.

    >>> wedge = np.array([[[0, 0, 0], [2, 40, 0], [-2, 40, 0.0]]])
    >>> thinned(wedge, 1.0, 2.0)[0].tolist()  # right face: a new grind line half-way up
    [[0.0, 0.0, 0.0], [1.0, 20.0, 0.0], [1.0, 40.0, 0.0], [-2.0, 40.0, 0.0], [-2.0, 40.0, 0.0]]
    """
    v = as_batch(outline)
    n = len(v)
    right, left, angle = (
        np.broadcast_to(np.asarray(a, dtype=float), (n,)) for a in (right_mm, left_mm, half_angle_rad)
    )
    if not ((right >= 0) & (left >= 0) & np.isfinite(right + left)).all():
        raise GeometryError("a blade cannot be thinned to less than nothing")
    return _thinned_by(v, right, left, _slope(angle))


def _slope(half_angle_rad: Array) -> Array:
    if not ((half_angle_rad >= 0) & (half_angle_rad < np.pi / 2)).all():
        raise GeometryError("a bevel beside the spine stands between 0 and 90 degrees to the blade")
    return np.asarray(np.tan(half_angle_rad))


def _thinned_by(v: Outline, right: Array, left: Array, slope: Array) -> Outline:
    """As `thinned` does, for what has been checked; all (n,)."""
    corner = Sides.of_checked(v).spine_side[:, None]
    index = np.arange(v.shape[1] + 2)[None, :]
    doubled = np.take_along_axis(v, (index - (index > corner) - (index > corner + 2))[..., None], axis=1)
    doubled[..., 2] = np.where((index == corner) | (index == corner + 2), 0.0, doubled[..., 2])
    return _each_face(doubled, right, left, lambda face, limit: _trimmed(face, limit, slope))


def _each_face(v: Outline, right: Array, left: Array, change: Callable[[Outline, Array], Outline]) -> Outline:
    """Change the right face, then the left one as the right face of the mirror image."""
    if (right == left).all() and Sides.of_checked(v).mirrored.all():
        return with_right_face_on_both(change(v, right))
    return mirrored(change(mirrored(change(v, right)), left))


def _trimmed(v: Outline, limit: Array, slope: Array) -> Outline:
    """Trim the right face to x = limit + slope (top - y); its corner at the spine must be doubled."""
    sides = Sides.of_checked(v)
    top = v[..., 1].max(axis=1, keepdims=True)
    limit, slope = limit[:, None], slope[:, None]

    def beyond(x: Array, y: Array, w: Array | float) -> Array:
        """How far a (weighted) point lies outside the line."""
        return np.asarray(x - limit * w - slope * (top * w - y))

    a0 = beyond(sides.x0, sides.y0, 1.0)
    a1 = beyond(sides.cx, sides.cy, sides.w)
    a2 = beyond(sides.x1, sides.y1, 1.0)
    index, corner = np.arange(v.shape[1])[None, :], sides.spine_side[:, None]
    hit = (index < corner) & (a0 <= 0) & (a2 > 0)
    rows = np.flatnonzero(hit.any(axis=1))
    k = np.argmax(hit[rows], axis=1)
    at = (rows, k)
    w = sides.w[at]
    t = _root(a0[at], a1[at], a2[at])
    s = 1 - t
    weight = s * s + 2 * t * s * w + t * t
    x = (s * s * sides.x0[at] + 2 * t * s * sides.cx[at] + t * t * sides.x1[at]) / weight
    y = (s * s * sides.y0[at] + 2 * t * s * sides.cy[at] + t * t * sides.y1[at]) / weight
    out = v.copy(order="K")
    some, after = out[rows], (index > k[:, None]) & (index < corner[rows])
    some[after] = 0.0
    some[..., 0] += np.where(after, x[:, None], 0.0)
    some[..., 1] += np.where(after, y[:, None], 0.0)
    some[np.arange(len(rows)), k, 2] = _bulge_up_to(t, w, 2 * sides._sine[at])
    some[np.arange(len(rows)), corner[rows, 0], 0] = limit[rows, 0]
    out[rows] = some
    return out


def _tilted(v: Outline, limit: Array) -> Outline:
    """Tilt a right face that is ground flat or convex up to the spine about its shoulder, to meet the spine at `limit`.

    A convex keeps its arc angle, or what stays tangent to the spine. Hollows, faces ground to zero and faces with a
    flat above their grind line stay as they are.
    """
    sides = Sides.of_checked(v)
    n, count, _ = v.shape
    index = np.arange(count)[None, :]
    top = v[..., 1].max(axis=1, keepdims=True)
    on_face = index <= sides.spine_side[:, None]
    high = on_face & (v[..., 1] >= top * (1 - 1e-9))
    rows = np.arange(n)
    below = (on_face & ~high).sum(axis=1) - 1
    x, y, bulge = v[rows, below, 0], v[rows, below, 1], v[rows, below, 2]
    half = v[rows, sides.spine_side, 0]
    tilts = (x > 1e-9) & (x < limit) & (limit < half) & (x < half * (1 - 1e-9)) & (bulge >= 0)
    out = v.copy(order="K")
    out[..., 0] = np.where(high & tilts[:, None], limit[:, None], v[..., 0])
    tangent = np.tan(np.arctan2(limit - x, top[:, 0] - y) / 2)
    out[rows, below, 2] = np.where(tilts, np.minimum(bulge, tangent), bulge)
    return out


@dataclass(frozen=True)
class Stations:
    """Sections of n blades at m stations each; mm, (n, m) but for outlines. Nothing of it can be written into."""

    x_mm: Array
    edge_mm: Array
    """Height of the edge above the straight edge line."""
    height_mm: Array
    stock_mm: Array
    """Thickness of the bar after distal taper."""
    outlines: Outline
    """(n, m, v, 3), each from its own edge upwards."""
    whole: Outline
    """The same before they are cut off at the local height and get their swedge, (n m, v, 3)."""

    def __post_init__(self) -> None:
        for array in (self.x_mm, self.edge_mm, self.height_mm, self.stock_mm, self.outlines, self.whole):
            array.flags.writeable = False

    @cached_property
    def line_mm(self) -> Array:
        """Height of the grind line above the edge, (n, m); the local height where it has run out at the spine."""
        wanted = self.stock_mm.ravel() * (1 - 1e-12)
        line = np.asarray(height_at_thickness(Sides.of_checked(self.whole).flat_backed, wanted))
        line = line.reshape(self.x_mm.shape)
        # NaN, a section that nowhere has its full stock, has run out.
        return np.where(line < self.height_mm, line, self.height_mm)

    @property
    def line_share(self) -> Array:
        """Grind line over local height, a ratio (n, m); 1 where it has run out."""
        return np.asarray(self.line_mm / self.height_mm)

    @property
    def sections(self) -> Outline:
        """All sections as one batch (n m, v, 3), mm; those of a blade stand together."""
        return self.outlines.reshape(-1, *self.outlines.shape[2:])


@dataclass(frozen=True)
class Blade:
    """A batch of n blades of one side view; numbers (mm, degrees) are given as scalars or (n,) and kept as (n, 1).

    outlines: base sections (n, v, 3) at the plunge line, whose width is the stock and whose top the blade's height.
    taper_mm_per_mm: stock lost per mm of length. A face ground flat or convex up to the spine carries the taper itself:
    it tilts about its shoulder and stays at the spine. Other faces keep their setting, and their line drops.
    tip_outlines: sections of the tip zone, the last `tip_zone_mm`, blended in linearly over `transition_mm` before it,
    vertex by vertex and so with as many vertices as `outlines`.
    swedge_length_mm: how far from the tip a bevel of `swedge_angle_per_side_deg` to the centre plane starts; it leaves
    `swedge_spine_mm` of the spine, after running in over SWEDGE_RUN_IN of its length; one-sided grinds get it on
    their ground side. plunge_radius_mm: the primary grind comes out of the bar along a quarter-circle, as off a belt's
    edge of that radius. Raises GeometryError for what is out of range or leaves no bar at the tip.
    """

    outlines: Outline
    length_mm: Any
    side_view: SideView
    taper_mm_per_mm: Any = 0.0
    tip_outlines: Outline | None = None
    tip_zone_mm: Any = 0.0
    transition_mm: Any = 0.0
    swedge_length_mm: Any = 0.0
    swedge_angle_per_side_deg: Any = 30.0
    swedge_spine_mm: Any = 0.0
    plunge_radius_mm: Any = 0.0

    def __post_init__(self) -> None:
        object.__setattr__(self, "outlines", as_batch(self.outlines))
        for name in _NUMBERS:
            object.__setattr__(self, name, self.column(getattr(self, name)))
            if not (np.isfinite(getattr(self, name)) & (getattr(self, name) >= 0)).all():
                raise GeometryError(f"{name} must be a number of at least 0")
        if self.tip_outlines is not None:
            object.__setattr__(self, "tip_outlines", as_batch(self.tip_outlines))
            if np.shape(self.tip_outlines) != self.outlines.shape:
                raise GeometryError("edge zone and tip zone need outlines with the same number of vertices")
        if not (self.length_mm > 0).all():
            raise GeometryError("a blade needs a length")
        if not (self.taper_mm_per_mm * self.length_mm < self.stock_mm).all():
            raise GeometryError("the distal taper leaves no stock at the tip")
        for part in (self.tip_zone_mm + self.transition_mm, self.swedge_length_mm, self.plunge_radius_mm):
            if not (part <= self.length_mm).all():
                raise GeometryError("tip zone, swedge and plunge radius must fit into the blade's length")

    def taking(self, rows: npt.NDArray[Any]) -> Blade:
        """The given blades of the batch, by index or by mask (n,)."""
        tips = None if self.tip_outlines is None else self.tip_outlines[rows]
        numbers = {name: getattr(self, name)[rows, 0] for name in _NUMBERS}
        return replace(self, outlines=self.outlines[rows], tip_outlines=tips, **numbers)

    def column(self, values: npt.ArrayLike) -> Array:
        """Give one value a blade, a scalar or (n,), as (n, 1) in its own unit.

        Raises GeometryError for another number of values.
        """
        flat = np.asarray(values, dtype=float).reshape(-1)
        if len(flat) not in (1, len(self.outlines)):
            raise GeometryError(f"{len(self.outlines)} blades cannot have {len(flat)} values of a number")
        return np.broadcast_to(flat, (len(self.outlines),))[:, None]

    @cached_property
    def stock_mm(self) -> Array:
        """Stock thickness at the plunge line, (n, 1): the whole width of the base section."""
        return np.asarray(np.ptp(self.outlines[..., 0], axis=1))[:, None]

    @cached_property
    def height_mm(self) -> Array:
        """Blade height at the plunge line, (n, 1), from the edge line to the spine."""
        return np.asarray(self.outlines[..., 1].max(axis=1))[:, None]

    @property
    def side_area_mm2(self) -> Array:
        """Area in side view, (n,) mm2: closed form of the side view's curves."""
        return np.asarray(self.side_view.area * self.length_mm * self.height_mm)[:, 0]

    def at(self, x_mm: npt.ArrayLike) -> Stations:
        """Cut sections at x (m,) or (n, m), mm from the plunge line; a scalar gives one station, m = 1.

        Raises GeometryError outside the blade and at a point, where there is no section.
        """
        x = np.atleast_1d(np.asarray(x_mm, dtype=float))
        x = np.array(np.broadcast_to(x, (len(self.outlines), x.shape[-1])))
        known = x.tobytes()  # metrics of a blade ask for the same stations
        if known not in self._cut:
            self._cut[known] = self._cut_at(x)
        return self._cut[known]

    @cached_property
    def _cut(self) -> dict[bytes, Stations]:
        return {}

    def edge_and_height_mm(self, x_mm: Array) -> tuple[Array, Array]:
        """Height of the edge above the straight edge line, and of the section there, at x (n, m); (n, m) each.

        Raises GeometryError as `at` does.
        """
        if not ((x_mm >= 0) & (x_mm <= self.length_mm * (1 + 1e-12))).all():
            raise GeometryError("a station lies outside the blade")
        share = np.minimum(x_mm / self.length_mm, 1.0)
        edge, spine = self.side_view.edge(share) * self.height_mm, self.side_view.spine(share) * self.height_mm
        height = spine - edge
        if not (height > 1e-9 * self.height_mm).all():
            raise GeometryError("a point has no section: ask for a station before the tip")
        return edge, height

    def _cut_at(self, x: Array) -> Stations:
        edge, height = self.edge_and_height_mm(x)
        stock = self.stock_mm - self.taper_mm_per_mm * x
        whole = self._thinned(x, stock)
        v = clipped(whole, height.ravel())
        if self.swedge_length_mm.any():
            v = self._with_swedge(v, x)
        return Stations(x, edge, height, stock, v.reshape(*x.shape, *v.shape[1:]), whole)

    def _thinned(self, x: Array, stock: Array) -> Outline:
        """Sections at full height (n m, v, 3): zones and plunge blended in, taper taken off."""
        m = x.shape[1]
        v = np.repeat(self.outlines, m, axis=0)
        if self.tip_outlines is not None:
            start = self.length_mm - self.tip_zone_mm - self.transition_mm
            blend = _ramp(x - start, self.transition_mm).reshape(-1, 1, 1)
            v = v * (1 - blend) + np.repeat(self.tip_outlines, m, axis=0) * blend
        right = v[..., 0].max(axis=1)
        left = -v[..., 0].min(axis=1)
        radius = self.plunge_radius_mm
        if radius.any():
            away = 1 - np.minimum(x / np.where(radius > 0, radius, 1e-300), 1.0)
            left_in = (1 - np.sqrt(1 - away**2)).reshape(-1, 1)
            on_right = np.arange(v.shape[1])[None, :] <= Sides.of_checked(v).spine_side[:, None]
            bar = np.where(on_right, right[:, None], -left[:, None])
            bar[:, 0] = 0.0  # the edge bevel is ground last, right up to the plunge line
            v[..., 0] += left_in * (bar - v[..., 0])
            v[..., 2] *= 1 - left_in
        kept = (stock / self.stock_mm).ravel()
        right, left = right * kept, left * kept
        return _thinned_by(_each_face(v, right, left, _tilted), right, left, np.zeros(len(v)))

    def _with_swedge(self, v: Outline, x: Array) -> Outline:
        swedge = self.swedge_length_mm
        ramp = _ramp(x - (self.length_mm - swedge), SWEDGE_RUN_IN * swedge) * (swedge > 0)
        right, left = v[..., 0].max(axis=1), -v[..., 0].min(axis=1)
        sides, rows = Sides.of_checked(v), np.arange(len(v))
        top_right, top_left = sides.x0[rows, sides.spine_side], -sides.x1[rows, sides.spine_side]
        spine = np.broadcast_to(np.asarray(self.swedge_spine_mm), x.shape).ravel() / (right + left)
        fade = ramp.ravel()
        limit_right, limit_left = (
            top - fade * np.maximum(top - spine * side, 0.0) for top, side in ((top_right, right), (top_left, left))
        )
        angle = np.broadcast_to(np.radians(self.swedge_angle_per_side_deg), x.shape).ravel()
        return _thinned_by(v, limit_right, limit_left, _slope(angle))

    def nodes(
        self, start_mm: npt.ArrayLike = 0.0, end_mm: npt.ArrayLike | None = None, *, parts: int = 1
    ) -> tuple[Array, Array]:
        """Stations and weights (n, m), mm, that integrate along the blade from start to end (the tip), scalars or (n,).

        4-point Gauss-Legendre on `parts` panels between all places where the blade's make changes, and ever closer ones
        towards the tip: exact for polynomials of degree 7 there, about 1e-4 where a grind line runs out in between.
        Panels that a blade does not have weigh 0.
        """
        length, swedge = self.length_mm, self.swedge_length_mm
        start, end = self.column(start_mm), self.column(length if end_mm is None else end_mm)
        zone = length - self.tip_zone_mm
        places = (
            0 * length,
            self.plunge_radius_mm,
            self.side_view.edge_from * length,
            self.side_view.spine_from * length,
            zone - self.transition_mm,
            zone,
            length - swedge,
            length - swedge * (1 - SWEDGE_RUN_IN),
            *(length * (1 - 0.5**halving) for halving in range(1, 5)),
            length,
        )
        breaks = np.sort(np.clip(np.concatenate(places, axis=1), start, end), axis=1)
        width = np.diff(breaks, axis=1)
        used = (width > 0).any(axis=0)
        width, low = width[:, used, None, None] / parts, breaks[:, :-1][:, used, None, None]
        low = np.where(width > 0, low, 0.0)  # a panel that this blade does not have
        x = low + width * (np.arange(parts)[:, None] + (_NODES + 1) / 2)
        w = width * np.ones((parts, 1)) * _WEIGHTS / 2
        return x.reshape(len(length), -1), w.reshape(len(length), -1)


_NUMBERS = (
    "length_mm",
    "taper_mm_per_mm",
    "tip_zone_mm",
    "transition_mm",
    "swedge_length_mm",
    "swedge_angle_per_side_deg",
    "swedge_spine_mm",
    "plunge_radius_mm",
)
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(4)


def _ramp(x: Array, over: Array) -> Array:
    """0 up to x = 0, 1 from x = over on, straight between."""
    return np.asarray(np.where(x >= over, 1.0, np.maximum(x, 0.0) / np.where(over > 0, over, 1.0)))
