"""How an edge wears: the published regression on slicing tests, and how blunt it is in use."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

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
TESTED_INCLUDED_DEG = (20.0, 50.0)
"""Included angles of the edges on which the regression was fitted."""
TESTED_AT_DEG = 30.0
LEAST_TESTED_MM = 200.0
"""Steels of which the regression has less at TESTED_AT_DEG are softer and poorer in carbides than those tested, the
least of which it has 227 mm for; estimate."""
RECESSION_IN_USE_MM = 0.008
"""How far an edge of RECESSION_AT_RAD has worn back half way between two sharpenings; estimate, where the material that
is cut does not say."""
RECESSION_BAND_MM = (0.003, 0.02)
RECESSION_AT_RAD = np.radians(40.0)
"""Included angle of which recessions are told."""


def edge_retention_mm(hrc: Scalars, included_deg: npt.ArrayLike, carbides: Mapping[str, Scalars]) -> Array:
    """Total card cut in the standard slicing test, mm (TCC); arguments broadcast.

    TCC = -157 + 15.8 HRC - 17.8 included + 5.0 Fe3C + 11.2 CrC + 14.6 CrVC + 26.2 MC + 9.5 M6C + 20.9 MN
    + 19.4 CrN (volume %). NaN outside TESTED_INCLUDED_DEG, on which it was fitted, and where it has no more than 0; of
    steels see `retention_is_told`. It knows nothing of the grind. Raises KeyError for a carbide it does not have.
    Source: L. Thomas, article of 11 February 2019 (seen); the test: ISO 8442-5.

    >>> round(float(edge_retention_mm(56, 30, {"CrC": 3})))
    227
    >>> round(float(edge_retention_mm(62, 30, {"CrVC": 13, "MC": 9})))
    714
    """
    included = np.asarray(included_deg, dtype=float)
    card = _regression(hrc, included, carbides)
    low, high = TESTED_INCLUDED_DEG
    return np.asarray(np.where((included >= low - 1e-9) & (included <= high + 1e-9) & (card > 0), card, np.nan))


def held_retention_mm(hrc: Scalars, included_deg: npt.ArrayLike, carbides: Mapping[str, Scalars]) -> Array:
    """`edge_retention_mm`, beyond TESTED_INCLUDED_DEG held at that end, mm; arguments broadcast.

    A finer edge lasts at least so long, a steeper one at most. NaN where nothing is left. Raises KeyError as there.
    Source: as there; that it is held is an estimate.

    >>> bool(held_retention_mm(64, 60.0, {"CrC": 15}) == edge_retention_mm(64, 50.0, {"CrC": 15}))
    True
    """
    return edge_retention_mm(hrc, np.clip(included_deg, *TESTED_INCLUDED_DEG), carbides)


def retention_is_told(hrc: Scalars, carbides: Mapping[str, Scalars]) -> Any:
    """Whether the regression may speak of a steel, a flag or (n,): at least LEAST_TESTED_MM, mm, at TESTED_AT_DEG.

    Below lie soft steels with few carbides, of which it makes nothing at angles at which they do cut. Hardness and
    volumes broadcast. Source: as `edge_retention_mm`; the bound is an estimate.

    >>> bool(retention_is_told(56, {"CrC": 3})), bool(retention_is_told(53, {"CrC": 0.5}))
    (True, False)
    """
    return _regression(hrc, np.asarray(TESTED_AT_DEG), carbides) >= LEAST_TESTED_MM


def _regression(hrc: Scalars, included_deg: Array, carbides: Mapping[str, Scalars]) -> Array:
    unknown = set(carbides) - set(PER_VOLUME_PERCENT)
    if unknown:
        raise KeyError(f"no such carbide: {', '.join(sorted(unknown))}")
    volume = sum(PER_VOLUME_PERCENT[name] * percent for name, percent in carbides.items())
    return np.asarray(-157 + 15.8 * hrc - 17.8 * included_deg + volume)


def worn_width_mm(worn_mm2: npt.ArrayLike, included_rad: npt.ArrayLike) -> Array:
    """Width of an edge off which so much has worn, mm per mm of edge: w = 2 sqrt(A tan(included / 2)); they broadcast.

    What is gone is a triangle of height d and width w = 2 d tan(included / 2), A = w d / 2. Source: closed form,
    geometry. Archard's law makes A grow with what is cut, whatever the angle.

    >>> float(worn_width_mm(0.0001, 2 * np.arctan(0.25)))  # 10 um wide, 20 um back
    0.01
    """
    return np.asarray(2 * np.sqrt(np.asarray(worn_mm2) * np.tan(np.asarray(included_rad, dtype=float) / 2)))


def apex_radius_in_use_mm(
    sharpened_mm: npt.ArrayLike, included_rad: npt.ArrayLike, recession_mm: npt.ArrayLike = RECESSION_IN_USE_MM
) -> Array:
    """Radius of the apex half way through its life between sharpenings, mm: r0 + w/2, w its `worn_width_mm`.

    Worn by the same material an edge has lost the same area at every angle (Archard: volume goes with what is cut),
    here that of an edge of RECESSION_AT_RAD that stands back by delta, ``A = delta^2 tan(20 deg)``: so
    ``r = r0 + delta sqrt(tan(20 deg) tan(included / 2))``. Of two edges worn alike the steeper is the blunter, but
    less so than if both stood back as far. Arguments broadcast.

    Limits: wear alone, no rolling or chipping; the steel is left out, as who owns a better one sharpens less often.
    Source: Archard, J. Appl. Phys. 24 (1953) 981 (memory), closed form; delta is an estimate, good for a factor 2.5.

    >>> round(float(apex_radius_in_use_mm(0.001, np.radians(40), 0.008)), 6)  # 0.001 + 0.008 tan(20 deg)
    0.003912
    """
    worn = np.asarray(recession_mm) ** 2 * np.tan(RECESSION_AT_RAD / 2)
    return np.asarray(np.asarray(sharpened_mm) + worn_width_mm(worn, included_rad) / 2)
