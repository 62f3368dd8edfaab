"""The context of an answer with every uncertain input redrawn: arrays, one value a draw, blade after blade."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any

import numpy as np

from recommender.engine.intake.resolve import Resolved
from recommender.engine.search.usual_blade import Coefficients
from recommender.engine.sensitivity.drawer import Drawer
from recommender.geometry.arcs import Array
from recommender.mechanics import cutting, hard_contact, sharpening
from recommender.mechanics import steel as steel_mechanics
from recommender.mechanics.wear import RECESSION_BAND_MM, RECESSION_IN_USE_MM
from recommender.models.base import Quantity
from recommender.models.knowledge.tables import Gear
from recommender.plugin.api import Context, SharpeningState, TaskLoad

HARDNESS_SPREAD_HRC = 1.0
"""Half-width of what a heat treatment hits and a tester reads; common practice, +-1 HRC."""
YIELD_BAND = (0.67, 0.96)
"""Yield over tensile strength of the hardened steels in tests/validation/test_steel_data_sheets.py."""
FINISHING_BAND = (0.5, 1.0, 2.0)
"""What the burr takes, over what the gear's table says: least, usual, most; estimate."""
BODY_NICK_BAND = (0.5, 2.0)
"""Nicks of use in the body of a blade, over what the packs say: least and most; estimate."""
ROUGH_USE = "rough use"
"""One hand loads a blade in all its work: loads, nicks, the energy of strokes and how they lean go together."""
_FIRM, _TOUGH = "firmness of", "toughness, parted or split, of"
"""Firmer material presses, crushes and bends harder; what is tough to part is tough to split."""
_MATERIAL = {
    "toughness_j_per_m2": ("toughness of", _TOUGH),
    "foundation_n_per_mm3": ("stiffness under the blade of", _FIRM),
    "plateau_mpa": ("crushing pressure of", _FIRM),
    "friction": ("friction of", ""),
    "youngs_modulus_mpa": ("Young's modulus of", _FIRM),
    "edge_recession_um": ("wear of the edge by", ""),
}
_SPLITTING = {
    "gc_j_per_m2": ("splitting energy of", _TOUGH),
    "along_over_shear": ("shear stiffness of", ""),
    "across_over_along": ("stiffness across the grain of", ""),
}
_TASK = {
    "side_load_n_per_mm": ("sideways load on the apex in", ROUGH_USE),
    "side_load_n": ("sideways load on the edge in", ROUGH_USE),
    "pry_moment_n_m": ("prying moment in", ROUGH_USE),
    "edge_nick_um": ("nicks in the edge from", ROUGH_USE),
    "slice_push_ratio": ("slicing stroke in", ""),
    "cut_depth_mm": ("depth of the cut in", ""),
}
_STRUCK = {
    "pressure_mpa": ("hardness of", ""),
    "friction": ("friction of", ""),
    "one_sided_share": ("lean of strokes on", ROUGH_USE),
    "energy_mj": ("energy of strokes on", ROUGH_USE),
    "contact_mm": ("length of edge on", ""),
    "hand_n_per_mm": ("stiffness of the hand on", ""),
    "share_of_strokes": ("share of strokes on", ""),
}


def drawn_context(contexts: list[Context], resolved: Resolved, drawer: Drawer) -> Context:
    """One context for all draws of all blades, blade by blade: arrays (blades x draws,) for what is uncertain."""
    # Each input is drawn where it is first asked for: the order here is the order of the draws.
    tasks = tuple(_drawn_task(load, drawer, len(contexts)) for load in contexts[0].tasks)
    steel, state = resolved.steel, contexts[0].steel
    likely, spread = resolved.hardness_hrc, HARDNESS_SPREAD_HRC
    hardness = drawer.between("hardness of the steel", likely - spread, likely, likely + spread)
    yields = steel_mechanics.yield_strength_mpa(hardness, _yield_share(drawer))
    usual = drawer.quantity("toughness of the steel", steel.toughness.k_ic_mpa_sqrt_m)
    k_ic = steel_mechanics.fracture_toughness(
        usual, steel.toughness.k_ic_slope_per_hrc, steel.hardness.usual_hrc, hardness
    )
    band = steel.carbides.relative_band
    carbide = drawer.between("carbides of the steel", 1 - band, 1.0, 1 + band)
    drawn_steel = dataclasses.replace(
        state,
        hardness_hrc=hardness,
        yield_mpa=yields,
        k_ic_mpa_sqrt_m=k_ic,
        carbides={name: volume * carbide for name, volume in state.carbides.items()},
        body_failure_mpa=steel_mechanics.failure_stress_mpa(yields, k_ic, _body_nick_um(resolved, drawer)),
    )
    flaws = [_flaw(each, resolved, drawer) for each in contexts]
    sharpened = [_drawn_gear(each, resolved, drawer) for each in contexts]
    between = _between_sharpenings(contexts[0], drawer)
    drawn = [
        dataclasses.replace(
            each,
            steel=dataclasses.replace(
                drawn_steel,
                edge_failure_mpa=steel_mechanics.failure_stress_mpa(yields, k_ic, flaw),
                edge_flaw_um=flaw,
                edge_scratch_um=scratch,
            ),
            sharpening=dataclasses.replace(sharpening, **between),
        )
        for each, (scratch, flaw), sharpening in zip(contexts, flaws, sharpened, strict=True)
    ]
    return dataclasses.replace(Context.joined(drawn, [drawer.count] * len(drawn)), tasks=tasks)


def drawn_coefficients(context: Context, drawer: Drawer, blades: int) -> Coefficients:
    """What usual blades share with the blades drawn: coefficients of model and material, none of steel and gear."""
    loads = {load.task.id: _drawn_task(load, drawer, 1) for load in context.tasks}
    return Coefficients(loads, _between_sharpenings(context, drawer), _yield_share(drawer), drawer.count, blades)


def _yield_share(drawer: Drawer) -> Array:
    return drawer.between("yield over tensile strength", YIELD_BAND[0], steel_mechanics.YIELD_SHARE, YIELD_BAND[1])


def _spread(drawer: Drawer, name: str, likely: float, band: tuple[float, float], cause: str = "") -> Array:
    """An estimate of the mechanics, on a logarithmic scale."""
    low, high = band
    return drawer.between(name, low, likely, high, cause, logarithmic=True)


def _body_nick_um(resolved: Resolved, drawer: Drawer) -> Array:
    low, high = (resolved.nick_um * factor for factor in BODY_NICK_BAND)
    return _spread(drawer, "nicks in the blade", resolved.nick_um, (low, high), ROUGH_USE)


def _between_sharpenings(context: Context, drawer: Drawer) -> dict[str, Any]:
    """How far an edge wears, how many strokes it makes and how far it is ground back, for all blades alike."""
    drawn: dict[str, Any] = {}
    if any(load.material.edge_recession_um is None for load in context.tasks):
        name = "wear of the edge between sharpenings"
        drawn["recession_mm"] = _spread(drawer, name, RECESSION_IN_USE_MM, RECESSION_BAND_MM)
    if any(load.task.hard_contacts for load in context.tasks):
        likely, band = hard_contact.STROKES_BETWEEN_SHARPENINGS, hard_contact.STROKES_BAND
        drawn["strokes"] = _spread(drawer, "strokes between sharpenings", likely, band)
    likely, band = sharpening.BACK_PER_SHARPENING_MM, sharpening.BACK_BAND_MM
    drawn["back_mm"] = _spread(drawer, "steel ground back by a sharpening", likely, band)
    return drawn


def _flaw(context: Context, resolved: Resolved, drawer: Drawer) -> tuple[Any, Any]:
    """Scratches of sharpening, and with them the nicks of use by the shares of the work."""
    used = [g for g in resolved.gear if g.id in context.sharpening.gear]
    # What nothing at hand sharpens keeps the roughest scratches there are, as in `Resolved.scratch_um`.
    finest = (min if used else max)(used or list(resolved.gear), key=lambda g: g.scratch_um.likely)
    scratch = drawer.quantity(f"scratches of the {finest.label}", finest.scratch_um, f"fineness of the {finest.label}")
    flaw: Any = 0.0
    for load in context.tasks:
        nick: Any = 0.0
        if load.task.edge_nick_um is not None:
            nick = drawer.quantity(*_told(_TASK["edge_nick_um"], load.task.label, load.task.edge_nick_um))
        flaw = flaw + load.share * np.maximum(scratch, nick)
    return scratch, flaw


def _drawn_gear(context: Context, resolved: Resolved, drawer: Drawer) -> SharpeningState:
    state = context.sharpening
    used = [g for g in resolved.gear if g.id in state.gear]
    if not used:
        return state
    fine = min(used, key=lambda g: g.apex_radius_um.likely)
    quick = max(used, key=lambda g: g.removal_mm3_per_min.likely if g.removal_mm3_per_min else 0.0)
    assert quick.removal_mm3_per_min is not None  # chosen so
    pace = state.removal_mm3_per_min / quick.removal_mm3_per_min.likely
    return dataclasses.replace(
        state,
        apex_radius_mm=drawer.quantity(
            f"apex from the {fine.label}", fine.apex_radius_um, f"fineness of the {fine.label}"
        )
        / 1000,
        removal_mm3_per_min=pace * drawer.quantity(f"speed of the {quick.label}", quick.removal_mm3_per_min),
        finishing_minutes=state.finishing_minutes * drawer.between("time for the burr", *FINISHING_BAND),
        polish_min_per_mm2=_drawn_polish(quick, drawer) / pace,
    )


def _drawn_polish(gear: Gear, drawer: Drawer) -> Any:
    """Minutes of the finer grits for each mm2, each grit's scratches and rate drawn."""
    grits = list(enumerate(gear.finer_grits, start=2))
    depths = [
        drawer.quantity(f"scratches before grit {k} of the {gear.label}", g.scratches_um) / 1000 for k, g in grits
    ]
    rates = [drawer.quantity(f"speed of grit {k} of the {gear.label}", g.removal_mm3_per_min) for k, g in grits]
    return sharpening.polish_min_per_mm2(depths, rates)


def _drawn_task(load: TaskLoad, drawer: Drawer, count: int) -> TaskLoad:
    """A task with its draws repeated for each of `count` blades."""

    def drawn(table: Any, words: Mapping[str, tuple[str, str]], label: str) -> dict[str, Quantity]:
        told = ((name, getattr(table, name)) for name in words)
        return {
            name: _as_quantity(np.tile(drawer.quantity(*_told(words[name], label, q)), count))
            for name, q in told
            if q is not None
        }

    material, task = load.material, load.task
    what = material.label.lower()
    of_material: dict[str, Any] = drawn(material, _MATERIAL, what)
    if material.splits is not None:
        of_material["splits"] = material.splits.model_copy(update=drawn(material.splits, _SPLITTING, what))
    of_task: dict[str, Any] = drawn(task, _TASK, task.label)
    of_task["hard_contacts"] = tuple(
        each.model_copy(update=drawn(each, _STRUCK, f"{each.with_} in {task.label}")) for each in task.hard_contacts
    )
    blunt, free = (
        np.tile(_spread(drawer, name, likely, band), count)
        for name, likely, band in (
            ("apex radius that doubles parting", cutting.BLUNT_LENGTH_MM, cutting.BLUNT_LENGTH_BAND_MM),
            ("pressure that a free slice keeps", cutting.FREE_FACE_SHARE, cutting.FREE_FACE_BAND),
        )
    )
    return dataclasses.replace(
        load,
        task=task.model_copy(update=of_task),
        material=material.model_copy(update=of_material),
        blunt_length_mm=blunt,
        free_face_share=free,
    )


def _told(words: tuple[str, str], label: str, q: Quantity) -> tuple[str, Quantity, str]:
    """Name, quantity and cause; causes of a material are its own, a hand's are those of all work."""
    what, cause = words
    return f"{what} {label}", q, f"{cause} {label}" if cause and cause != ROUGH_USE else cause


def _as_quantity(values: Array) -> Quantity:
    """A quantity whose likely value is one draw a row; metrics read `likely` and take arrays as well as numbers."""
    return Quantity.model_construct(likely=values)
