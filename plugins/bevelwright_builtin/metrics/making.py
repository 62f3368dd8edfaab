"""Figures of making the blade: mass, steel to grind off, wheel fit."""

from __future__ import annotations

import numpy as np

from recommender.geometry.arcs import Array
from recommender.geometry.ground_face import GroundFace
from recommender.geometry.section import area_mm2
from recommender.geometry.wheel import least_wheel_mm
from recommender.plugin.api import Context, Metric, Sections
from recommender.units import STEEL_DENSITY_G_PER_MM3, Unit


def _area(sections: Sections) -> Array:
    return sections.figure("area", lambda s: np.asarray(s.along_the_blade(area_mm2)))


def _removal(sections: Sections, context: Context) -> Array:
    designs = sections.designs
    bar = designs["stock_thickness_mm"] * designs["height_mm"]
    return np.asarray(bar - _area(sections))


def _crown(sections: Sections, context: Context) -> Array:
    def crown_mm(some: Sections) -> Array:
        faces = GroundFace.right(some.outlines), GroundFace.left(some.outlines)
        return np.maximum(faces[0].sagitta_mm, faces[1].sagitta_mm)

    return sections.figure("crown", crown_mm)


def _wheel_fit(sections: Sections, context: Context) -> Array:
    designs = sections.designs
    needed = least_wheel_mm(designs.primary_height_mm, designs.depth_per_side_mm)
    return np.asarray(needed / designs.cut_wheel_mm)


METRICS = [
    Metric(
        id="mass_per_length",
        label="mass per mm of blade",
        also=("weight", "heavy", "light"),
        unit=Unit.G_PER_MM,
        better="either",
        about="Section area times 7.8 g/cm3.",
        estimate=False,
        compute=lambda sections, context: np.asarray(_area(sections) * STEEL_DENSITY_G_PER_MM3),
    ),
    Metric(
        id="grind_removal",
        label="steel to grind off",
        also=("waste", "making", "time"),
        unit=Unit.MM3_PER_MM,
        better="lower",
        about="Bar section less blade section.",
        estimate=False,
        compute=_removal,
    ),
    Metric(
        id="ground_share",
        label="share of the bar ground off at the edge",
        also=("thin", "waste"),
        unit=Unit.NONE,
        better="either",
        about="(stock - thickness behind the edge) / stock: how much of a bevel the primary grind is.",
        estimate=False,
        compute=lambda sections, context: (
            1 - sections.designs["edge_thickness_mm"] / sections.designs["stock_thickness_mm"]
        ),
    ),
    Metric(
        id="crown",
        label="crown of the ground face",
        also=("convex", "hollow", "round", "bulge"),
        unit=Unit.MM,
        better="either",
        about="How far the face stands out of its chord, from shoulder to line: bulge x chord / 2; below 0 on hollows.",
        estimate=False,
        compute=_crown,
    ),
    Metric(
        id="wheel_fit",
        label="wheel needed over wheel used",
        also=("hollow",),
        unit=Unit.NONE,
        better="lower",
        about="Least wheel for a waist-free hollow over the wheel chosen; up to 1 one pass does it; else walked up.",
        estimate=False,
        compute=_wheel_fit,
        applies=lambda sections: ~np.isnan(sections.designs["wheel_diameter_mm"]),
    ),
]
