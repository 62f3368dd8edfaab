"""Strength of hardened steel: tensile strength from hardness, and brittle failure from a flaw.

Scalars or arrays throughout, so that thousands of draws of an uncertain steel are one call.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from recommender.geometry.arcs import Array

YOUNGS_MODULUS_MPA = 205_000.0
"""Hardened steel, 200-210 GPa; common practice."""
YIELD_SHARE = 0.82
"""Yield over tensile strength of hardened and tempered steel; estimate, 0.75-0.9."""
LEAST_K_IC = 6.0
"""No hardened blade steel is taken below this, MPa sqrt(m); estimate."""

_HRC = np.array([40.8, 49.1, 52.3, 55.2, 57.8])
_RM_MPA = np.array([1290.0, 1630.0, 1810.0, 1995.0, 2180.0])
HRC_TABLE_ENDS = 57.8
"""Beyond it the strength is extrapolated."""


def tensile_strength_mpa(hrc: npt.ArrayLike) -> Array:
    """Tensile strength from Rockwell C, MPa, between the rows of the conversion table; any shape.

    Source: DIN 50150, HV 400 to 650 (seen), for 40.8 to 57.8 HRC; beyond its ends a straight extension of the first and
    last rows.

    >>> float(tensile_strength_mpa(55.2))
    1995.0
    """
    h = np.asarray(hrc, dtype=float)
    steep = (_RM_MPA[1:] - _RM_MPA[:-1]) / (_HRC[1:] - _HRC[:-1])
    inside = np.interp(h, _HRC, _RM_MPA)
    return np.asarray(inside + steep[-1] * np.maximum(h - _HRC[-1], 0.0) - steep[0] * np.maximum(_HRC[0] - h, 0.0))


def yield_strength_mpa(hrc: npt.ArrayLike, share: npt.ArrayLike = YIELD_SHARE) -> Array:
    """Yield strength, a share of the tensile strength, MPa; arguments broadcast.

    Source: `tensile_strength_mpa`; the share is an estimate, 0.75-0.9.
    """
    return np.asarray(share) * tensile_strength_mpa(hrc)


def fracture_toughness(k_ic_usual: npt.ArrayLike, slope_per_hrc: float, usual_hrc: float, hrc: npt.ArrayLike) -> Array:
    """K_IC at a hardness, MPa sqrt(m): straight from its value at the usual hardness, at least LEAST_K_IC.

    Value at the usual hardness and hardness broadcast; the slope in MPa sqrt(m) per HRC is negative where toughness
    falls. Source: estimate.

    >>> float(fracture_toughness(20.0, -1.5, 60.0, 62.0)), float(fracture_toughness(20.0, -1.5, 60.0, 70.0))
    (17.0, 6.0)
    """
    return np.maximum(LEAST_K_IC, np.asarray(k_ic_usual) + slope_per_hrc * (np.asarray(hrc) - usual_hrc))


def failure_stress_mpa(yield_mpa: npt.ArrayLike, k_ic: npt.ArrayLike, flaw_um: npt.ArrayLike) -> Array:
    """Stress at which steel with a surface flaw fails: min(yield, K_IC / (1.12 sqrt(pi a))), MPa; arguments broadcast.

    a is the flaw's depth; K_IC in MPa sqrt(m); 1.12 the free-surface factor of an edge crack, for flaws shallow against
    the section. Harder is therefore not always stronger.
    Source: linear elastic fracture mechanics, edge crack (memory).

    >>> round(float(failure_stress_mpa(2000.0, 15.0, 60.0)))
    975
    """
    a = np.asarray(flaw_um) * 1e-6
    return np.minimum(yield_mpa, np.asarray(k_ic) / (1.12 * np.sqrt(np.pi * a)))


def chips_above_mm(yield_mpa: npt.ArrayLike, k_ic: npt.ArrayLike) -> Array:
    """Thickness above which an edge chips rather than rolls: (K_IC / yield)^2, mm; arguments broadcast.

    K_IC in MPa sqrt(m). Source: the length scale of linear elastic fracture mechanics; that an edge follows it with a
    factor of 1 is an estimate.

    >>> round(float(chips_above_mm(1900.0, 20.0)), 3)
    0.111
    """
    return np.asarray((np.asarray(k_ic) / np.asarray(yield_mpa)) ** 2 * 1000)
