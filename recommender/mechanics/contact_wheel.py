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
SHAPE_COEFFICIENT = 0.54
"""How much of the stiffening by its shape filled rubber shows, k: 0.54 at 65 Shore A, 0.52 at 75, more if soft."""
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


def bonded_modulus_mpa(modulus_mpa: npt.ArrayLike, length_mm: npt.ArrayLike) -> Array:
    """Apparent modulus of the tread, which is bonded to its hub, where a strip so long presses on it: E (1 + 2 k S^2).

    The strip is as wide as the belt, BELT_WIDTH_MM w; S is its loaded area over the force-free area around it,
    c w / (2 h (c + w)) with the length c and the tread's thickness h. MPa and mm; they broadcast. Bonded rubber cannot
    bulge where it is held, so a wide, thin layer is stiffer than free rubber, which has S = 0.
    Source: Gent and Lindley 1959 as quoted in J. Mech. Eng. (Strojniski vestnik) 60 (2014) 506 (seen); k
    as in tables of rubber springs for 65 Shore A (seen, quoted). Both faces are taken as held, the outer one by the
    belt: an upper bound on S, and the rubber beside the strip is left out, which helps too. Limits: small strains.

    >>> float(bonded_modulus_mpa(3.6, 0.0))
    3.6
    """
    c = np.asarray(length_mm, dtype=float)
    shape = c * BELT_WIDTH_MM / (2 * TREAD_MM * (c + BELT_WIDTH_MM))
    return np.asarray(np.asarray(modulus_mpa) * (1 + 2 * SHAPE_COEFFICIENT * shape**2))


def cut_diameter_mm(
    diameter_mm: npt.ArrayLike,
    chord_mm: npt.ArrayLike,
    shore_a: npt.ArrayLike,
    *,
    force_n: npt.ArrayLike = HAND_FORCE_N,
) -> Array:
    """Diameter of the hard wheel that leaves the same hollow, mm; shore_a NaN is a hard wheel. Arguments broadcast.

    A hollow of chord c takes a sagitta s = c^2/(4 D) of a hard wheel. A tread of thickness h and apparent modulus E
    (`bonded_modulus_mpa`) under the pressure p = F/(c w) gives way by p h/E in the middle, where it is pressed hardest,
    so what it cuts is shallower: s' = s - F h/(E c w), and D' = c^2/(4 s'), s' no less than LEAST_SAGITTA_SHARE of s.
    Source: Winkler layer, closed form worked here; tread and hand force are estimates. Limits: small hollows, a full
    belt in contact, an even hand.

    >>> float(cut_diameter_mm(250.0, 20.0, float("nan")))
    250.0
    >>> round(float(cut_diameter_mm(250.0, 20.0, 60.0)))
    305
    """
    diameter, chord = np.asarray(diameter_mm, dtype=float), np.asarray(chord_mm, dtype=float)
    shore = np.asarray(shore_a, dtype=float)
    soft = np.isfinite(shore)
    modulus = bonded_modulus_mpa(rubber_modulus_mpa(np.where(soft, shore, 60.0)), chord)
    sagitta = chord**2 / (4 * diameter)
    gives = np.asarray(force_n) * TREAD_MM / (modulus * chord * BELT_WIDTH_MM)
    left = np.maximum(sagitta - gives, LEAST_SAGITTA_SHARE * sagitta)
    return np.asarray(np.where(soft, chord**2 / (4 * left), diameter))
