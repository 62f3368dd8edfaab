"""The work in a blade: what is ground with which belt, for how long, and what else its making takes."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Literal

from recommender.geometry.blade import Blade
from recommender.geometry.ground_face import FLAT_SAGITTA_MM
from recommender.geometry.outline import Outline
from recommender.mechanics.blade_bending import weight
from recommender.mechanics.heat import edge_before_hardening_mm, ground_after_hardening, left_per_ground_side_mm
from recommender.models.answer.proposal import Proposal
from recommender.models.workshop.shop import PIECES, Finish, Grit, Part, Shop, Way
from recommender.models.workshop.worksheet import Bar
from recommender.shop.price.bars import bar_for
from recommender.shop.price.removal import Removal, Tang, ground_faces, removal, tang_of
from recommender.units import STEEL_DENSITY_G_PER_MM3

MICRO_BEVEL_SHARE = 0.2
"""Time for a micro-bevel over that for the edge bevel: a few strokes at another setting; estimate, 0.1-0.3."""
WALKED_TIMES = 1.5
"""Time for a hollow that is walked up over that for one ground in one pass; estimate, 1.2-2."""
_NOTHING_MM3 = 0.5
"""Less than this is no work of its own."""


@dataclass(frozen=True)
class Operation:
    """One piece of work on every blade of an order, with what is set up once for all of them."""

    id: str
    label: str
    set_up_minutes: float
    minutes: float
    """A blade."""
    rate_from: str
    """Where the rate stands in shop.toml."""
    how: str
    grit: Grit | None = None
    """The belt that it wears."""
    amount: float = 0.0
    """What is worked off at that rate, in `unit`; what past times are fitted against."""
    unit: str = ""


@dataclass(frozen=True)
class CutOut:
    """A blade and its tang out of a bar."""

    bar: Bar
    tang: Tang
    removal: Removal


def cut_out(p: Proposal, blade: Blade, shop: Shop) -> CutOut:
    """What a shop cuts a blade out of, and what comes off. Raises GeometryError for one that cannot be followed."""
    bar = bar_for(p, blade, shop.material, shop.heat_treatment.skin_per_side_mm)
    tang = tang_of(blade, shop.material)
    return CutOut(bar, tang, removal(blade, bar.width_mm, bar.thickness_mm, tang))


@dataclass(frozen=True)
class Work:
    """Everything a blade takes."""

    bar: Bar
    removal: Removal
    tasks: tuple[Operation, ...]
    steel_g: float = 0.0
    """Of the finished piece, its tang with it."""


def work(p: Proposal, blade: Blade, shop: Shop, finish: Finish) -> Work:
    """The work in one blade. Raises GeometryError for a blade that cannot be followed to its tip.

    minutes = volume / rate for bulk, face / rate for every finer belt over both whole faces; what is left for after
    hardening, skin and all, comes off at the hardened share of the rate, and thin stock is ground hard altogether.
    """
    cut = cut_out(p, blade, shop)
    bar, tang, off = cut.bar, cut.tang, cut.removal
    tasks = [_profile(off, shop), *_faces(p, off, bar, shop), *_primary(p, blade, off, shop)]
    tasks += [*_back(p, off, shop), *_swedge(off, shop)]
    # The second belt goes over the grind before hardening too, as on the set-up sheet.
    soft_mm2 = 0.0 if ground_after_hardening(p.stock_thickness_mm) else off.ground_mm2
    tasks += [_fine(off, grit, k, soft_mm2 if k == 1 else 0.0) for k, grit in enumerate(shop.grits) if k]
    if finish.mm2_per_min is not None:
        tasks.append(
            Operation(
                "finish",
                "finishing by hand",
                0.0,
                off.faces_mm2 / finish.mm2_per_min,
                f"finishes.{finish.id}.mm2_per_min",
                f"{off.faces_mm2:.0f} mm² of faces",
                amount=off.faces_mm2,
                unit="mm²",
            )
        )
    tasks.append(
        Operation(
            "hardening",
            "handling in hardening",
            0.0,
            shop.heat_treatment.handling_minutes,
            "heat_treatment.handling_minutes",
            "wrapping, quenching, straightening",
            amount=1.0,
            unit=PIECES,
        )
    )
    tasks.append(_edge(off, shop, p.sides_ground))
    if p.micro_bevel_per_side_deg is not None:
        tasks.append(_micro_bevel(off, shop, p.sides_ground))
    tang_g = tang.area_mm2 * p.stock_thickness_mm * STEEL_DENSITY_G_PER_MM3
    return Work(bar, off, tuple(tasks), float(weight(blade, STEEL_DENSITY_G_PER_MM3).mass_g[0]) + tang_g)


def fitting(kind: Literal["handle", "sheath"], part: Part) -> Operation:
    """The work in a handle or sheath."""
    return Operation(
        kind,
        part.label,
        0.0,
        part.minutes,
        f"{kind}s.{part.id}.minutes",
        f"{part.minutes:g} min each",
        amount=1.0,
        unit=PIECES,
    )


def _profile(off: Removal, shop: Shop) -> Operation:
    way = shop.grinding
    return Operation(
        "profile",
        "sawing and filing the outline",
        way.profile_set_up_minutes,
        off.outline_mm / way.profile_mm_per_min,
        "grinding.profile_mm_per_min",
        f"{off.outline_mm:.0f} mm round",
        amount=off.outline_mm,
        unit="mm",
    )


def _bulk(id_: str, label: str, way: Way, key: str, shop: Shop, soft_mm3: float, hard_mm3: float = 0.0) -> Operation:
    minutes = (soft_mm3 + hard_mm3 / shop.grinding.hardened_share) / way.mm3_per_min
    hard = f", {hard_mm3:.0f} mm³ of them hardened" if hard_mm3 > 0 else ""
    return Operation(
        id_,
        label,
        way.set_up_minutes,
        minutes,
        f"grinding.{key}",
        f"{soft_mm3 + hard_mm3:.0f} mm³{hard}",
        grit=shop.grits[0],
        amount=soft_mm3 + hard_mm3 / shop.grinding.hardened_share,
        unit="mm³",
    )


def _faces(p: Proposal, off: Removal, bar: Bar, shop: Shop) -> list[Operation]:
    """Down from the bar to the blank, the taper, and the skin of what is not ground anyway; the tang with the blade."""
    platen = shop.grinding.platen
    faces = off.faces_mm2 + off.tang_faces_mm2
    hard = faces if ground_after_hardening(p.stock_thickness_mm) else faces - off.ground_mm2
    skin = shop.heat_treatment.skin_per_side_mm * max(hard, 0.0)
    soft = faces / 2 * (bar.thickness_mm - bar.blank_thickness_mm)
    out = [
        _bulk("faces", "bar down to the blank", platen, "platen", shop, soft),
        _bulk("taper", "distal taper", platen, "platen", shop, off.taper_mm3),
        _bulk("skin", "skin off the flats", platen, "platen", shop, 0.0, skin),
    ]
    return [task for task in out if task.amount > _NOTHING_MM3]


def _primary(p: Proposal, blade: Blade, off: Removal, shop: Shop) -> list[Operation]:
    """The primary grind, zone by zone, soft and hard; the skin of its faces is ground with it."""
    skin = shop.heat_treatment.skin_per_side_mm
    if ground_after_hardening(p.stock_thickness_mm):
        hard, whole = off.primary_mm3, off.primary_mm3
    else:
        before = float(edge_before_hardening_mm(p.edge_thickness_mm, p.blade_length_mm, skin))
        per_side = left_per_ground_side_mm(before - p.edge_thickness_mm, skin, p.sides_ground)
        whole = off.primary_mm3 + skin * off.ground_mm2
        hard = min(per_side * off.ground_mm2, whole)
    zones = [("primary", "primary grind", blade.outlines, 1.0)]
    if blade.tip_outlines is not None:
        zones = [
            ("primary", "primary grind, edge zone", blade.outlines, 1 - off.tip_zone_share),
            ("primary-tip", "primary grind, tip zone", blade.tip_outlines, off.tip_zone_share),
        ]
    out = []
    for id_, label, section, share in zones:
        key = surface(section)
        way: Way = getattr(shop.grinding, key)
        by_passes = p.walked_up and key == "wheel"
        slower = WALKED_TIMES if by_passes else 1.0
        grind = _bulk(id_, label, way, key, shop, (whole - hard) * share, hard * share)
        walked = ", walked up" if by_passes else ""
        out.append(
            dataclasses.replace(
                grind, minutes=slower * grind.minutes, amount=slower * grind.amount, how=grind.how + walked
            )
        )
    return out


def surface(section: Outline) -> str:
    """What leaves such a ground face (1, v, 3): a key of [grinding]."""
    sagitta = float(ground_faces(section)[0].sagitta_mm[0])
    if abs(sagitta) <= FLAT_SAGITTA_MM:
        return "platen"
    return "slack_belt" if sagitta > 0 else "wheel"


def _back(p: Proposal, off: Removal, shop: Shop) -> list[Operation]:
    if off.back_mm3 <= _NOTHING_MM3:
        return []
    hard = off.back_mm3 if ground_after_hardening(p.stock_thickness_mm) else 0.0
    return [_bulk("back", "hollow of the back", shop.grinding.wheel, "wheel", shop, off.back_mm3 - hard, hard)]


def _swedge(off: Removal, shop: Shop) -> list[Operation]:
    if off.swedge_mm3 <= _NOTHING_MM3:
        return []
    return [_bulk("swedge", "swedge", shop.grinding.platen, "platen", shop, off.swedge_mm3)]


def _fine(off: Removal, grit: Grit, place: int, before_mm2: float) -> Operation:
    rate = grit.mm2_per_min
    assert rate is not None  # said when the file was read
    face = off.faces_mm2 + before_mm2
    before = f", and {before_mm2:.0f} mm² before hardening" if before_mm2 else ""
    return Operation(
        f"belt-{grit.grade.lower()}",
        f"{grit.grade} over the faces",
        0.0,
        face / rate,
        f"grits.{place}.mm2_per_min",
        f"{off.faces_mm2:.0f} mm² of faces{before}",
        grit=grit,
        amount=face,
        unit="mm²",
    )


def _edge(off: Removal, shop: Shop, sides: int) -> Operation:
    return _along_edge("edge", off, shop, off.edge_mm * sides, ", both sides" if sides > 1 else "")


def _micro_bevel(off: Removal, shop: Shop, sides: int) -> Operation:
    bevels = off.edge_mm * sides * MICRO_BEVEL_SHARE
    return _along_edge("micro-bevel", off, shop, bevels, ", a few strokes" + (" a side" if sides > 1 else ""))


def _along_edge(name: str, off: Removal, shop: Shop, bevels_mm: float, how: str) -> Operation:
    """A bevel put on along the edge, by the rate of edges; `bevels_mm` is what counts of its length."""
    return Operation(
        name,
        name,
        shop.edge.set_up_minutes,
        bevels_mm / shop.edge.mm_per_min,
        "edge.mm_per_min",
        f"{off.edge_mm:.0f} mm of edge{how}",
        amount=bevels_mm,
        unit="mm",
    )
