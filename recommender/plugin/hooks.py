"""The hooks a plug-in may implement. All are optional; each returns a list.

One that raises or gives no list is noted with its plug-in's name and gives nothing; the rest goes on. Every docstring
says when the hook is called and with which shapes and units, and ends with a complete plug-in.
"""

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

    ``outlines`` turns n designs, columns (n,) in mm and deg, into outlines (n, v, 3): x mm, y mm, bulge, from the apex
    anticlockwise. It is called for thousands of designs at a time, and for one::

        import numpy as np

        from recommender.geometry.outline import face, symmetric
        from recommender.plugin.api import BOTH, Grind, Parameter, Refusal
        from recommender.plugin.hooks import hookimpl
        from recommender.units import Unit

        BEVELWRIGHT_API = 1


        def complete(designs):
            return designs.changed(grind_line_mm=0.5 * designs["height_mm"], side=BOTH)


        def outlines(designs):
            half = designs["stock_thickness_mm"] / 2
            return symmetric(
                face(
                    (0.0, 0.0, 0.0),
                    (designs.edge_half_thickness_mm, designs.edge_bevel_height_mm, 0.0),
                    (half, designs["grind_line_mm"], 0.0),
                    (half, designs["height_mm"], 0.0),
                )
            )


        def refusals(designs, workshop):
            steep = designs.chord_angle_rad > np.radians(designs["edge_angle_per_side_deg"])
            no_platen = np.full(len(designs), not workshop.platen)
            return [
                Refusal(steep | (designs.primary_height_mm <= 0.5), "the edge bevel would leave no primary grind"),
                Refusal(no_platen, "a flat grind needs a platen"),
            ]


        @hookimpl
        def grinds():
            return [
                Grind(
                    id="half-flat",
                    label="half flat",
                    parent="flat",
                    about="Straight faces from the middle of the blade down to the edge bevel, full stock above.",
                    made="On the platen, up to a line scribed at half height.",
                    sharpened="On any stone, at the edge bevel.",
                    surfaces=frozenset({"edge-bevel"}),
                    parameters=(
                        Parameter("stock_thickness_mm", "stock thickness", Unit.MM, 1.5, 8.0, 0.5),
                        Parameter("edge_thickness_mm", "edge thickness", Unit.MM, 0.2, 1.0, 0.05),
                        Parameter("edge_angle_per_side_deg", "edge angle per side", Unit.DEG, 12.0, 25.0, 0.5),
                    ),
                    outlines=outlines,
                    complete=complete,
                    refusals=refusals,
                )
            ]
    """


@hookspec
def metrics() -> list[Metric]:  # type: ignore[empty-body]
    """Figures of a section, asked for once when plug-ins are loaded; computed when a rule or an answer asks for them.

    ``compute(sections, context)`` gives (n,) in the metric's unit for n sections, thousands at a time::

        import numpy as np

        from recommender.geometry.profile import thickness
        from recommender.plugin.api import Metric
        from recommender.plugin.hooks import hookimpl
        from recommender.units import Unit

        BEVELWRIGHT_API = 1


        def at_mid_height(sections, context):
            return np.asarray(thickness(sections.outlines, sections.designs["height_mm"] / 2))


        @hookimpl
        def metrics():
            return [
                Metric(
                    id="mid_height_thickness",
                    label="thickness at half height",
                    unit=Unit.MM,
                    better="either",
                    about="Exact thickness of the section half way between edge and spine.",
                    estimate=False,
                    compute=at_mid_height,
                )
            ]
    """


@hookspec
def packs() -> list[Traversable]:  # type: ignore[empty-body]
    """Folders of rules and tables, each with a pack.toml, asked for once; read when something is first asked::

    import importlib.resources

    from recommender.plugin.hooks import hookimpl

    BEVELWRIGHT_API = 1


    @hookimpl
    def packs():
        return [importlib.resources.files(__name__) / "pack"]
    """


@hookspec
def writers() -> list[Writer]:  # type: ignore[empty-body]
    """Document writers, asked for once when plug-ins are loaded; called with an answer when a file is asked for.

    ``write(answer)`` gets the answer as ``recommend --json`` prints it, with what `Writer` adds, and gives bytes::

        from recommender.plugin.api import Writer
        from recommender.plugin.hooks import hookimpl

        BEVELWRIGHT_API = 1


        def write(answer):
            blade = answer["proposal"]
            per_side, included = blade["edge_angle_per_side_deg"], blade["edge_angle_included_deg"]
            return f"{blade['grind_label']}, {per_side:g}° per side ({included:g}° included)\\n".encode()


        @hookimpl
        def writers():
            return [Writer(id="one-line", label="grind and angle in a line of text", write=write)]
    """


KINDS = {"grind": grinds, "metric": metrics, "pack": packs, "writer": writers}
"""What one of a hook's things is called -> the hook."""
EXAMPLE_IDS = {"grind": "half-flat", "metric": "mid_height_thickness", "writer": "one-line"}
"""Ids of the things that the examples give."""


def example(kind: str) -> str:
    """The complete plug-in in a hook's docstring, as source text. Raises KeyError for what is no kind.

    >>> example("pack").splitlines()[0]
    'import importlib.resources'
    """
    import inspect
    import textwrap

    return textwrap.dedent((inspect.getdoc(KINDS[kind]) or "").partition("::\n")[2]).strip() + "\n"
