"""Heat and the thin edge: what to leave before hardening, and how deep a dry pass may be after it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from recommender.geometry.arcs import Array

SKIN_MM = 0.1
"""Scale and decarburised skin to grind off each face after hardening in air; common practice, 0.05-0.2."""
WARP_MM_PER_MM = 0.001
"""Warpage to true up over the blade's length, mm per mm; common practice."""
LEAST_BEFORE_HARDENING_MM = 0.5
"""Thinner edges crack or ripple in the quench; common practice, 0.4-0.8."""
THIN_STOCK_MM = 2.0
"""Thinner stock is hardened flat and ground afterwards; common practice, and a rule says so too."""
GRINDING_ENERGY_J_PER_MM3 = 40.0
"""Energy to grind a cubic millimetre of steel; Malkin and Guo, Grinding Technology: 20-60 (memory)."""
SHARE_INTO_BLADE = 0.6
"""Part of that energy which stays in a dry-ground blade; estimate, 0.4-0.8."""
HEAT_CAPACITY_J_PER_MM3_K = 3.6e-3
"""Of steel: 7.8e-3 g/mm3 times 0.46 J/(g K); handbook value (memory)."""
LEAST_HEATED_MM = 0.5
"""An edge ground to zero is judged so far up: its very apex is finished on a stone."""
WARM_C = 20.0
"""Of a blade dipped before the pass."""


def ground_after_hardening(stock_mm: float) -> bool:
    """Whether a blade of that stock is hardened as a flat bar and ground afterwards.

    Below THIN_STOCK_MM; common practice.
    """
    return stock_mm < THIN_STOCK_MM


def edge_before_hardening_mm(finished_mm: npt.ArrayLike, length_mm: npt.ArrayLike, skin_mm: float = SKIN_MM) -> Array:
    """Thickness to leave behind the edge before hardening, mm: finished + 2 skins + warp, at least 0.5.

    Thickness and length broadcast. Source: common practice, with SKIN_MM and WARP_MM_PER_MM.

    >>> float(edge_before_hardening_mm(0.35, 100.0))
    0.65
    """
    wanted = np.asarray(finished_mm) + 2 * skin_mm + WARP_MM_PER_MM * np.asarray(length_mm)
    return np.maximum(wanted, LEAST_BEFORE_HARDENING_MM)


def left_per_ground_side_mm(left_mm: float, skin_mm: float, sides_ground: int) -> float:
    """What is left on each ground face of what is left on both, mm: one that is not ground loses its skin alone.

    `sides_ground` is 1 or 2. Source: definition.

    >>> round(left_per_ground_side_mm(0.5, 0.1, 1), 3), left_per_ground_side_mm(0.5, 0.1, 2)
    (0.4, 0.25)
    """
    return (left_mm - skin_mm * (2 - sides_ground)) / sides_ground


def deepest_cool_pass_um(thickness_mm: npt.ArrayLike, temper_c: npt.ArrayLike = 180.0) -> Array:
    """Deepest dry pass that keeps an edge of that thickness below its temper, um: rho c t dT / (eps u).

    Arguments broadcast; `temper_c` in degrees C. All heat of the pass is shared by the steel under it: an edge thinner
    than heat travels in a pass cools only by waiting or water. dT is the room from a dipped blade to its temper.
    Source: energy balance; u after Malkin and Guo, Grinding Technology (memory), eps is an estimate.

    >>> round(float(deepest_cool_pass_um(0.3)), 1)
    7.2
    """
    heat = HEAT_CAPACITY_J_PER_MM3_K * np.asarray(thickness_mm, dtype=float) * (np.asarray(temper_c) - WARM_C)
    return np.asarray(1000 * heat / (SHARE_INTO_BLADE * GRINDING_ENERGY_J_PER_MM3))
