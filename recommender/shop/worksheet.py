"""The set-up sheet of a proposal: settings, scribe lines, caliper readings, belts, from its geometry and the shop."""

from __future__ import annotations

import math

import numpy as np

from recommender.engine import trial
from recommender.engine.case import Case
from recommender.engine.explain import designs_of
from recommender.geometry.blade import Blade
from recommender.geometry.ground_face import FLAT_SAGITTA_MM, edge_flat_mm
from recommender.geometry.outline import Outline, Sides
from recommender.geometry.profile import thickness
from recommender.mechanics.grit import FEPA_P_GRAIN_UM, left_for_next_um
from recommender.mechanics.heat import SKIN_MM, WARP_MM_PER_MM, ground_after_hardening
from recommender.models.proposal import Answer, Proposal, ShopFigures
from recommender.models.shop import Shop
from recommender.models.worksheet import (
    CaliperHeight,
    EdgeSetUp,
    Hardening,
    Pass,
    Place,
    Removed,
    Scribe,
    SetUp,
    SwedgeSetUp,
    Tool,
    WheelChange,
    Worksheet,
    Zone,
)
from recommender.shop.bars import bar_for
from recommender.shop.removal import Removal, ground_faces, removal
from recommender.units import STEEL_DENSITY_G_PER_MM3

HEIGHTS_MM = (1.0, 2.0, 3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 80.0, 100.0)
"""Where calipers are set, above the edge."""
PLACES = (0.0, 0.25, 0.5, 0.75, 0.9)
"""Along the blade, shares of its length; the first where the plunge has run out."""
SAME_WHEEL_MM = 0.5


def worksheet(case: Case, answer: Answer, shop: Shop, title: str) -> Worksheet:
    """The set-up sheet of an answer's proposal in a shop. Raises GeometryError for a blade that cannot be followed."""
    p, figures, whole = answer.proposal, answer.shop, answer.blade
    assert p is not None
    assert figures is not None
    assert whole is not None
    blade = trial.followed_blade(case.registry.grinds[p.grind].item, p)
    resolved = case.resolved
    bar = bar_for(p, blade, shop.material)
    off = removal(blade, bar.width_mm, bar.thickness_mm)
    hardening = _hardening(p, figures, blade)
    return Worksheet(
        title=title,
        steel=resolved.steel.label,
        hardness_hrc=float(resolved.steel_state.hardness_hrc),
        temper_c=resolved.steel.temper_c,
        proposal=p,
        bar=bar,
        removed=_removed(off),
        set_ups=_set_ups(p, blade, case, shop),
        wheel=_wheel(case, answer, p, shop),
        scribe=_scribe(p, hardening, blade),
        plunge_radius_mm=figures.plunge_radius_mm,
        heights=_heights(blade, hardening),
        places=_places(blade),
        taper_in_grind=off.taper_in_grind,
        hardening=hardening,
        passes=_passes(p, hardening, blade, shop),
        edge=_edge(p, figures, shop),
        swedge=_swedge(p, shop),
        balance_mm=whole.balance_mm,
        mass_g=whole.mass_g,
        tolerances=answer.tolerances,
        cautions=tuple(answer.cautions),
        advice=tuple(answer.advice),
        shop_values=shop.values,
    )


def _removed(off: Removal) -> Removed:
    return Removed(
        profile_mm3=round(off.profile_mm3, 1),
        clean_up_mm3=round(off.clean_up_mm3, 1),
        taper_mm3=round(off.taper_mm3, 1),
        primary_mm3=round(off.primary_mm3, 1),
        swedge_mm3=round(off.swedge_mm3, 1),
        edge_mm3=round(off.edge_mm3, 2),
        ground_g=round(off.ground_mm3 * STEEL_DENSITY_G_PER_MM3, 1),
    )


def _set_ups(p: Proposal, blade: Blade, case: Case, shop: Shop) -> tuple[SetUp, ...]:
    if blade.tip_outlines is None:
        return (_set_up("whole blade", blade.outlines, p, case, shop),)
    return (
        _set_up("edge zone", blade.outlines, p, case, shop),
        _set_up("tip zone", blade.tip_outlines, p, case, shop),
    )


def _set_up(zone: Zone, section: Outline, p: Proposal, case: Case, shop: Shop) -> SetUp:
    face = ground_faces(section)[0]
    sagitta, angle = float(face.sagitta_mm[0]), float(face.angle_rad[0])
    tool, wheel = _tool(sagitta, p, case)
    jig = shop.equipment.jig_length_mm
    return SetUp(
        zone=zone,
        tool=tool,
        wheel_diameter_mm=wheel,
        face_angle_deg=round(math.degrees(angle), 3),
        jig_length_mm=jig,
        jig_height_mm=round(jig * math.sin(angle), 2),
        depth_per_side_mm=round(float(face.depth_mm[0]), 3),
        primary_height_mm=round(float(face.height_mm[0]), 3),
        sagitta_mm=round(sagitta, 4),
        edge_flat_mm=round(float(edge_flat_mm(section)[0]), 3),
    )


def _tool(sagitta_mm: float, p: Proposal, case: Case) -> tuple[Tool, float | None]:
    """What leaves such a face here; flats go to the largest wheel's face where there is no platen."""
    if sagitta_mm > FLAT_SAGITTA_MM:
        return "slack belt", None
    if sagitta_mm < -FLAT_SAGITTA_MM:
        return "wheel", p.wheel_diameter_mm
    here = case.resolved.workshop
    return ("platen", None) if here.platen or not here.wheels_mm else ("wheel", max(here.wheels_mm))


def _wheel(case: Case, answer: Answer, p: Proposal, shop: Shop) -> WheelChange | None:
    wanted = p.wheel_diameter_mm
    if wanted is None:
        return None
    wheels = shop.equipment.wheels_mm
    nearest = min(wheels, key=lambda d: abs(math.log(d / wanted)), default=None)
    middle = _middle_thickness(case, p)
    if nearest is None or abs(nearest - wanted) <= SAME_WHEEL_MM:
        return WheelChange(
            diameter_mm=wanted,
            in_shop=nearest is not None,
            nearest_mm=nearest,
            refused=(),
            broken=(),
            points_lost=None,
            middle_thickness_mm=middle,
            nearest_middle_thickness_mm=None,
            nearest_grind_line_mm=None,
        )
    other = trial.changed(case, p, {"wheel_diameter_mm": nearest})
    weighed = trial.weigh(case, other)
    lost = None if weighed.points is None or answer.points is None else answer.points.total - weighed.points.total
    return WheelChange(
        diameter_mm=wanted,
        in_shop=False,
        nearest_mm=nearest,
        refused=weighed.refused,
        broken=tuple(limit.title for limit in weighed.broken),
        points_lost=None if lost is None else round(lost, 2),
        middle_thickness_mm=middle,
        nearest_middle_thickness_mm=None if weighed.refused else _middle_thickness(case, other),
        nearest_grind_line_mm=other.grind_line_mm,
    )


def _middle_thickness(case: Case, p: Proposal) -> float:
    """Thickness half-way between shoulder and grind line, mm."""
    section = np.asarray(case.registry.grinds[p.grind].item.outlines(designs_of(p)))
    face = ground_faces(section)[0]
    half_way = float(face.shoulder_y_mm[0] + face.line_y_mm[0]) / 2
    return round(float(np.asarray(thickness(section, half_way)).ravel()[0]), 3)


def _sides(p: Proposal) -> int:
    return 2 if p.side == "both" else 1


def _scribe(p: Proposal, hardening: Hardening, blade: Blade) -> Scribe:
    """On the blank as it is by then: its faces are down to the stock."""
    flat = float(edge_flat_mm(blade.outlines)[0]) if hardening.ground_hard else hardening.edge_flat_before_mm
    return Scribe(from_face_mm=round((p.stock_thickness_mm - flat) / _sides(p), 3), apart_mm=round(flat, 3))


def _heights(blade: Blade, hardening: Hardening) -> tuple[CaliperHeight, ...]:
    """Thicknesses in the middle of the blade; before hardening the same and what is left for later, up to the bar."""
    cut = blade.at([0.5 * float(blade.length_mm[0, 0])])
    top, stock, line = (float(v[0, 0]) for v in (cut.height_mm, cut.stock_mm, cut.line_mm))
    section = cut.sections
    left_on = hardening.after_per_side_mm * len(ground_faces(section))
    out = []
    for y in (y for y in HEIGHTS_MM if y < min(line, top) - 0.25):
        finished = float(np.asarray(thickness(section, y)).ravel()[0])
        before = None if hardening.ground_hard else round(min(finished + left_on, stock), 2)
        out.append(CaliperHeight(height_mm=y, finished_mm=round(finished, 3), before_hardening_mm=before))
    return tuple(out)


def _places(blade: Blade) -> tuple[Place, ...]:
    length, plunge = float(blade.length_mm[0, 0]), float(blade.plunge_radius_mm[0, 0])
    x = np.maximum(np.array(PLACES) * length, plunge)
    cut = blade.at(x)
    sections = cut.sections
    sides, rows = Sides.of(sections), np.arange(len(sections))
    spine = sides.x0[rows, sides.spine_side] - sides.x1[rows, sides.spine_side]
    return tuple(
        Place(
            from_plunge_mm=round(float(at), 1),
            height_mm=round(float(height), 2),
            stock_mm=round(float(stock), 3),
            line_mm=round(float(line), 2),
            line_below_spine_mm=round(float(height - line), 2),
            spine_mm=round(float(back), 3),
        )
        for at, height, stock, line, back in zip(
            x, cut.height_mm[0], cut.stock_mm[0], cut.line_mm[0], spine, strict=True
        )
    )


def _hardening(p: Proposal, figures: ShopFigures, blade: Blade) -> Hardening:
    finished = p.edge_thickness_mm
    before = figures.edge_thickness_before_hardening_mm
    flat = float(edge_flat_mm(blade.outlines)[0])
    hard = ground_after_hardening(p.stock_thickness_mm)
    return Hardening(
        ground_hard=hard,
        edge_before_mm=p.stock_thickness_mm if hard else before,
        edge_flat_before_mm=p.stock_thickness_mm if hard else round(flat + before - finished, 3),
        skin_per_side_mm=SKIN_MM,
        warp_mm=round(WARP_MM_PER_MM * p.blade_length_mm, 3),
        after_per_side_mm=0.0 if hard else round((before - finished) / _sides(p), 4),
        deepest_cool_pass_um=figures.deepest_cool_pass_um,
    )


def _passes(p: Proposal, hardening: Hardening, blade: Blade, shop: Shop) -> tuple[Pass, ...]:
    """Coarse to fine: before hardening with the first two belts, afterwards with all of them; the last to size."""
    grades = [grit.grade for grit in shop.grits]
    flat = float(edge_flat_mm(blade.outlines)[0])
    scratches = {grade: left_for_next_um(grade) / 1000 for grade in grades}

    def row(grade: str, hardened: bool, leaves: float) -> Pass:
        return Pass(
            grade=grade,
            grain_um=FEPA_P_GRAIN_UM[grade],
            hardened=hardened,
            leaves_per_side_mm=round(leaves, 3),
            edge_flat_mm=round(flat + leaves * _sides(p), 3),
        )

    after = hardening.after_per_side_mm
    soft = [] if hardening.ground_hard else grades[:2]
    out = [row(grade, False, after + (scratches[grade] if grade != soft[-1] else 0.0)) for grade in soft]
    limit = math.inf if hardening.ground_hard else after
    return (*out, *(row(g, True, min(scratches[g], limit) if g != grades[-1] else 0.0) for g in grades))


def _edge(p: Proposal, figures: ShopFigures, shop: Shop) -> EdgeSetUp:
    arm, micro = shop.equipment.edge_fixture_arm_mm, p.micro_bevel_per_side_deg

    def height(angle_deg: float) -> float:
        return round(arm * math.sin(math.radians(angle_deg)), 2)

    return EdgeSetUp(
        angle_per_side_deg=p.edge_angle_per_side_deg,
        angle_included_deg=p.edge_angle_included_deg,
        sides=_sides(p),
        arm_mm=arm,
        fixture_height_mm=height(p.edge_angle_per_side_deg),
        bevel_width_mm=figures.bevel_widths[1].new_mm,
        micro_bevel_per_side_deg=micro,
        micro_fixture_height_mm=None if micro is None else height(micro),
    )


def _swedge(p: Proposal, shop: Shop) -> SwedgeSetUp | None:
    if p.swedge is None:
        return None
    s, jig = p.swedge, shop.equipment.jig_length_mm
    return SwedgeSetUp(
        length_mm=s.length_mm,
        angle_per_side_deg=s.angle_per_side_deg,
        angle_included_deg=s.included_deg(p.side),
        spine_mm=s.spine_mm,
        jig_height_mm=round(jig * math.sin(math.radians(s.angle_per_side_deg)), 2),
    )
