"""The closed set of units, how each is shown, and the shop steps that a proposal is rounded to."""

from __future__ import annotations

import enum


class Unit(enum.StrEnum):
    """Every unit a parameter, metric or table may use; free-text units do not exist."""

    NONE = "1"
    DEG = "deg"
    MM = "mm"
    UM = "um"
    MM2 = "mm2"
    MM3_PER_MM = "mm3/mm"
    MM_PER_MM = "mm/mm"
    N = "N"
    N_PER_MM = "N/mm"
    N_M = "N m"
    MPA = "MPa"
    J_PER_M2 = "J/m2"
    G = "g"
    G_PER_MM = "g/mm"
    MINUTES = "min"
    COUNT = "count"


_SHOWN = {
    Unit.NONE: "",
    Unit.DEG: "°",
    Unit.UM: " µm",
    Unit.MM2: " mm²",
    Unit.MM3_PER_MM: " mm³ per mm of edge",
    Unit.N_M: " N·m",
    Unit.J_PER_M2: " J/m²",
    Unit.COUNT: "",
}

ANGLE_STEP_DEG = 0.5
EDGE_STEP_MM = 0.05
SIZE_STEP_MM = 0.5

STOCK_MM = (0.5, 12)
"""Bars that a blade is made of, thinnest and thickest."""

INCH_MM = 25.4
STEEL_DENSITY_G_PER_MM3 = 7.8e-3


def show(value: float, unit: Unit) -> str:
    """Write a value with three significant digits and its unit.

    >>> show(12.3456, Unit.MM), show(0.01234, Unit.NONE), show(4321.0, Unit.N)
    ('12.3 mm', '0.0123', '4,320 N')
    """
    if value != value:
        return "does not apply"
    if value == 0 or abs(value) < 1e-9:
        digits = "0"
    elif abs(value) >= 1000:
        digits = f"{float(f'{value:.3g}'):,.0f}"
    else:
        digits = f"{float(f'{value:.3g}'):.10f}".rstrip("0").rstrip(".")
    return digits + _SHOWN.get(unit, f" {unit.value}")
