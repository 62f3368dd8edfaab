"""A soft contact wheel: pressed against the blade its tread gives way, and it cuts like a larger, harder one."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from recommender.geometry.arcs import Array

HAND_FORCE_N = 30.0
"""Force with which a blade is pressed on the wheel; estimate, 15-60."""
BELT_WIDTH_MM = 50.0
TREAD_MM = 12.0
"""Thickness of the rubber on the wheel; estimate, 8-20."""
LEAST_SAGITTA_SHARE = 0.05
"""A wheel as soft as sponge still hollows a little; below this the model says nothing."""


def rubber_modulus_mpa(shore_a: npt.ArrayLike) -> Array:
    """Young's modulus of rubber from its indentation hardness, MPa: 0.0981 (56 + 7.62336 S)/(0.137505 (254 - 2.54 S)).

    S in degrees Shore A, any shape. Good for 20-80 Shore A; beyond 95 the formula runs away.
    Source: A. N. Gent, 1958 (memory).

    >>> round(float(rubber_modulus_mpa(60)), 2)
    3.61
    """
    s = np.asarray(shore_a, dtype=float)
    return np.asarray(0.0981 * (56 + 7.62336 * s) / (0.137505 * (254 - 2.54 * s)))


def cut_diameter_mm(
    diameter_mm: npt.ArrayLike,
    chord_mm: npt.ArrayLike,
    shore_a: npt.ArrayLike,
    *,
    force_n: npt.ArrayLike = HAND_FORCE_N,
) -> Array:
    """Diameter of the hard wheel that leaves the same hollow, mm; shore_a NaN is a hard wheel. Arguments broadcast.

    A hollow of chord c takes a sagitta s = c^2/(4 D) of a hard wheel. A tread of thickness h and modulus E under the
    pressure p = F/(c w) gives way by p h/E in the middle, where it is pressed hardest, so what it cuts is shallower:
    s' = s - F h/(E c w), and D' = c^2/(4 s'), s' no less than LEAST_SAGITTA_SHARE of s.
    Source: Winkler layer, closed form worked here; tread and hand force are estimates. Limits: small hollows, a full
    belt in contact, an even hand.

    >>> float(cut_diameter_mm(250.0, 20.0, float("nan")))
    250.0
    >>> round(float(cut_diameter_mm(250.0, 20.0, 60.0)))
    333
    """
    diameter, chord = np.asarray(diameter_mm, dtype=float), np.asarray(chord_mm, dtype=float)
    shore = np.asarray(shore_a, dtype=float)
    soft = np.isfinite(shore)
    modulus = rubber_modulus_mpa(np.where(soft, shore, 60.0))
    sagitta = chord**2 / (4 * diameter)
    gives = np.asarray(force_n) * TREAD_MM / (modulus * chord * BELT_WIDTH_MM)
    left = np.maximum(sagitta - gives, LEAST_SAGITTA_SHARE * sagitta)
    return np.asarray(np.where(soft, chord**2 / (4 * left), diameter))
