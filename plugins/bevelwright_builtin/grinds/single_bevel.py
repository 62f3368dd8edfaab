"""Single bevel: one flat facet on one face, ground to zero; the back flat, or hollowed so that it lies on its rim."""

from __future__ import annotations

import numpy as np

from bevelwright_builtin.grinds.chisel import SIDE
from bevelwright_builtin.grinds.micro_bevel import ON_FACETS
from bevelwright_builtin.grinds.scandi import ground_to_zero, zero_face
from bevelwright_builtin.grinds.shared import edge_angle, flat_refusals, stock
from recommender.geometry.arcs import bulge_from_radius
from recommender.geometry.outline import Outline, face, one_sided
from recommender.plugin.api import LEFT, Designs, Grind, Parameter, Refusal, Workshop

BACK = Parameter("back", "back", SIDE.unit, choices=("flat", "hollowed"))
STEEPEST_DEG = 32.0
"""Beyond this one facet no longer guides; paring and skiving edges have 10 to 25; common practice."""
BACK_RIM_MM = 1.5
"""Width of the rim that a hollowed back keeps along edge and spine; memory, 1 to 3."""
BACK_DEPTH_MM = 0.2
"""Depth of the hollow in its middle; memory, 0.1 to 0.3."""
LEAST_BACK_RADIUS_MM = 125.0
"""A low blade's back is hollowed no deeper than on a wheel of this radius; estimate."""
LEAST_HOLLOW_MM = 8.0
"""A hollow between the rims lower than this is not worth grinding; estimate."""


def complete(designs: Designs) -> Designs:
    """Grind to zero: line = stock / tan a; add the radius of a hollowed back."""
    designs = ground_to_zero(designs)
    height = np.where(designs["back"] == "hollowed", np.maximum(designs["height_mm"] - 2 * BACK_RIM_MM, 0.0), np.nan)
    radius = height**2 / (8 * BACK_DEPTH_MM) + BACK_DEPTH_MM / 2
    return designs.changed(back_radius_mm=np.maximum(radius, LEAST_BACK_RADIUS_MM))


def for_line(designs: Designs) -> Designs:
    """Turn the facet so that it reaches a wanted grind line: tan a = stock / line."""
    angle = np.arctan(designs["stock_thickness_mm"] / designs["grind_line_mm"])
    return designs.changed(edge_angle_per_side_deg=np.degrees(angle), micro_bevel="no")


def outlines(designs: Designs) -> Outline:
    """One facet from the apex (or the micro-bevel) to the grind line, stock above; the back in x = 0 or an arc."""
    height, radius = designs["height_mm"], designs["back_radius_mm"]
    hollowed = ~np.isnan(radius)
    # A flat back has its vertices in the corner of the spine.
    low = np.where(hollowed, np.minimum(BACK_RIM_MM, height / 2), height)
    high = np.where(hollowed, height - low, height)
    bulge = bulge_from_radius(high - low, np.where(hollowed, radius, 1.0))
    return one_sided(zero_face(designs), designs["side"] == LEFT, face((0.0, high, -bulge), (0.0, low, 0.0)))


def _refusals(designs: Designs, workshop: Workshop) -> list[Refusal]:
    above = designs["grind_line_mm"] > designs["height_mm"]
    hollowed = designs["back"] == "hollowed"
    low = hollowed & (designs["height_mm"] < 2 * BACK_RIM_MM + LEAST_HOLLOW_MM)
    smallest = min(workshop.wheels_mm, default=np.inf)
    no_wheel = hollowed & (smallest > 2 * np.nan_to_num(designs["back_radius_mm"], nan=np.inf) + 1e-9)
    reason = "a back is hollowed on a contact wheel" + (
        f", and the smallest here, {smallest:g} mm, would hollow it too little" if workshop.wheels_mm else ""
    )
    return [
        Refusal(
            designs["edge_angle_per_side_deg"] > STEEPEST_DEG,
            f"no single bevel is ground steeper than {STEEPEST_DEG:g}°",
        ),
        Refusal(above, "the bevel of this bar at this angle would reach above the spine"),
        Refusal(low, "the blade is too low for a hollow between the rims of its back"),
        Refusal(no_wheel, reason),
        *flat_refusals(designs, workshop),
    ]


GRINDS = [
    Grind(
        id="single-bevel",
        label="single bevel",
        ground="on one face only, in one flat bevel down to nothing",
        parent="flat",
        about=(
            "One flat bevel on one face, ground to zero against a back that is left flat or hollowed. The bevel sets "
            "its own angle on the stone and the back lies along the work: how leather is skived and single slices are "
            "cut. A hollowed back touches stone and work with a rim only, so it stays true with little work."
        ),
        made="On the platen, one side only, the bevel meeting the back at the edge; a hollowed back on a large wheel.",
        sharpened=(
            "The whole bevel is laid on a flat stone, then the back laid fully down to take off the burr; never lifted."
        ),
        surfaces=frozenset({"zero-facet", "one-sided"}),
        parameters=(stock(), edge_angle(8, 30), SIDE, BACK, ON_FACETS),
        complete=complete,
        outlines=outlines,
        refusals=_refusals,
        for_line=for_line,
    )
]
