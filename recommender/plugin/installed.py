"""Plug-ins that are installed, by their entry points; nothing of them is imported."""

from __future__ import annotations

import importlib.metadata
from collections.abc import Collection

from recommender.plugin.block_list import blocked_names

GROUP = "bevelwright.plugins"
BUILTIN = "builtin"
"""The plug-in that is shipped, which the others may lean on."""
DISTRIBUTION = "bevelwright"


def installed() -> list[importlib.metadata.EntryPoint]:
    """The entry points of installed plug-ins in the order in which they are loaded."""
    return sorted(importlib.metadata.entry_points(group=GROUP), key=lambda p: (p.name != BUILTIN, p.name))


def any_foreign(without: Collection[str]) -> bool:
    """Whether a plug-in would be loaded that is not shipped. Raises InputError for a block list that cannot be read."""
    others = [p for p in installed() if (p.name, p.dist.name if p.dist else "") != (BUILTIN, DISTRIBUTION)]
    return bool(others) and any(point.name not in {*without, *blocked_names()} for point in others)
