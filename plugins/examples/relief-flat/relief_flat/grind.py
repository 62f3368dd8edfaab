"""Edge bevel, relief bevel, primary grind: three straight facets a side, each flatter than the one below it."""

from __future__ import annotations

import numpy as np

from recommender.geometry.arcs import Array
from recommender.geometry.outline import Outline, face, symmetric
from recommender.plugin.api import BOTH, Designs, Grind, Parameter, Refusal, Workshop
from recommender.units import ANGLE_STEP_DEG, EDGE_STEP_MM, SIZE_STEP_MM, Unit

LEAST_STEP_DEG = 2.0
"""Facets that differ by less cannot be told apart, nor kept apart by hand; common practice."""
LEAST_PRIMARY_MM = 2.0


def complete(designs: Designs) -> Designs:
    """Both sides alike, the primary grind up to the spine."""
    return designs.changed(grind_line_mm=designs["height_mm"], side=BOTH)


def relief_top(designs: Designs) -> tuple[Array, Array]:
    """Half thickness and height where relief bevel and primary grind meet, mm.

    Formula: x = te/2 + r tan b, y = h_edge + r, r the relief's height and b its angle per side.
    """
    height = designs["relief_height_mm"]
    x = designs.edge_half_thickness_mm + height * np.tan(np.radians(designs["relief_angle_per_side_deg"]))
    return np.asarray(x), np.asarray(designs.edge_bevel_height_mm + height)


def primary_rad(designs: Designs) -> Array:
    """Angle per side of the primary grind above the relief bevel."""
    x, y = relief_top(designs)
    return np.asarray(np.arctan2(designs["stock_thickness_mm"] / 2 - x, designs["height_mm"] - y))


def outlines(designs: Designs) -> Outline:
    """Right face from the apex over shoulder and relief to the spine, and its mirror image."""
    x, y = relief_top(designs)
    shoulder = (designs.edge_half_thickness_mm, designs.edge_bevel_height_mm, 0.0)
    spine = (designs["stock_thickness_mm"] / 2, designs["height_mm"], 0.0)
    return symmetric(face((0.0, 0.0, 0.0), shoulder, (x, y, 0.0), spine))


def refusals(designs: Designs, workshop: Workshop) -> list[Refusal]:
    """Facets that are no facets, and a missing platen."""
    x, y = relief_top(designs)
    relief = designs["relief_angle_per_side_deg"]
    no_room = (y > designs["height_mm"] - LEAST_PRIMARY_MM) | (x >= designs["stock_thickness_mm"] / 2)
    primary = np.degrees(np.where(no_room, 0.0, primary_rad(designs)))
    return [
        Refusal(no_room, "the relief bevel leaves no primary grind above it"),
        Refusal(
            relief > designs["edge_angle_per_side_deg"] - LEAST_STEP_DEG,
            f"the relief bevel has to be at least {LEAST_STEP_DEG:g}° a side flatter than the edge bevel",
        ),
        Refusal(
            ~no_room & (relief < primary + LEAST_STEP_DEG),
            f"the relief bevel has to be at least {LEAST_STEP_DEG:g}° a side steeper than the primary grind",
        ),
        Refusal(np.full(len(designs), not workshop.platen), "its flat facets need a platen"),
    ]


RELIEF_FLAT = Grind(
    id="relief-flat",
    label="flat with relief bevel",
    parent="flat",
    about=(
        "Full flat, with a narrow second facet between edge bevel and primary grind. Stock stays in the blade above "
        "it, while the part that enters the cut first is thinned; each sharpening of the relief keeps it so."
    ),
    made="On the platen to the spine, then the relief bevel at its own, steeper angle, then the edge bevel.",
    sharpened="At the edge bevel; when the edge has grown thick, a few strokes at the relief's lower angle first.",
    surfaces=frozenset({"edge-bevel"}),
    parameters=(
        Parameter("stock_thickness_mm", "stock thickness", Unit.MM, 1.5, 8.0, SIZE_STEP_MM),
        Parameter("edge_thickness_mm", "edge thickness", Unit.MM, 0.1, 0.8, EDGE_STEP_MM),
        Parameter("edge_angle_per_side_deg", "edge angle per side", Unit.DEG, 10.0, 28.0, ANGLE_STEP_DEG),
        Parameter("relief_angle_per_side_deg", "relief angle per side", Unit.DEG, 4.0, 18.0, ANGLE_STEP_DEG),
        Parameter("relief_height_mm", "height of the relief bevel", Unit.MM, 1.0, 6.0, SIZE_STEP_MM),
    ),
    outlines=outlines,
    complete=complete,
    refusals=refusals,
)
