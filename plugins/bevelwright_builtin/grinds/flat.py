"""Flat grinds: straight primary faces from a platen, to the spine or to a saber line."""

from __future__ import annotations

import numpy as np

from bevelwright_builtin.grinds.micro_bevel import ON_EDGE_BEVELS
from bevelwright_builtin.grinds.shared import (
    bevelled_face,
    both_sides,
    edge_angle,
    edge_thickness,
    flat_refusals,
    full_height,
    line_share,
    saber_form,
    shape_refusals,
    stock,
)
from recommender.geometry.outline import Outline, symmetric
from recommender.plugin.api import Designs, Grind, Refusal, Workshop


def outlines(designs: Designs) -> Outline:
    """Straight faces from shoulder to grind line: platen angle per side atan((stock - te) / 2H)."""
    return symmetric(bevelled_face(designs, np.zeros(len(designs))))


def refusals(designs: Designs, workshop: Workshop) -> list[Refusal]:
    """What shape and workshop forbid of straight faces, on one side or both."""
    return shape_refusals(designs) + flat_refusals(designs, workshop)


FULL = Grind(
    id="full-flat",
    label="full flat",
    ground="flat from back to edge",
    parent="flat",
    about=(
        "Both faces run straight from the spine down to the edge bevel. Thin behind the edge for its strength, "
        "it parts food and rope with little wedging and thickens slowly as it is sharpened back."
    ),
    made="On the platen, the whole height of the blade, at one small angle per side.",
    sharpened="On any stone or fixture: only the small edge bevel is worked, and it stays easy to reach.",
    surfaces=frozenset({"edge-bevel"}),
    parameters=(stock(), edge_thickness(), edge_angle(8, 30), ON_EDGE_BEVELS),
    complete=lambda designs: both_sides(full_height(designs)),
    outlines=outlines,
    refusals=refusals,
)
SABER = saber_form(
    FULL,
    id="saber-flat",
    label="saber flat",
    ground="flat up to a line",
    about=(
        "Straight faces that stop at a line below the spine, with full stock above. Stouter than the full flat "
        "of the same bar, and it wedges more in a deep cut."
    ),
    made="On the platen up to a scribed line; a lower line means a steeper platen angle.",
    line=line_share(),
)
GRINDS = [FULL, SABER]
