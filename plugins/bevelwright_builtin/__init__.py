"""The built-in plug-in: grind families, metrics and rules, written as a contributor would."""

from __future__ import annotations

import importlib.resources
from importlib.resources.abc import Traversable

from bevelwright_builtin import writers as documents
from bevelwright_builtin.grinds import chisel, compound, convex, flat, hollow, scandi, single_bevel
from bevelwright_builtin.metrics import cutting_forces, edge, hard_contacts, load_strength, making, owning, whole_blade
from recommender.plugin.api import Grind, Metric, Writer
from recommender.plugin.hooks import hookimpl

BEVELWRIGHT_API = 1


@hookimpl
def grinds() -> list[Grind]:
    """Every grind family, one module each."""
    modules = (flat, hollow, convex, scandi, single_bevel, chisel, compound)
    return [grind for module in modules for grind in module.GRINDS]


@hookimpl
def metrics() -> list[Metric]:
    """Every figure, grouped by what it is about."""
    modules = (cutting_forces, edge, hard_contacts, load_strength, owning, making, whole_blade)
    return [metric for module in modules for metric in module.METRICS]


@hookimpl
def writers() -> list[Writer]:
    """Every document."""
    return documents.WRITERS


@hookimpl
def packs() -> list[Traversable]:
    """The core pack."""
    return [importlib.resources.files("bevelwright_rules") / "core"]
