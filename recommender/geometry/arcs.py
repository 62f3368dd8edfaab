"""Moments of the circular segment between an arc and its chord, exact for every bulge.

An arc is given by its bulge b = tan(arc angle / 4), as in DXF's LWPOLYLINE: 0 is a line, 1 a
half-circle, positive bends to the right of the direction of travel. For a chord of length 1 and u = b^2 the
moments below are ``b * (P(u) S(u) + R(u)) / (k u^m)`` with S(u) = atan(b)/b and polynomials P, R. That
form loses every digit on shallow arcs, so below u = 0.16 a power series in u is used; its coefficients are
rational numbers worked out exactly at import from the same P and R.

Derivation: Green's theorem on r = (1 + u)/(4 b), half arc angle phi = 2 atan b.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Scalars = float | Array
"""One number for all rows of a batch, or one for each, (n,)."""

_SERIES_BELOW = 0.16
_TERMS = 20


def _product(a: Sequence[Fraction | int], b: Sequence[Fraction | int]) -> list[Fraction]:
    out = [Fraction(0)] * (len(a) + len(b) - 1)
    for i, x in enumerate(a):
        for j, y in enumerate(b):
            out[i + j] += Fraction(x) * y
    return out


class _SegmentMoment:
    """(P(u) S(u) + R(u)) / (scale u^power), by its closed form or its series in u."""

    def __init__(self, p: Sequence[int], r: Sequence[Fraction | int], scale: int, power: int) -> None:
        self.p = np.array(p[::-1], dtype=float)
        self.r = np.array([float(x) for x in r][::-1])
        self.scale, self.power = scale, power
        arctan = [Fraction((-1) ** k, 2 * k + 1) for k in range(_TERMS + power)]
        full = _product(p, arctan)
        for k, x in enumerate(r):
            full[k] += x
        if any(full[:power]):
            raise AssertionError("low orders must cancel")  # a wrong P or R, not a user's input
        self.series = np.array([float(c / scale) for c in full[power : _TERMS + power]][::-1])

    def __call__(self, u: Array) -> Array:
        out = np.polyval(self.series, np.minimum(u, _SERIES_BELOW))
        steep = u >= _SERIES_BELOW
        if np.any(steep):
            v = u[steep]
            root = np.sqrt(v)
            exact = np.polyval(self.p, v) * (np.arctan(root) / root) + np.polyval(self.r, v)
            out[steep] = exact / (self.scale * v**self.power)
        return np.asarray(out, dtype=float)


_SQ = [1, 2, 1]
_FOURTH = [1, 4, 6, 4, 1]
_1_MINUS_U = [1, -1]


def _sum(*terms: tuple[Fraction | int, Sequence[Fraction | int]]) -> list[Fraction]:
    out = [Fraction(0)] * max(len(poly) for _, poly in terms)
    for factor, poly in terms:
        for k, c in enumerate(poly):
            out[k] += factor * Fraction(c)
    return out


# area = b [(1+u)^2 S - (1-u)] / (8u)
_AREA = _SegmentMoment(_SQ, _sum((-1, _1_MINUS_U)), 8, 1)

# first moment about the chord = 1/12 - (1-u) [(1+u)^2 S - (1-u)] / (32u)
_FIRST = _SegmentMoment(
    [int(c) for c in _sum((-1, _product(_1_MINUS_U, _SQ)))],
    _sum((1, _product(_1_MINUS_U, _1_MINUS_U)), (Fraction(32, 12), [0, 1])),
    32,
    1,
)

# second moment about the chord: b {[(1+u)^4 S - (1-u)(1+u)^2 + 8u(1-u)]/512 - u(1-u)/24
#                                  + (1-u)^2 [(1+u)^2 S - (1-u)]/128} / u^2
_SECOND_ACROSS = _SegmentMoment(
    [int(c) for c in _sum((1, _FOURTH), (4, _product(_product(_1_MINUS_U, _1_MINUS_U), _SQ)))],
    _sum(
        (-1, _product(_1_MINUS_U, _SQ)),
        (8, _product([0, 1], _1_MINUS_U)),
        (Fraction(-512, 24), _product([0, 1], _1_MINUS_U)),
        (-4, _product(_product(_1_MINUS_U, _1_MINUS_U), _1_MINUS_U)),
    ),
    512,
    2,
)

# second moment along the chord, about its midpoint: b [3(1+u)^4 S - 3(1-u)(1+u)^2 - 8u(1-u)] / (1536 u^2)
_SECOND_ALONG = _SegmentMoment(
    [3 * c for c in _FOURTH],
    _sum((-3, _product(_1_MINUS_U, _SQ)), (-8, _product([0, 1], _1_MINUS_U))),
    1536,
    2,
)


def segment_area(bulge: Array, chord: Array) -> Array:
    """Signed area between arc and chord: (theta - sin theta) r^2 / 2, mm2, positive for a positive bulge.

    Bulges (dimensionless, |b| up to 1) and chords (mm) broadcast; the result has their shape. Source: closed form, as
    in the tables of circular segments of Machinery's Handbook.

    >>> float(segment_area(np.array([1.0]), np.array([2.0]))[0])  # half-circle, r = 1: pi / 2
    1.5707963267948966
    """
    return np.asarray(bulge * _AREA(bulge * bulge) * chord**2)


def segment_moments(bulge: Array, chord: Array) -> tuple[Array, Array, Array, Array]:
    """Signed area, first moment about the chord, second moments across and along it (mm2, mm3, mm4, mm4).

    The second moment along the chord is about its middle. Bulges and chords (mm) broadcast, each result has their
    shape. Source: closed form, see the module.

    >>> area, first, across, _ = segment_moments(np.array([1.0]), np.array([2.0]))  # half-circle, r = 1
    >>> float(first[0].round(12)), float((across[0] / area[0]).round(12))  # 2/3; (pi/8) / (pi/2)
    (0.666666666667, 0.25)
    """
    u = bulge * bulge
    return (
        bulge * _AREA(u) * chord**2,
        _FIRST(u) * chord**3,
        bulge * _SECOND_ACROSS(u) * chord**4,
        bulge * _SECOND_ALONG(u) * chord**4,
    )


def arc_length(bulge: Array, chord: Array) -> Array:
    """Length along the arc: r theta = chord (1 + b^2) atan(b) / b, mm; the sign of the bulge plays no part.

    Bulges and chords (mm) broadcast. Source: closed form.

    >>> float(arc_length(np.array([1.0]), np.array([2.0]))[0])  # half-circle, r = 1: pi
    3.141592653589793
    """
    small = np.abs(bulge) < 1e-8
    safe = np.where(small, 1.0, bulge)
    return np.asarray(chord * (1 + bulge**2) * np.where(small, 1.0, np.arctan(safe) / safe))


def bulge_from_radius(chord: Array, radius: Array) -> Array:
    """Bulge of the shorter arc of a given radius over a chord: tan(asin(chord / 2r) / 2), positive, dimensionless.

    Chord and radius in mm (or any one unit) broadcast. NaN where the chord is longer than the diameter.
    Source: closed form.

    >>> float(bulge_from_radius(np.array([2.0]), np.array([1.0]))[0])
    1.0
    """
    ratio = np.asarray(chord) / (2 * np.asarray(radius))
    # A chord equal to the diameter may land a rounding error above it.
    ratio = np.where(ratio > 1 + 1e-12, np.nan, np.minimum(ratio, 1.0))
    return np.asarray(ratio / (1 + np.sqrt(1 - ratio**2)))


def bulge_from_half_angle(half_arc_angle_rad: Array) -> Array:
    """Bulge of an arc whose tangents meet its chord at the given angle: tan(angle / 2), dimensionless.

    Any shape. Source: closed form; the angle between tangent and chord is half the arc's.

    >>> round(float(bulge_from_half_angle(np.radians(90.0))), 12)  # half-circle
    1.0
    """
    return np.asarray(np.tan(np.asarray(half_arc_angle_rad) / 2))
