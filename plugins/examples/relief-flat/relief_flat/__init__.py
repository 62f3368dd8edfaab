"""A flat grind with a relief bevel, for Bevelwright: the grind family and its rules."""

from __future__ import annotations

import importlib.resources
from importlib.resources.abc import Traversable

from recommender.plugin.api import Grind
from recommender.plugin.hooks import hookimpl
from relief_flat.grind import RELIEF_FLAT

BEVELWRIGHT_API = 1


@hookimpl
def grinds() -> list[Grind]:
    """The family."""
    return [RELIEF_FLAT]


@hookimpl
def packs() -> list[Traversable]:
    """Its rules and cautions."""
    return [importlib.resources.files(__name__) / "pack"]
