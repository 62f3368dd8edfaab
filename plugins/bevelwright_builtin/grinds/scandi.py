"""Scandi: one flat facet per side ground to zero, with or without a micro-bevel."""

from __future__ import annotations

import numpy as np

from bevelwright_builtin.grinds.micro_bevel import ON_FACETS, STEEPER_ON_FACETS_DEG, THICKNESS_MM
from bevelwright_builtin.grinds.shared import both_sides, edge_angle, flat_refusals, stock
from recommender.geometry.outline import Outline, face, symmetric
from recommender.plugin.api import Designs, Grind, Refusal, Workshop

STEEPEST_DEG = 20.0
"""Beyond this per side a facet no longer guides on wood; common practice is 10 to 15."""


def ground_to_zero(designs: Designs) -> Designs:
    """Grind to zero: line = stock per ground face / tan a; a micro-bevel leaves 0.1 mm and moves the zero up to it."""
    sides = designs.sides_ground
    facet = np.radians(designs["edge_angle_per_side_deg"])
    micro = designs["micro_bevel"] == "yes"
    angle = np.where(micro, designs["edge_angle_per_side_deg"] + STEEPER_ON_FACETS_DEG / sides, np.nan)
    thickness = np.where(micro, THICKNESS_MM, 0.0)
    line = designs["stock_thickness_mm"] / sides / np.tan(facet)
    # The facet is ground to zero first; the micro-bevel then takes the apex back by the difference of heights.
    lost = thickness / sides * (1 / np.tan(facet) - 1 / np.tan(np.radians(np.where(micro, angle, 45.0))))
    return designs.changed(
        grind_line_mm=line - np.where(micro, lost, 0.0),
        edge_thickness_mm=thickness,
        micro_bevel_per_side_deg=angle,
        micro_bevel_thickness_mm=np.where(micro, thickness, np.nan),
    )


def complete(designs: Designs) -> Designs:
    """Grind both faces to zero."""
    return ground_to_zero(both_sides(designs))


def for_line(designs: Designs) -> Designs:
    """Turn the facet so that it reaches a wanted grind line: tan a = stock / (2 line)."""
    angle = np.arctan(designs["stock_thickness_mm"] / 2 / designs["grind_line_mm"])
    return designs.changed(edge_angle_per_side_deg=np.degrees(angle), micro_bevel="no")


def zero_face(designs: Designs) -> Outline:
    """Right face: a facet from the apex (or the micro-bevel) to the grind line, stock above."""
    half = designs["stock_thickness_mm"] / designs.sides_ground
    e = designs.edge_half_thickness_mm
    micro = np.radians(np.nan_to_num(designs["micro_bevel_per_side_deg"], nan=45.0))
    return face(
        (0.0, 0.0, 0.0),
        (e, e / np.tan(micro), 0.0),
        (half, designs["grind_line_mm"], 0.0),
        (half, designs["height_mm"], 0.0),
    )


def outlines(designs: Designs) -> Outline:
    """The same facet on both faces."""
    return symmetric(zero_face(designs))


def _refusals(designs: Designs, workshop: Workshop) -> list[Refusal]:
    above = designs["grind_line_mm"] > designs["height_mm"]
    return [
        Refusal(
            designs["edge_angle_per_side_deg"] > STEEPEST_DEG, f"no facet is ground steeper than {STEEPEST_DEG:g}°"
        ),
        Refusal(above, "the facet of this bar at this angle would reach above the spine"),
        *flat_refusals(designs, workshop),
    ]


GRINDS = [
    Grind(
        id="scandi",
        label="scandi",
        ground="with one wide flat facet a side, down to nothing",
        parent="flat",
        about=(
            "One wide flat facet per side, ground to zero without a separate edge bevel. The facet lies on the "
            "wood and guides the cut; above it stands the full bar."
        ),
        made="On the platen, both facets meeting at the edge.",
        sharpened=(
            "The whole facet is laid on a flat stone: no angle to guess, but much steel to take off. A micro-bevel "
            "saves steel between times."
        ),
        surfaces=frozenset({"zero-facet"}),
        parameters=(stock(), edge_angle(8, 16), ON_FACETS),
        complete=complete,
        outlines=outlines,
        refusals=_refusals,
        for_line=for_line,
    )
]
