"""Hollow grinds: concave primary faces from a contact wheel, to the spine or to a saber line."""

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
    stock,
)
from recommender.geometry.arcs import Array, bulge_from_radius
from recommender.geometry.outline import Outline, symmetric
from recommender.geometry.wheel import least_wheel_mm
from recommender.plugin.api import Designs, Grind, Parameter, Refusal, Workshop
from recommender.units import Unit

WHEEL = Parameter("wheel_diameter_mm", "contact wheel", Unit.MM)
"""Chosen from the wheels of the workshop."""


def hollow_bulge(designs: Designs) -> Array:
    """Bulge of the primary grind, an arc of the wheel's radius bent inwards."""
    chord = np.hypot(designs.depth_per_side_mm, designs.primary_height_mm)
    return np.asarray(-bulge_from_radius(chord, designs.cut_wheel_mm / 2))


def outlines(designs: Designs) -> Outline:
    """Arcs of the wheel's radius from shoulder to grind line."""
    return symmetric(bevelled_face(designs, hollow_bulge(designs)))


def wheel_refusals(designs: Designs, workshop: Workshop) -> list[Refusal]:
    """A hollow is ground in one pass when the wheel cuts at least as large an arc as one without a waist.

    The arc's angle against the blade must not pass the edge bevel's at the shoulder either.
    """
    if not workshop.wheels_mm:
        return [Refusal(np.ones(len(designs), dtype=bool), "a hollow grind needs a contact wheel")]
    needed = least_wheel_mm(designs.primary_height_mm, designs.depth_per_side_mm)
    largest = max(workshop.wheels_mm)
    beyond = needed > designs.changed(wheel_diameter_mm=largest).cut_wheel_mm + 1e-9
    small = ~beyond & ~(needed <= designs.cut_wheel_mm + 1e-9)
    least = float(needed[beyond].min(initial=np.inf))
    larger = f", which takes at least {needed[small].min():.0f} mm" if small.any() else ""
    return [
        Refusal(
            beyond,
            f"the largest wheel here is {largest:g} mm; a hollow this high on this bar takes at least {least:.0f} mm",
            only_waist=True,
        ),
        Refusal(small, f"the wheel is too small for its hollow{larger}", only_waist=True),
    ]


def _refusals(designs: Designs, workshop: Workshop) -> list[Refusal]:
    return shape_refusals(designs) + wheel_refusals(designs, workshop)


FULL = Grind(
    id="full-hollow",
    label="full hollow",
    ground="hollow from back to edge",
    parent="hollow",
    about=(
        "Concave faces from the edge bevel right up to the spine: the thinnest section a bar can have behind "
        "the edge. It needs a narrow blade or a very large wheel."
    ),
    made="On a contact wheel in one sweep per side, the arc ending at the spine.",
    sharpened=(
        "On any stone or fixture while the hollow lasts; near its upper curve the edge thickens fast and wants a "
        "wheel again."
    ),
    surfaces=frozenset({"edge-bevel"}),
    parameters=(stock(), edge_thickness(), edge_angle(8, 30), WHEEL, ON_EDGE_BEVELS),
    complete=lambda designs: both_sides(full_height(designs)),
    outlines=outlines,
    refusals=_refusals,
)
SABER = saber_form(
    FULL,
    id="saber-hollow",
    label="saber hollow",
    ground="hollow up to a line",
    about=(
        "Concave faces that stop at a line below the spine. Thin and keen just behind the edge, full stock "
        "above; it grows thick quickly once sharpening reaches the upper curve."
    ),
    made="On a contact wheel up to a scribed line; the wheel sets how high the line can go.",
    line=line_share(0.2, 0.95),
)
GRINDS = [FULL, SABER]
