"""Grit sizes of coated abrasives, and how deep their scratches go."""

from __future__ import annotations

FEPA_P_GRAIN_UM = {
    "P12": 1815.0,
    "P16": 1324.0,
    "P20": 1000.0,
    "P24": 764.0,
    "P30": 642.0,
    "P36": 538.0,
    "P40": 425.0,
    "P50": 336.0,
    "P60": 269.0,
    "P80": 201.0,
    "P100": 162.0,
    "P120": 125.0,
    "P150": 100.0,
    "P180": 82.0,
    "P220": 68.0,
    "P240": 58.5,
    "P280": 52.2,
    "P320": 46.2,
    "P360": 40.5,
    "P400": 35.0,
    "P500": 30.2,
    "P600": 25.8,
    "P800": 21.8,
    "P1000": 18.3,
    "P1200": 15.3,
    "P1500": 12.6,
    "P2000": 10.3,
    "P2500": 8.4,
}
"""Mean grain size, um. Source: FEPA 43-1 and ISO 6344 for P12 to P2500 (memory)."""
SCRATCHED_SHARE = 1 / 6
"""Of its grain size a belt's scratches and the torn steel below them reach down; estimate, 1/10 to 1/4."""


def left_for_next_um(grade: str) -> float:
    """Steel to leave on each face for the next finer belt, so that it takes off all scratches of this one, um.

    A share of the grain size, SCRATCHED_SHARE: an estimate.
    Raises KeyError for a grade that FEPA_P_GRAIN_UM does not have.

    >>> round(left_for_next_um("P120"), 1)
    20.8
    """
    return FEPA_P_GRAIN_UM[grade] * SCRATCHED_SHARE
