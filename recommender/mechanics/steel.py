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


FREE_SURFACE = 1.12
"""Factor of a crack that starts at an edge; memory (1.1215)."""


def toughness_of_section(k_ic: npt.ArrayLike, yield_mpa: npt.ArrayLike, thickness_mm: npt.ArrayLike) -> Array:
    """Toughness of a section as thick, MPa sqrt(m): K_IC sqrt(1 + 1.4 b^2), b = (K_IC / yield)^2 / t; they broadcast.

    Thin sections give way sideways ahead of a crack (plane stress) and are tougher than the thick ones of which K_IC
    speaks. Valid for b up to about 3; in thinner sections yield decides long before. Source: Irwin, J. Basic Eng. 82
    (1960) 417 (memory).

    >>> float(toughness_of_section(20.0, 2000.0, 0.1).round(2)), float(toughness_of_section(20.0, 2000.0, np.inf))
    (30.98, 20.0)
    """
    k_ic = np.asarray(k_ic, dtype=float)
    thin = (k_ic / np.asarray(yield_mpa)) ** 2 * 1000 / np.asarray(thickness_mm, dtype=float)
    return np.asarray(k_ic * np.sqrt(1 + 1.4 * thin**2))


def failure_stress_mpa(
    yield_mpa: npt.ArrayLike, k_ic: npt.ArrayLike, flaw_um: npt.ArrayLike, thickness_mm: npt.ArrayLike = np.inf
) -> Array:
    """Stress at which a section with a flaw at its edge fails, MPa; arguments broadcast.

    ``(2/pi) yield arccos(exp(-pi/8 (K / (1.12 yield))^2 / a))``, a the flaw's depth, above 0, and K the
    `toughness_of_section`: the strip-yield model. It tends to K / (1.12 sqrt(pi a)), linear elastic fracture, where the
    plastic zone is small against the flaw, and to yield where it is large: harder is not always stronger. A nick in the
    edge goes through the whole section, so that its depth may exceed the thickness; it is shallow against the blade.

    Source: Dugdale, J. Mech. Phys. Solids 8 (1960) 100, with an edge crack's factor as in failure assessment (memory).

    >>> round(float(failure_stress_mpa(2000.0, 15.0, 60.0)))
    929
    >>> round(float(failure_stress_mpa(2000.0, 15.0, 60.0, thickness_mm=0.04)))  # as thin as an edge 50 um up
    1571
    """
    strength = np.asarray(yield_mpa, dtype=float)
    tough = toughness_of_section(k_ic, strength, thickness_mm)
    zone_um = np.pi / 8 * (tough / (FREE_SURFACE * strength)) ** 2 * 1e6
    # arccos(exp(-x)), without the digits that are lost near 1.
    return np.asarray(strength * 4 / np.pi * np.arcsin(np.sqrt(-np.expm1(-zone_um / np.asarray(flaw_um)) / 2)))


def chips_above_mm(yield_mpa: npt.ArrayLike, k_ic: npt.ArrayLike, flaw_um: npt.ArrayLike) -> Array:
    """Thickness above which an edge with a flaw chips rather than rolls, mm; NaN where it rolls at any; they broadcast.

    Where the section's K / (1.12 sqrt(pi a)) falls below yield: ``t = l sqrt(1.4 / (1.12^2 pi a/l - 1))``,
    l = (K_IC / yield)^2. Source: `failure_stress_mpa`, its elastic branch at yield.

    >>> round(float(chips_above_mm(1900.0, 20.0, 55.0)), 3), float(chips_above_mm(1900.0, 20.0, 12.0))
    (0.134, nan)
    """
    length_um = (np.asarray(k_ic, dtype=float) / np.asarray(yield_mpa)) ** 2 * 1e6
    brittle = FREE_SURFACE**2 * np.pi * np.asarray(flaw_um) / length_um - 1
    return np.asarray(length_um / 1000 * np.sqrt(1.4 / np.where(brittle > 0, brittle, np.nan)))
