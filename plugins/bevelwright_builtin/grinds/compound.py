"""Compound: one grind in the edge zone, another, stouter one in the tip zone."""

from __future__ import annotations

import numpy as np

from bevelwright_builtin.grinds.convex import convex_bulge
from bevelwright_builtin.grinds.hollow import GROUND, WHEEL, hollow_bulge, wheel_refusals
from bevelwright_builtin.grinds.micro_bevel import ON_EDGE_BEVELS, with_micro_bevel
from bevelwright_builtin.grinds.shared import (
    bevelled_face,
    both_sides,
    edge_angle,
    edge_thickness,
    flat_refusals,
    line_from_share,
    line_share,
    shape_refusals,
    slack_belt_refusals,
    stock,
)
from recommender.geometry.arcs import Array
from recommender.geometry.outline import Outline, symmetric
from recommender.plugin.api import Designs, Grind, Parameter, Refusal, Workshop
from recommender.units import Unit

EDGE_ZONE = Parameter("edge_zone", "edge zone", Unit.NONE, choices=("hollow", "flat"))
TIP_ZONE = Parameter("tip_zone", "tip zone", Unit.NONE, choices=("convex", "flat"))
TIP_CROWN = 1.0
"""The tip zone's convex is ground as round as it goes: it is there for stoutness."""


def _bulge(designs: Designs, zone: str) -> Array:
    kinds = designs[zone]
    hollow = kinds == "hollow"
    wheel = np.where(hollow & ~np.isnan(designs["wheel_diameter_mm"]), designs["wheel_diameter_mm"], 1e6)
    bulge = np.where(hollow, hollow_bulge(designs.changed(wheel_diameter_mm=wheel)), 0.0)
    return np.asarray(np.where(kinds == "convex", convex_bulge(designs.changed(crown_share=TIP_CROWN)), bulge))


def _complete(designs: Designs) -> Designs:
    designs = with_micro_bevel(both_sides(line_from_share(designs)))
    hollow = designs["edge_zone"] == "hollow"
    if GROUND.name in designs:  # what was stored earlier does not say
        designs = designs.changed(**{GROUND.name: np.where(hollow, designs[GROUND.name], GROUND.choices[0])})
    return designs.changed(wheel_diameter_mm=np.where(hollow, designs["wheel_diameter_mm"], np.nan))


def outlines(designs: Designs) -> Outline:
    """The edge zone's section."""
    return symmetric(bevelled_face(designs, _bulge(designs, "edge_zone")))


def tip_outlines(designs: Designs) -> Outline:
    """The tip zone's section, before the blade narrows."""
    return symmetric(bevelled_face(designs, _bulge(designs, "tip_zone")))


def _where(rows: np.ndarray, refusals: list[Refusal]) -> list[Refusal]:
    return [Refusal(r.rows & rows, r.reason, r.only_waist) for r in refusals]


def _refusals(designs: Designs, workshop: Workshop) -> list[Refusal]:
    hollow, flat = designs["edge_zone"] == "hollow", designs["edge_zone"] == "flat"
    convex_tip, flat_tip = designs["tip_zone"] == "convex", designs["tip_zone"] == "flat"
    wheel = designs.changed(wheel_diameter_mm=np.nan_to_num(designs["wheel_diameter_mm"], nan=1e6))
    return [
        *shape_refusals(designs),
        Refusal(flat & flat_tip, "both zones would be the same grind"),
        *_where(hollow, wheel_refusals(wheel, workshop)),
        *_where(flat | flat_tip, flat_refusals(designs, workshop)),
        *_where(convex_tip, slack_belt_refusals(designs, workshop)),
    ]


GRINDS = [
    Grind(
        id="compound",
        label="compound",
        ground="thin along the edge and stouter towards the tip",
        parent="hollow",
        about=(
            "A thin grind along the working edge and a stouter one towards the tip: keen where it cuts, strong "
            "where it is pushed and twisted. It asks for two settings in the shop and two sections at the stone."
        ),
        made=(
            "The edge zone on wheel (walked up where one pass is too narrow) or platen, the tip zone on platen or "
            "slack belt, blended where they meet."
        ),
        sharpened="As two sections: the angle may stay, but the bevel widens where the tip zone is thicker.",
        surfaces=frozenset({"edge-bevel"}),
        parameters=(
            stock(),
            line_share(0.25, 0.95),
            edge_thickness(),
            edge_angle(10, 30),
            WHEEL,
            GROUND,
            EDGE_ZONE,
            TIP_ZONE,
            ON_EDGE_BEVELS,
        ),
        complete=_complete,
        outlines=outlines,
        refusals=_refusals,
        tip_outlines=tip_outlines,
    )
]
