"""Other dimensions that a grind could take: a blade judged by other numbers would not be made to these."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from recommender.engine.search.ranking import Best, Field
from recommender.plugin.api import Designs

NEAR_POINTS = 8.0
"""A grind further behind than this wins in too few draws for its dimensions to matter."""
ANGLES_DEG = ((-9.0, -4.0), (-4.0, -1.5), (1.5, 4.0), (4.0, 9.0))
"""Included angles beside that of the best blade: of each range one design."""
THICKNESSES = ((0.4, 0.8), (1.25, 2.5))
"""The same for the thickness of the edge, over that of the best blade."""


def other_dimensions(best: Best, fields: Sequence[Field], ahead: float) -> Designs | None:
    """The best surveyed designs of a grind with a finer, steeper, thinner and thicker edge than its best blade.

    None where there are none, or where the grind is too far behind the first, which has `ahead` points.
    """
    field = next((f for f in fields if f.grind is best.grind), None)
    if field is None or field.measured is None or field.scores is None or best.points < ahead - NEAR_POINTS:
        return None
    designs, own = field.measured.designs, best.measured.designs
    points = field.scores.penalised_points
    turn = designs.edge_angle_included_deg - float(own.edge_angle_included_deg[0])
    thin = designs["edge_thickness_mm"] / max(float(own["edge_thickness_mm"][0]), 1e-9)
    inside = [(turn >= low) & (turn <= high) for low, high in ANGLES_DEG]
    inside += [(thin >= low) & (thin <= high) for low, high in THICKNESSES]
    rows = {int(np.argmax(np.where(there, points, -np.inf))) for there in inside if there.any()}
    return designs.taking(np.array(sorted(rows))) if rows else None
