"""Strength of hardened steel: tensile strength from hardness, and brittle failure from a flaw."""

from __future__ import annotations

import numpy as np

YOUNGS_MODULUS_MPA = 205_000.0
"""Hardened steel, 200-210 GPa; common practice."""
YIELD_SHARE = 0.82
"""Yield over tensile strength of hardened and tempered steel; estimate, 0.75-0.9."""
LEAST_K_IC = 6.0
"""No hardened blade steel is taken below this, MPa sqrt(m); estimate."""

_HRC = np.array([40.8, 49.1, 52.3, 55.2, 57.8])
_RM_MPA = np.array([1290.0, 1630.0, 1810.0, 1995.0, 2180.0])
HRC_TABLE_ENDS = 57.8


def tensile_strength_mpa(hrc: float) -> float:
    """Tensile strength from Rockwell C, MPa, between the rows of the conversion table.

    Source: DIN 50150, HV 400 to 650 (seen); beyond 57.8 HRC a straight extension of the last rows.

    >>> tensile_strength_mpa(55.2)
    1995.0
    """
    if hrc <= HRC_TABLE_ENDS:
        return float(np.interp(hrc, _HRC, _RM_MPA))
    slope = (_RM_MPA[-1] - _RM_MPA[-2]) / (_HRC[-1] - _HRC[-2])
    return float(_RM_MPA[-1] + slope * (hrc - HRC_TABLE_ENDS))


def yield_strength_mpa(hrc: float) -> float:
    """Yield strength, YIELD_SHARE of the tensile strength, MPa."""
    return YIELD_SHARE * tensile_strength_mpa(hrc)


def fracture_toughness(k_ic_usual: float, slope_per_hrc: float, usual_hrc: float, hrc: float) -> float:
    """K_IC at a hardness, MPa sqrt(m): straight from its value at the usual hardness, at least LEAST_K_IC."""
    return max(LEAST_K_IC, k_ic_usual + slope_per_hrc * (hrc - usual_hrc))


def failure_stress_mpa(yield_mpa: float, k_ic: float, flaw_um: float) -> float:
    """Stress at which steel with a surface flaw fails: min(yield, K_IC / (1.12 sqrt(pi a))), MPa.

    a is the flaw's depth; 1.12 the free-surface factor of an edge crack. Harder is therefore not always
    stronger. Source: linear elastic fracture mechanics, edge crack (memory).

    >>> round(failure_stress_mpa(2000.0, 15.0, 60.0))
    975
    """
    a = flaw_um * 1e-6
    return float(min(yield_mpa, k_ic / (1.12 * np.sqrt(np.pi * a))))


def chips_above_mm(yield_mpa: float, k_ic: float) -> float:
    """Thickness above which an edge chips rather than rolls: (K_IC / yield)^2, mm.

    >>> round(chips_above_mm(1900.0, 20.0), 3)
    0.111
    """
    return float((k_ic / yield_mpa) ** 2 * 1000)
