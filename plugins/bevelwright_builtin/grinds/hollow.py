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
from recommender.plugin.api import WALKED_UP, Designs, Grind, Parameter, Refusal, Workshop
from recommender.units import Unit

WHEEL = Parameter("wheel_diameter_mm", "contact wheel", Unit.MM)
"""Chosen from the wheels of the workshop."""
GROUND = Parameter("hollow_ground", "hollow", Unit.NONE, choices=("one-pass", WALKED_UP))
MOST_WALKED = 2.0
"""Diameter of a hollow over that of the wheel that it can be walked up on; beyond that it is ground like a flat, with
ridges; estimate, 1.5-3."""


def hollow_bulge(designs: Designs) -> Array:
    """Bulge of the primary grind, an arc of the wheel's radius bent inwards."""
    chord = np.hypot(designs.depth_per_side_mm, designs.primary_height_mm)
    return np.asarray(-bulge_from_radius(chord, designs.hollow_diameter_mm / 2))


def outlines(designs: Designs) -> Outline:
    """Arcs of the wheel's radius from shoulder to grind line."""
    return symmetric(bevelled_face(designs, hollow_bulge(designs)))


def wheel_refusals(designs: Designs, workshop: Workshop) -> list[Refusal]:
    """A hollow is ground in one pass when the wheel cuts at least as large an arc as one without a waist.

    The arc's angle against the blade must not pass the edge bevel's at the shoulder either. One that is walked up may
    be MOST_WALKED as large as what the wheel cuts, and is only asked for where one pass is not enough.
    """
    if not workshop.wheels_mm:
        return [Refusal(np.ones(len(designs), dtype=bool), "a hollow grind needs a contact wheel")]
    needed = least_wheel_mm(designs.primary_height_mm, designs.depth_per_side_mm)
    largest = max(workshop.wheels_mm)
    cut, most = designs.cut_wheel_mm, designs.changed(wheel_diameter_mm=largest).cut_wheel_mm
    walked = designs["hollow_ground"] == WALKED_UP if "hollow_ground" in designs else np.zeros(len(designs), dtype=bool)
    beyond = ~walked & (needed > most + 1e-9)
    small = ~walked & ~beyond & ~(needed <= cut + 1e-9)
    least = float(needed[beyond].min(initial=np.inf))
    larger = f", which takes at least {needed[small].min():.0f} mm" if small.any() else ""
    too_far = walked & ~(needed <= MOST_WALKED * cut + 1e-9)
    farthest = f" that takes a wheel of {needed[too_far].min():.0f} mm" if too_far.any() else ""
    return [
        Refusal(
            beyond,
            f"the largest wheel here is {largest:g} mm; a hollow this high on this bar takes at least {least:.0f} mm",
            only_waist=True,
        ),
        Refusal(small, f"the wheel is too small for its hollow{larger}", only_waist=True),
        Refusal(walked & (needed <= cut + 1e-9), "one pass of this wheel is enough: nothing to walk up"),
        Refusal(
            too_far,
            f"a hollow{farthest} cannot be walked up on one less than half as large",
        ),
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
    parameters=(stock(), edge_thickness(), edge_angle(8, 30), WHEEL, GROUND, ON_EDGE_BEVELS),
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
