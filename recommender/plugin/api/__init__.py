"""What plug-ins are made of: parameters, designs, grinds, sections, metrics, writers.

A plug-in imports from here, from `hooks`, `recommender.geometry`, `recommender.mechanics`, `recommender.models`,
`recommender.units` and `recommender.text`; what stands in `__all__` is promised.
"""

from __future__ import annotations

from recommender.plugin.api.blade_forms import Forms
from recommender.plugin.api.context import LIMITS_FROM_SHARE, Context, SharpeningState, SteelState, TaskLoad, weighty
from recommender.plugin.api.designs import BOTH, LEFT, RIGHT, Designs, Parameter, Refusal, Workshop, refused_rows
from recommender.plugin.api.grind import Grind
from recommender.plugin.api.metric import Metric
from recommender.plugin.api.sections import TIP_ZONE_SHARE, Sections
from recommender.plugin.api.writer import MOST_DOCUMENT_BYTES, Writer

API_VERSION = 1

__all__ = [
    "API_VERSION",
    "BOTH",
    "LEFT",
    "LIMITS_FROM_SHARE",
    "MOST_DOCUMENT_BYTES",
    "RIGHT",
    "TIP_ZONE_SHARE",
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
