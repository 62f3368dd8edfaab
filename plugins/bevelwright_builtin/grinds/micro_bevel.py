"""The micro-bevel: a tiny second bevel at the apex, a few strokes wide, on any grind."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from recommender.geometry.outline import Outline
from recommender.plugin.api import Designs, Parameter, Refusal
from recommender.units import Unit

ON_FACETS = Parameter("micro_bevel", "micro-bevel", Unit.NONE, choices=("no", "yes"))
"""On what is ground to zero a micro-bevel is another blade: spread over the survey."""
ON_EDGE_BEVELS = replace(ON_FACETS, refined_only=True)
THICKNESS_MM = 0.1
"""Edge thickness of the micro-bevel, a few strokes wide; common practice."""
STEEPER_DEG = 5.0
"""How much steeper per side than the edge bevel it is put on; common practice."""
STEEPER_ON_FACETS_DEG = 10.0
"""How much steeper, included, than facets ground to zero, which guide and so are finer than any edge bevel: 5 a side,
all of it on the one of a one-sided blade; common practice, 5 to 15."""
LEAST_EDGE_MM = 0.15
"""A thinner edge has no room for two bevels: the micro-bevel would be all of it; estimate."""


def with_micro_bevel(designs: Designs) -> Designs:
    """Put a micro-bevel on the edge bevel where wanted, as thick as THICKNESS_MM and half the edge at most."""
    chosen = designs["micro_bevel"] == "yes" if "micro_bevel" in designs else np.zeros(len(designs), dtype=bool)
    thick = np.minimum(THICKNESS_MM, designs["edge_thickness_mm"] / 2)
    return designs.changed(
        micro_bevel_per_side_deg=np.where(chosen, designs["edge_angle_per_side_deg"] + STEEPER_DEG, np.nan),
        micro_bevel_thickness_mm=np.where(chosen, thick, np.nan),
    )


def micro_refusals(designs: Designs) -> list[Refusal]:
    """Edges without room for a second bevel."""
    thin = ~np.isnan(designs["micro_bevel_per_side_deg"]) & (designs["edge_thickness_mm"] < LEAST_EDGE_MM - 1e-9)
    return [Refusal(thin, "the edge is too thin for a second bevel on it")]


def on_face(designs: Designs, right_face: Outline) -> Outline:
    """A right face (n, k, 3) with the micro-bevel's vertex, (n, k + 1, 3); as it is where no design has one.

    Faces without one repeat the spine's corner instead, as `geometry.outline.padded` does.
    """
    micro = np.radians(designs["micro_bevel_per_side_deg"])
    has = ~np.isnan(micro)
    if not has.any():
        return right_face
    half = designs["micro_bevel_thickness_mm"] / designs.sides_ground
    out = np.asfortranarray(np.concatenate([right_face, right_face[:, -1:]], axis=1))
    out[has, 2:] = right_face[has, 1:]
    out[has, 1] = np.stack([half[has], half[has] / np.tan(micro[has]), np.zeros(has.sum())], axis=1)
    return out
