"""Facts of a blade's design."""

from __future__ import annotations

from typing import Any, get_args

import numpy as np

from recommender.geometry.ground_face import is_one_bevel
from recommender.models.answer.design_keys import Side
from recommender.models.brief import Profile
from recommender.packs.condition_boxes import Numbers
from recommender.packs.facts.fact import HARDLY, MORE_THAN_0, NO_LESS_THAN_0, Fact, Follows
from recommender.packs.facts.reading import Blades

WALKED_UP = "walked-up"
PARENTS = ("flat", "hollow", "convex")
_SIDES = get_args(Side)


def _back(blades: Blades) -> Any:
    designs = blades.designs
    flat = np.where(designs.sides_ground == 1, "flat", "none")
    return np.where(designs["back"] == "hollowed", "hollowed", flat) if "back" in designs else flat


def _hollow_ground(blades: Blades) -> Any:
    designs = blades.designs
    hollow = np.where(np.isnan(designs["wheel_diameter_mm"]), "none", "one-pass")
    return np.where(designs["hollow_ground"] == WALKED_UP, WALKED_UP, hollow) if "hollow_ground" in designs else hollow


DESIGN = (
    Fact(
        "design.grind", "grind", "category", table="grinds", from_blades=lambda blades: blades.of_grind(lambda g: g.id)
    ),
    Fact(
        "design.parent",
        "parent grind",
        "category",
        PARENTS,
        from_blades=lambda blades: blades.of_grind(lambda g: g.parent),
        follows=Follows("design.grind", lambda packs, grinds: {id_: g.parent for id_, g in grinds.items()}),
    ),
    Fact("design.side", "ground side", "category", _SIDES),
    Fact(
        "design.sides_ground",
        "ground faces, 1 or 2",
        "number",
        from_blades=lambda blades: blades.designs.sides_ground,
        range=Numbers(only=(1.0, 2.0)),
        follows=Follows("design.side", lambda packs, grinds: {s: 2.0 if s == "both" else 1.0 for s in _SIDES}),
    ),
    Fact(
        "design.back",
        "unground face of a one-sided blade",
        "category",
        ("none", "flat", "hollowed"),
        from_blades=_back,
    ),
    Fact(
        "design.hollow_ground",
        "how a hollow is ground",
        "category",
        ("none", "one-pass", WALKED_UP),
        from_blades=_hollow_ground,
    ),
    Fact("design.stock_thickness_mm", "stock thickness, mm", "number", range=MORE_THAN_0),
    Fact("design.height_mm", "blade height, mm", "number", range=MORE_THAN_0),
    Fact("design.grind_line_mm", "grind line above the edge, mm", "number", range=NO_LESS_THAN_0),
    Fact(
        "design.grind_line_share",
        "grind line over blade height",
        "number",
        from_blades=lambda blades: blades.designs["grind_line_mm"] / blades.designs["height_mm"],
        range=Numbers(0.0, 1.0),
    ),
    Fact("design.edge_thickness_mm", "thickness behind the edge, mm", "number", range=NO_LESS_THAN_0),
    Fact(
        "design.one_bevel",
        "edge bevel and primary grind are one",
        "flag",
        from_blades=lambda blades: is_one_bevel(blades.sections.outlines),
    ),
    Fact("design.edge_angle_per_side_deg", "edge angle per side, deg", "number", range=Numbers(0.0, 90.0)),
    Fact(
        "design.edge_angle_included_deg",
        "edge angle included, deg",
        "number",
        from_blades=lambda blades: blades.designs.edge_angle_included_deg,
        range=Numbers(0.0, 180.0),
    ),
    Fact(
        "design.apex_included_deg",
        "included angle at the apex, a micro-bevel counted, deg",
        "number",
        from_blades=lambda blades: np.degrees(blades.sections.apex_included_rad),
        range=Numbers(HARDLY, 180.0),
    ),
    Fact(
        "design.wheel_diameter_mm",
        "contact wheel, mm",
        "number",
        range=NO_LESS_THAN_0,
        may_be_unknown=True,
    ),
    Fact(
        "design.micro_bevel_per_side_deg",
        "micro-bevel per side, deg",
        "number",
        range=Numbers(0.0, 90.0),
        may_be_unknown=True,
    ),
    Fact(
        "design.zones",
        "sections to sharpen along the blade, 1 or 2",
        "number",
        from_blades=lambda blades: np.where(blades.sections.zoned, 2.0, 1.0),
        follows=Follows(
            "design.grind", lambda packs, grinds: {id_: 2.0 if g.tip_outlines else 1.0 for id_, g in grinds.items()}
        ),
    ),
    Fact("design.tip", "side view of the blade", "category", get_args(Profile), may_be_unknown=True, of_form=True),
    Fact(
        "design.swedge_length_mm",
        "length of the swedge from the tip, 0 without one, mm",
        "number",
        range=NO_LESS_THAN_0,
        may_be_unknown=True,
        of_form=True,
    ),
    Fact(
        "design.swedge_spine_mm",
        "spine that the swedge leaves (the stock without one), mm",
        "number",
        range=NO_LESS_THAN_0,
        may_be_unknown=True,
        of_form=True,
    ),
    Fact(
        "design.distal_taper_mm_per_mm",
        "distal taper, mm/mm",
        "number",
        range=NO_LESS_THAN_0,
        may_be_unknown=True,
        of_form=True,
    ),
    Fact(
        "design.stock_at_tip_mm",
        "thickness of the bar at the tip, mm",
        "number",
        range=NO_LESS_THAN_0,
        may_be_unknown=True,
        of_form=True,
    ),
)
"""A fact of the form is given a column by `engine/form.py`."""
