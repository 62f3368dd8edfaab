"""The set-up sheet of a proposal: settings, scribe lines, caliper readings, belts, from its geometry and the shop."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from recommender.engine.answer import tried_blade
from recommender.engine.answer.explain import designs_of
from recommender.engine.intake.case import Case
from recommender.geometry.blade import Blade
from recommender.geometry.ground_face import FLAT_SAGITTA_MM, edge_flat_mm, is_one_bevel
from recommender.geometry.hollowed_back import back_hollow
from recommender.geometry.outline import Outline, Sides
from recommender.geometry.profile import height_at_thickness, thickness
from recommender.mechanics.grit import FEPA_P_GRAIN_UM, left_for_next_um
from recommender.mechanics.heat import (
    WARP_MM_PER_MM,
    edge_before_hardening_mm,
    ground_after_hardening,
    left_per_ground_side_mm,
)
from recommender.models.answer.proposal import Answer, Proposal, ShopFigures
from recommender.models.workshop.quote import Order
from recommender.models.workshop.shop import Shop
from recommender.models.workshop.worksheet import (
    BackSetUp,
    Bar,
    Caliper,
    EdgeSetUp,
    Fitting,
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
from recommender.shop.price.pricing import SAME_WHEEL_MM, ordered
from recommender.shop.price.removal import Removal, ground_faces
from recommender.shop.price.work import cut_out
from recommender.units import STEEL_DENSITY_G_PER_MM3

HEIGHTS_MM = (1.0, 2.0, 3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 80.0, 100.0)
"""Where calipers are set, above the edge."""
PLACES = (0.0, 0.25, 0.5, 0.75, 0.9)
"""Along the blade, shares of its length; the first where the plunge has run out."""
CALIPERS = (("heel", 0.1), ("middle", 0.5), ("near tip", 0.9))
"""Where calipers are set along the blade, shares of its length."""


def worksheet(case: Case, answer: Answer, shop: Shop, title: str, order: Order) -> Worksheet:
    """The set-up sheet of an answer's proposal in a shop, with what is ordered besides.

    Raises GeometryError for a blade that cannot be followed, InputError for what the shop does not have.
    """
    p, figures, whole = answer.proposal, answer.shop, answer.blade
    assert p is not None
    assert figures is not None
    assert whole is not None
    blade = tried_blade.followed_blade(case.registry.grinds[p.grind].item, p)
    resolved = case.resolved
    skin = shop.heat_treatment.skin_per_side_mm
    cut = cut_out(p, blade, shop)
    bar, tang, off = cut.bar, cut.tang, cut.removal
    agreed = figures if skin == resolved.bench.skin_per_side_mm else None
    hardening = _hardening(p, figures, blade, skin, agreed)
    soft = _Soft(hardening, p.stock_thickness_mm, off.taper_in_grind)
    return Worksheet(
        title=title,
        steel=resolved.steel.label,
        hardness_hrc=float(resolved.steel_state.hardness_hrc),
        temper_c=resolved.steel.temper_c,
        proposal=p,
        bar=bar,
        tang_length_mm=tang.length_mm,
        tang_width_mm=tang.width_mm,
        removed=_removed(off),
        set_ups=_set_ups(p, blade, case, shop),
        wheel=_wheel(case, answer, p, shop),
        walked_up=figures.walked_up,
        scribe=_scribe(p, hardening, blade, bar),
        plunge_radius_mm=figures.plunge_radius_mm,
        heights_mm=tuple(y for y in HEIGHTS_MM if y < p.blade_height_mm - 0.25),
        calipers=tuple(_caliper(label, share, p, blade, soft) for label, share in CALIPERS),
        places=_places(blade, soft),
        taper_in_grind=off.taper_in_grind,
        hardening=hardening,
        passes=_passes(p, hardening, blade, shop),
        edge=_edge(p, figures, shop),
        swedge=_swedge(p, shop),
        back=_back(blade, case),
        fittings=tuple(_fittings(order, shop)),
        balance_mm=whole.balance_mm,
        mass_g=whole.mass_g,
        tolerances=answer.tolerances,
        cautions=tuple(answer.cautions),
        advice=tuple(answer.advice),
        shop_values=shop.values,
    )


def _fittings(order: Order, shop: Shop) -> Iterator[Fitting]:
    """Finish, handle and sheath. Raises InputError for what the shop does not have."""
    finish, handle, sheath, _ = ordered(order, shop)
    if finish is not None:
        yield Fitting(kind="finish", label=finish.label, minutes=None)
    if handle is not None:
        yield Fitting(kind="handle", label=handle.label, minutes=handle.minutes)
    if sheath is not None:
        yield Fitting(kind="sheath", label=sheath.label, minutes=sheath.minutes)


def _removed(off: Removal) -> Removed:
    return Removed(
        profile_mm3=round(off.profile_mm3, 1),
        clean_up_mm3=round(off.clean_up_mm3, 1),
        taper_mm3=round(off.taper_mm3, 1),
        primary_mm3=round(off.primary_mm3, 1),
        swedge_mm3=round(off.swedge_mm3, 1),
        edge_mm3=round(off.edge_mm3, 2),
        back_mm3=round(off.back_mm3, 1),
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
    one_bevel = bool(is_one_bevel(section)[0])
    if one_bevel:
        face = face.from_edge()
    sagitta, angle = float(face.sagitta_mm[0]), float(face.angle_rad[0])
    tool, wheel = _tool(sagitta, p, case)
    jig = shop.equipment.jig_length_mm
    return SetUp(
        zone=zone,
        chord_from="edge" if one_bevel or not p.edge_thickness_mm else "shoulder",
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
    other = tried_blade.changed(case, p, {"wheel_diameter_mm": nearest})
    weighed = tried_blade.weigh(case, other)
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


@dataclass(frozen=True)
class _Soft:
    """The blade as it goes into the quench: every face with what is left on it, the grind lower on a thicker blank."""

    hardening: Hardening
    stock_mm: float
    taper_in_grind: bool

    def blank_mm(self, local_stock_mm: float) -> float:
        """Thickness of the unground blank there: a taper that comes with the grind is not in it."""
        stock = self.stock_mm if self.taper_in_grind else local_stock_mm
        return stock + 2 * self.hardening.skin_per_side_mm

    def thickness_mm(self, finished_mm: float, local_stock_mm: float) -> float:
        """Where so much is left when finished."""
        return min(finished_mm + self.hardening.after_mm, self.blank_mm(local_stock_mm))

    def line_mm(self, section: Outline, height_mm: float, local_stock_mm: float) -> float:
        """Height of the grind line: where the finished section and what is left on it are as thick as the blank."""
        wanted = self.blank_mm(local_stock_mm) - self.hardening.after_mm
        at = float(np.asarray(height_at_thickness(section, np.array([wanted]))).ravel()[0])
        return height_mm if np.isnan(at) else min(at, height_mm)


def _scribe(p: Proposal, hardening: Hardening, blade: Blade, bar: Bar) -> Scribe:
    """On the blank as it is by then: before hardening with its skin, or hardened and cleaned."""
    if hardening.ground_hard:
        thick, flat = p.stock_thickness_mm, float(edge_flat_mm(blade.outlines)[0])
    else:
        thick, flat = bar.blank_thickness_mm, hardening.edge_flat_before_mm
    return Scribe(from_face_mm=round((thick - flat) / p.sides_ground, 3), apart_mm=round(flat, 3))


def _caliper(label: str, share: float, p: Proposal, blade: Blade, soft: _Soft) -> Caliper:
    x = share * float(blade.length_mm[0, 0])
    cut = blade.at([x])
    top, stock, line = (float(v[0, 0]) for v in (cut.height_mm, cut.stock_mm, cut.line_mm))
    heights = [y for y in HEIGHTS_MM if y < p.blade_height_mm - 0.25]
    finished = [
        round(float(np.asarray(thickness(cut.sections, y)).ravel()[0]), 3) if y < min(line, top) - 0.25 else None
        for y in heights
    ]
    hard = soft.hardening.ground_hard
    before = [None if hard or t is None else round(soft.thickness_mm(t, stock), 2) for t in finished]
    return Caliper(label=label, from_plunge_mm=round(x, 1), finished_mm=tuple(finished), before_mm=tuple(before))


def _places(blade: Blade, soft: _Soft) -> tuple[Place, ...]:
    length, plunge = float(blade.length_mm[0, 0]), float(blade.plunge_radius_mm[0, 0])
    return tuple(_place(blade, max(share * length, plunge), soft) for share in PLACES)


def _place(blade: Blade, x: float, soft: _Soft) -> Place:
    cut = blade.at([x])
    plain = dataclasses.replace(blade, swedge_length_mm=0.0).at([x]).sections
    height, stock, line = (float(v[0, 0]) for v in (cut.height_mm, cut.stock_mm, cut.line_mm))
    hard = soft.hardening.ground_hard
    return Place(
        from_plunge_mm=round(x, 1),
        height_mm=round(height, 2),
        stock_mm=round(stock, 3),
        line_mm=round(line, 2),
        line_below_spine_mm=round(height - line, 2),
        spine_mm=round(_spine(cut.sections), 3),
        line_before_mm=None if hard else round(soft.line_mm(plain, height, stock), 2),
        spine_before_mm=None if hard else round(soft.thickness_mm(_spine(plain), stock), 3),
    )


def _spine(section: Outline) -> float:
    """Width of a section's top, mm."""
    sides = Sides.of(section)
    corner = int(sides.spine_side[0])
    return float(sides.x0[0, corner] - sides.x1[0, corner])


def _hardening(
    p: Proposal, figures: ShopFigures, blade: Blade, skin_mm: float, agreed: ShopFigures | None
) -> Hardening:
    """`agreed`: the answer's figures where they were reckoned for the same shop; rounded once, for every paper."""
    finished = p.edge_thickness_mm
    flat = float(edge_flat_mm(blade.outlines)[0])
    hard = ground_after_hardening(p.stock_thickness_mm)
    if agreed is not None:
        before = agreed.edge_thickness_before_hardening_mm
    else:
        soft = float(edge_before_hardening_mm(finished, p.blade_length_mm, skin_mm))
        before = round(p.stock_thickness_mm if hard else soft, 2)
    left = 0.0 if hard else before - finished
    per_side = 0.0 if hard else left_per_ground_side_mm(left, skin_mm, p.sides_ground)
    return Hardening(
        ground_hard=hard,
        edge_before_mm=before,
        edge_flat_before_mm=p.stock_thickness_mm if hard else round(flat + left, 3),
        skin_per_side_mm=skin_mm,
        warp_mm=round(WARP_MM_PER_MM * p.blade_length_mm, 3),
        after_per_side_mm=round(per_side, 4),
        after_mm=round(left, 4),
        deepest_cool_pass_um=figures.deepest_cool_pass_um,
    )


def _passes(p: Proposal, hardening: Hardening, blade: Blade, shop: Shop) -> tuple[Pass, ...]:
    """Coarse to fine: before hardening with the first two belts, afterwards with all of them; the last to size."""
    grades = [grit.grade for grit in shop.grits]
    flat, sides, skin = float(edge_flat_mm(blade.outlines)[0]), p.sides_ground, hardening.skin_per_side_mm
    scratches = {grade: left_for_next_um(grade) / 1000 for grade in grades}

    def row(grade: str, hardened: bool, leaves: float) -> Pass:
        return Pass(
            grade=grade,
            grain_um=FEPA_P_GRAIN_UM[grade],
            hardened=hardened,
            leaves_per_side_mm=round(leaves, 3),
            edge_flat_mm=round(flat + leaves * sides + (0.0 if hardened else skin * (2 - sides)), 3),
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
        sides=p.sides_ground,
        arm_mm=arm,
        fixture_height_mm=height(p.edge_angle_per_side_deg),
        bevel_width_mm=_bevel_width_mm(p, figures),
        micro_bevel_per_side_deg=micro,
        micro_fixture_height_mm=None if micro is None else height(micro),
        micro_bevel_width_mm=None if micro is None else figures.bevel_widths[1].new_mm,
    )


def _bevel_width_mm(p: Proposal, figures: ShopFigures) -> float:
    """Width of the bevel that is ground first; the figures tell that at the apex, a micro-bevel where there is one."""
    if p.micro_bevel_per_side_deg is None:
        return figures.bevel_widths[1].new_mm
    thick, angle = p.edge_thickness_mm, math.radians(p.edge_angle_per_side_deg)
    if p.micro_bevel_thickness_mm in (None, thick):  # on a facet ground to zero, all but the micro-bevel
        thick = p.stock_thickness_mm
    return round((thick - (p.micro_bevel_thickness_mm or p.edge_thickness_mm)) / p.sides_ground / math.sin(angle), 3)


def _back(blade: Blade, case: Case) -> BackSetUp | None:
    hollow = back_hollow(blade.outlines[0])
    if hollow is None:
        return None
    wheels = [d for d in case.resolved.workshop.wheels_mm if d <= 2 * hollow.radius_mm + 1e-6]
    wheel = max(wheels, default=None)
    return BackSetUp(
        rim_mm=round(hollow.rim_mm, 2),
        depth_mm=round(hollow.depth_mm, 3),
        radius_mm=round(hollow.radius_mm, 1),
        wheel_diameter_mm=wheel,
        walked=wheel is None or wheel < 2 * hollow.radius_mm - SAME_WHEEL_MM,
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
