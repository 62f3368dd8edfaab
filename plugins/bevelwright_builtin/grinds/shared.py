"""What several grind families share: knobs, refusals, the face below the line, the saber form of a full grind."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from bevelwright_builtin.grinds.micro_bevel import micro_refusals, on_face, with_micro_bevel
from recommender.geometry.outline import Outline, face
from recommender.plugin.api import BOTH, Designs, Grind, Parameter, Refusal, Workshop
from recommender.units import ANGLE_STEP_DEG, EDGE_STEP_MM, SIZE_STEP_MM, STOCK_MM, Unit

WHEEL_FACE_SAG_MM = 0.05
"""A wheel's face passes for flat while the hollow it leaves stays under this; common practice."""


LEAST_TURN_DEG = 1.0
"""By how much an edge bevel is steeper than the primary grind: closer, a stone takes both for one facet, and the blade
is ground to zero; common practice."""


def stock(low: float = 1.0, high: float = STOCK_MM[1]) -> Parameter:
    """Stock thickness."""
    return Parameter("stock_thickness_mm", "stock thickness", Unit.MM, low, high, SIZE_STEP_MM)


def edge_angle(low: float, high: float) -> Parameter:
    """Edge angle per ground side."""
    return Parameter("edge_angle_per_side_deg", "edge angle per side", Unit.DEG, low, high, ANGLE_STEP_DEG)


def edge_thickness(low: float = 0.1, high: float = 2.0) -> Parameter:
    """Thickness behind the edge."""
    return Parameter("edge_thickness_mm", "edge thickness", Unit.MM, low, high, EDGE_STEP_MM)


def line_share(low: float = 0.25, high: float = 0.85) -> Parameter:
    """Grind line as a share of the blade's height."""
    return Parameter("grind_line_share", "grind line", Unit.NONE, low, high)


def saber_form(full: Grind, *, id: str, label: str, ground: str, about: str, made: str, line: Parameter) -> Grind:
    """The form of a full-height grind that stops at a line below the spine; all else is as in the full one."""

    def complete(designs: Designs) -> Designs:
        return line_from_share(full.complete(designs))

    def refusals(designs: Designs, workshop: Workshop) -> list[Refusal]:
        at_spine = designs["grind_line_mm"] > designs["height_mm"] - 0.5
        return [Refusal(at_spine, "a saber line lies below the spine"), *full.refusals(designs, workshop)]

    bar, *rest = full.parameters
    return replace(
        full,
        id=id,
        label=label,
        ground=ground,
        about=about,
        made=made,
        parameters=(bar, line, *rest),
        complete=complete,
        refusals=refusals,
    )


def full_height(designs: Designs) -> Designs:
    """Put the grind line at the spine, and the edge on."""
    return with_micro_bevel(designs.changed(grind_line_mm=designs["height_mm"]))


def both_sides(designs: Designs) -> Designs:
    """Grind both sides."""
    return designs.changed(side=BOTH)


def line_from_share(designs: Designs) -> Designs:
    """Put the grind line at its share of the height."""
    return designs.changed(grind_line_mm=designs["grind_line_share"] * designs["height_mm"])


def shape_refusals(designs: Designs) -> list[Refusal]:
    """What geometry forbids for every grind with an edge bevel and a primary grind."""
    turn = np.radians(designs["edge_angle_per_side_deg"]) - designs.chord_angle_rad
    steep = turn < np.radians(LEAST_TURN_DEG) - 1e-12
    return [
        Refusal(designs["edge_thickness_mm"] <= 0, "it needs an edge bevel: only a facet is ground to zero"),
        Refusal(designs["edge_thickness_mm"] >= designs["stock_thickness_mm"], "the edge is thicker than the bar"),
        Refusal(designs.primary_height_mm <= 0.5, "the edge bevel reaches the grind line"),
        Refusal(designs["grind_line_mm"] > designs["height_mm"] + 1e-9, "the grind line lies above the spine"),
        Refusal(steep, "the primary grind would be as steep as the edge bevel"),
        *micro_refusals(designs),
    ]


def flat_refusals(designs: Designs, workshop: Workshop) -> list[Refusal]:
    """A flat needs a platen, or a wheel so large that its face passes for one."""
    if workshop.platen:
        return []
    largest = max(workshop.wheels_mm, default=0.0)
    sag = designs.primary_height_mm**2 / (8 * largest / 2) if largest else np.full(len(designs), np.inf)
    reason = "a flat grind needs a platen" + (
        f" (on the {largest:g} mm wheel's face it would come out hollow)" if largest else ""
    )
    return [Refusal(np.asarray(sag > WHEEL_FACE_SAG_MM), reason)]


def slack_belt_refusals(designs: Designs, workshop: Workshop) -> list[Refusal]:
    """A convex needs a slack belt."""
    if workshop.slack_belt:
        return []
    return [Refusal(np.ones(len(designs), dtype=bool), "a convex grind needs a slack belt")]


def bevelled_face(designs: Designs, primary_bulge: np.ndarray) -> Outline:
    """Right face from apex over shoulder and grind line to spine, the primary grind with the given bulge."""
    half_stock = designs["stock_thickness_mm"] / designs.sides_ground
    whole = face(
        (0.0, 0.0, 0.0),
        (designs.edge_half_thickness_mm, designs.edge_bevel_height_mm, primary_bulge),
        (half_stock, designs["grind_line_mm"], 0.0),
        (half_stock, designs["height_mm"], 0.0),
    )
    return on_face(designs, whole)
