"""What a bookbinder cuts, for Bevelwright: a pack of rules and tables."""

from __future__ import annotations

import importlib.resources
from importlib.resources.abc import Traversable

from recommender.plugin.hooks import hookimpl

BEVELWRIGHT_API = 1


@hookimpl
def packs() -> list[Traversable]:
    """The pack."""
    return [importlib.resources.files(__name__) / "pack"]
