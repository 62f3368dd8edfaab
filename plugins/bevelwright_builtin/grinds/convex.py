"""Convex grinds: primary faces that bulge outwards from a slack belt, full height or to a saber line."""

from __future__ import annotations

import numpy as np

from bevelwright_builtin.grinds.micro_bevel import ON_EDGE_BEVELS
from bevelwright_builtin.grinds.shared import (
    bevelled_face,
    both_sides,
    edge_angle,
    edge_thickness,
    full_height,
    line_share,
    saber_form,
    shape_refusals,
    slack_belt_refusals,
    stock,
)
from recommender.geometry.arcs import Array, bulge_from_half_angle
from recommender.geometry.outline import Outline, symmetric
from recommender.plugin.api import Designs, Grind, Parameter, Refusal, Workshop
from recommender.units import Unit

CROWN = Parameter("crown_share", "crown, 0-1", Unit.NONE, 0.4, 1.0)
"""Between a straight face (0) and the roundest that stays tangent to edge bevel or flat (1)."""


def convex_bulge(designs: Designs) -> Array:
    """Bulge of the primary grind: its end tangents turn from the chord by crown x min(chord angle, a - chord angle)."""
    chord = designs.chord_angle_rad
    room = np.minimum(chord, np.radians(designs["edge_angle_per_side_deg"]) - chord)
    return bulge_from_half_angle(designs["crown_share"] * np.maximum(room, 0.0))


def outlines(designs: Designs) -> Outline:
    """Arcs bent outwards from shoulder to grind line."""
    return symmetric(bevelled_face(designs, convex_bulge(designs)))


def _refusals(designs: Designs, workshop: Workshop) -> list[Refusal]:
    return shape_refusals(designs) + slack_belt_refusals(designs, workshop)


SLACK_PLUNGE_RADIUS_MM = 5.0
"""A slack belt wraps round the plunge line; estimate, 3-10."""

FULL = Grind(
    id="convex",
    label="full convex",
    ground="with faces that bulge from back to edge",
    parent="convex",
    about=(
        "Faces that bulge outwards from spine to edge. More steel behind the edge than a flat of the same bar, "
        "and a shape that pushes wood aside and lets go of it."
    ),
    made="On the slack belt between the wheels, the blade rocked from spine to edge.",
    sharpened=(
        "On a strop, a soft-backed belt or with a rolling stroke on stones, so that the edge runs into the curve "
        "without a corner."
    ),
    surfaces=frozenset({"edge-bevel"}),
    parameters=(stock(), edge_thickness(), edge_angle(10, 30), CROWN, ON_EDGE_BEVELS),
    complete=lambda designs: both_sides(full_height(designs)),
    outlines=outlines,
    plunge_radius_mm=SLACK_PLUNGE_RADIUS_MM,
    refusals=_refusals,
)
SABER = saber_form(
    FULL,
    id="saber-convex",
    label="saber convex",
    ground="with faces that bulge up to a line",
    about=(
        "Faces that bulge outwards below a line, full stock above it. The stoutest way to carry a working edge: "
        "wood splits early on it and lets it go."
    ),
    made="On the slack belt up to a scribed line.",
    line=line_share(),
)
GRINDS = [FULL, SABER]
