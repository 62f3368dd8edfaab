"""What plug-ins are made of: parameters, designs, grinds, sections, metrics, writers.

A plug-in imports from here, from `hooks`, `recommender.geometry`, `recommender.mechanics`, `recommender.models`,
`recommender.units`, `recommender.text` and `recommender.drawing`; what stands in `__all__` is promised.
"""

from __future__ import annotations

from recommender.plugin.api.blade_forms import Forms
from recommender.plugin.api.context import (
    LIMITS_FROM_SHARE,
    SHARPENING_FIGURES,
    Context,
    SharpeningState,
    SteelState,
    TaskLoad,
    weighty,
)
from recommender.plugin.api.designs import (
    BOTH,
    LEFT,
    RIGHT,
    WALKED_UP,
    Designs,
    Parameter,
    Refusal,
    Workshop,
    refused_rows,
)
from recommender.plugin.api.grind import Grind
from recommender.plugin.api.metric import Metric
from recommender.plugin.api.sections import TIP_ZONE_SHARE, Sections
from recommender.plugin.api.writer import MOST_DOCUMENT_BYTES, Writer

API_VERSIONS = range(1, 2)
"""Versions of this interface that a plug-in may be written for (its `BEVELWRIGHT_API`), the oldest first."""
API_VERSION = API_VERSIONS[-1]
"""The newest of them: what a new plug-in is written for."""

__all__ = [
    "API_VERSION",
    "API_VERSIONS",
    "BOTH",
    "LEFT",
    "LIMITS_FROM_SHARE",
    "MOST_DOCUMENT_BYTES",
    "RIGHT",
    "SHARPENING_FIGURES",
    "TIP_ZONE_SHARE",
    "WALKED_UP",
    "Context",
    "Designs",
    "Forms",
    "Grind",
    "Metric",
    "Parameter",
    "Refusal",
    "Sections",
    "SharpeningState",
    "SteelState",
    "TaskLoad",
    "Workshop",
    "Writer",
    "refused_rows",
    "weighty",
]
