"""How long an edge cuts: the published regression on slicing tests."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from recommender.geometry.arcs import Array, Scalars

PER_VOLUME_PERCENT = {
    "Fe3C": 5.0,
    "CrC": 11.2,
    "CrVC": 14.6,
    "MC": 26.2,
    "M6C": 9.5,
    "MN": 20.9,
    "CrN": 19.4,
}
"""Millimetres of card that a volume percent of each carbide or nitride adds; see `edge_retention_mm`."""
RECESSION_IN_USE_MM = 0.008
"""How far an edge wears back between sharpenings before its owner minds; estimate."""
RECESSION_BAND_MM = (0.003, 0.02)


def edge_retention_mm(hrc: Scalars, included_deg: npt.ArrayLike, carbides: Mapping[str, Scalars]) -> Array:
    """Total card cut in the standard slicing test, mm (TCC), at least 0; arguments broadcast.

    TCC = -157 + 15.8 HRC - 17.8 included + 5.0 Fe3C + 11.2 CrC + 14.6 CrVC + 26.2 MC + 9.5 M6C + 20.9 MN
    + 19.4 CrN (volume %). Fitted for about 20-50 degrees included; it knows nothing of the grind. It can go
    negative, which means no more than "little", hence the clamp. Raises KeyError for a carbide it does not have.
    Source: L. Thomas, article of 11 February 2019 (seen); the test: ISO 8442-5.

    >>> round(float(edge_retention_mm(56, 30, {"CrC": 3})))
    227
    >>> round(float(edge_retention_mm(62, 30, {"CrVC": 13, "MC": 9})))
    714
    """
    unknown = set(carbides) - set(PER_VOLUME_PERCENT)
    if unknown:
        raise KeyError(f"no such carbide: {', '.join(sorted(unknown))}")
    volume = sum(PER_VOLUME_PERCENT[name] * percent for name, percent in carbides.items())
    return np.asarray(np.maximum(-157 + 15.8 * hrc - 17.8 * np.asarray(included_deg, dtype=float) + volume, 0.0))


def apex_radius_in_use_mm(
    sharpened_mm: npt.ArrayLike, included_rad: npt.ArrayLike, recession_mm: npt.ArrayLike = RECESSION_IN_USE_MM
) -> Array:
    """Radius of the apex half way through its life between sharpenings, mm: r0 + delta tan(included / 2).

    Arguments broadcast. An edge worn back by delta is 2 delta tan(included / 2) wide: of two edges worn alike the
    steeper is the blunter. Source: closed form, geometry; delta is an estimate.

    >>> round(float(apex_radius_in_use_mm(0.001, 2 * np.arctan(0.25), 0.008)), 6)
    0.003
    """
    return np.asarray(sharpened_mm + np.asarray(recession_mm) * np.tan(np.asarray(included_rad, dtype=float) / 2))
