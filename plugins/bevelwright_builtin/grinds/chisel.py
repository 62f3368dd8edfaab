"""Chisel grinds: one face flat, the other ground, full height or to a saber line, on either side."""

from __future__ import annotations

import numpy as np

from bevelwright_builtin.grinds.flat import refusals
from bevelwright_builtin.grinds.micro_bevel import ON_EDGE_BEVELS
from bevelwright_builtin.grinds.shared import (
    bevelled_face,
    edge_angle,
    edge_thickness,
    full_height,
    line_share,
    saber_form,
    stock,
)
from recommender.geometry.outline import Outline, one_sided
from recommender.plugin.api import LEFT, RIGHT, Designs, Grind, Parameter
from recommender.units import Unit

SIDE = Parameter("side", "ground side", Unit.NONE, choices=(RIGHT, LEFT))
"""Seen edge down and tip forward."""


def outlines(designs: Designs) -> Outline:
    """One straight primary face and a flat face in the plane of the edge."""
    return one_sided(bevelled_face(designs, np.zeros(len(designs))), designs["side"] == LEFT)


FULL = Grind(
    id="chisel",
    label="chisel",
    ground="on one face only, from back to edge",
    parent="flat",
    about=(
        "One face is left flat, the other ground from spine to edge. The edge can be very keen and the flat "
        "face guides it along the work, but a deep cut wanders towards the flat side."
    ),
    made="On the platen, one side only, the whole height.",
    sharpened=(
        "The bevel on one side only, then the burr off the flat face laid on the stone; the flat face must stay flat."
    ),
    surfaces=frozenset({"edge-bevel", "one-sided"}),
    parameters=(stock(), edge_thickness(), edge_angle(12, 45), SIDE, ON_EDGE_BEVELS),
    complete=full_height,
    outlines=outlines,
    refusals=refusals,
)
SABER = saber_form(
    FULL,
    id="saber-chisel",
    label="saber chisel",
    ground="on one face only, up to a line",
    about=(
        "One flat face, the other ground below a line with full stock above: a stout one-sided blade for paring "
        "along a surface."
    ),
    made="On the platen, one side only, up to a scribed line.",
    line=line_share(0.2, 0.85),
)
GRINDS = [FULL, SABER]
