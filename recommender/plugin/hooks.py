"""The hooks a plug-in may implement. All are optional; each returns a list."""

from __future__ import annotations

from importlib.resources.abc import Traversable
from typing import TYPE_CHECKING

import pluggy

if TYPE_CHECKING:
    from recommender.plugin.api import Grind, Metric, Writer

PROJECT = "bevelwright"
hookspec = pluggy.HookspecMarker(PROJECT)
hookimpl = pluggy.HookimplMarker(PROJECT)


@hookspec
def grinds() -> list[Grind]:  # type: ignore[empty-body]
    """Grind families, asked for once when plug-ins are loaded.

    Each turns n designs (mm, deg) into outlines (n, v, 3), and says what cannot be made::

        @hookimpl
        def grinds():
            return [Grind(id="wedge", label="Wedge", parent="flat", about="...", made="...", sharpened="...",
                          surfaces=frozenset({"zero-facet"}), parameters=(stock(), edge_angle()),
                          complete=to_zero, outlines=wedge_outlines)]
    """


@hookspec
def metrics() -> list[Metric]:  # type: ignore[empty-body]
    """Figures of a section, asked for once when plug-ins are loaded; computed for thousands of sections at a time.

    ``compute(sections, context)`` returns (n,) in the metric's unit::

        @hookimpl
        def metrics():
            return [Metric(id="spine_width", label="Spine width", unit=Unit.MM, better="either", about="...",
                           estimate=False, compute=lambda sections, context: sections.designs["stock_thickness_mm"])]
    """


@hookspec
def packs() -> list[Traversable]:  # type: ignore[empty-body]
    """Folders of rules and tables (each with a pack.toml), asked for once when packs are loaded::

    @hookimpl
    def packs():
        return [importlib.resources.files("my_package") / "my-pack"]
    """


@hookspec
def writers() -> list[Writer]:  # type: ignore[empty-body]
    """Document writers, asked for once when plug-ins are loaded; called when an answer is written to a file::

    @hookimpl
    def writers():
        return [Writer(id="txt", label="grind and line", write=lambda answer: answer["proposal"]["grind"].encode())]
    """
