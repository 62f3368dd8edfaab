"""Figures of the whole blade, by which tip, swedge and distal taper are chosen."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np

from recommender.geometry.arcs import Array
from recommender.geometry.blade import Blade
from recommender.geometry.side_views import SIDE_VIEWS
from recommender.mechanics.blade_bending import penetration, stiffness_n_per_mm, tip_strength_n, weight
from recommender.mechanics.cutting import CutMaterial
from recommender.plugin.api import Context, Forms, Metric, TaskLoad
from recommender.units import STEEL_DENSITY_G_PER_MM3, Unit

BEHIND_TIP_MM = 5.0
STAB_MM = 12.0
"""How deep a tip is pushed to start a cut; estimate."""
SPINE_SHARE = 0.75
"""Where along the blade a thumb or a baton meets the spine; estimate."""


def _mass(forms: Forms) -> Array:
    return forms.figure("mass", lambda blade: weight(blade, STEEL_DENSITY_G_PER_MM3).mass_g)


def _balance_share(blade: Blade) -> Array:
    return np.asarray(weight(blade).balance_mm / blade.length_mm[:, 0])


def _bar_g(blade: Blade) -> Array:
    return np.asarray(blade.side_area_mm2 * blade.stock_mm[:, 0] * STEEL_DENSITY_G_PER_MM3)


def _plain_g(blade: Blade) -> Array:
    plain = dataclasses.replace(blade, taper_mm_per_mm=0.0, swedge_length_mm=0.0)
    return weight(plain, STEEL_DENSITY_G_PER_MM3).mass_g


def _tip_push(forms: Forms, context: Context, load: TaskLoad) -> Array:
    m = load.cut_material

    def push(
        blade: Blade, tough: Any, foundation: Any, plateau: Any, friction: Any, blunt_mm: Any, apex_mm: Any
    ) -> Array:
        depth = np.minimum(STAB_MM, blade.length_mm[:, 0] / 4)
        material = CutMaterial(tough, foundation, plateau, friction, blunt_mm)
        return penetration(blade, depth, material, apex_radius_mm=apex_mm).force

    return forms.figure(
        ("tip push", load.task.id),
        push,
        m.toughness_n_per_mm,
        m.foundation_n_per_mm3,
        m.plateau_mpa,
        m.friction,
        m.blunt_length_mm,
        context.sharpening.apex_radius_mm,
    )


def _tip_bend(forms: Forms, context: Context) -> Array:
    per_mpa = forms.figure("tip bend", lambda blade: tip_strength_n(blade, 1.0, BEHIND_TIP_MM))
    return np.asarray(context.steel.body_failure_mpa * per_mpa)


def _spine_left(blade: Blade) -> Array:
    stations = blade.at(SPINE_SHARE * blade.length_mm)
    outline = stations.sections
    top = outline[..., 1].max(axis=1, keepdims=True)
    on_spine = np.where(outline[..., 1] >= top * (1 - 1e-9), outline[..., 0], np.nan)
    return np.asarray((np.nanmax(on_spine, axis=1) - np.nanmin(on_spine, axis=1)) / blade.stock_mm[:, 0])


def _usual(forms: Forms, context: Context) -> Array:
    shares = {tip: 0.0 for tip in SIDE_VIEWS}
    for load in context.tasks:
        shares[load.task.envelope.profile] += float(load.share)
    return np.array([shares[tip] for tip in forms.tip])


METRICS = [
    Metric(
        id="blade_mass",
        label="blade alone, without handle",
        also=("weight", "heavy", "light"),
        unit=Unit.G,
        better="either",
        about="Section area along the blade times 7.8 g/cm3, from plunge line to tip.",
        estimate=False,
        of="blade",
        compute=lambda forms, context: _mass(forms),
    ),
    Metric(
        id="balance_share",
        label="balance point over blade length",
        also=("handling", "weight", "nimble"),
        unit=Unit.NONE,
        better="either",
        about="Centre of mass from the plunge line over the blade's length; the higher, the further towards the tip.",
        estimate=False,
        of="blade",
        compute=lambda forms, context: forms.figure("balance", _balance_share),
    ),
    Metric(
        id="bar_share",
        label="mass over a bar of that outline",
        also=("weight", "heavy", "light"),
        unit=Unit.NONE,
        better="either",
        about="Mass of the blade over that of the unground bar cut to its side view: how much steel is carried.",
        estimate=False,
        of="blade",
        compute=lambda forms, context: _mass(forms) / forms.figure("bar", _bar_g),
    ),
    Metric(
        id="tip_bend_strength",
        label="sideways load on the tip",
        also=("point", "breaks", "snaps"),
        unit=Unit.N,
        better="higher",
        about="Load 5 mm behind the tip at which the weakest section fails. Compares shapes, licences no load.",
        estimate=True,
        of="blade",
        compute=_tip_bend,
    ),
    Metric(
        id="tip_push",
        label="force to push the tip in",
        also=("point", "pierces", "stabs"),
        unit=Unit.N,
        better="lower",
        about="Force along the blade with the tip 12 mm deep in the task's material (a quarter of a short blade).",
        estimate=True,
        of="blade",
        compute_for_task=_tip_push,
    ),
    Metric(
        id="tip_flex",
        label="stiffness near the tip",
        also=("flex", "flexible", "bends", "springy", "rigid"),
        unit=Unit.N_PER_MM,
        better="either",
        about="Sideways force per mm of bend 5 mm behind the tip, sections and taper along the blade counted.",
        estimate=False,
        of="blade",
        compute=lambda forms, context: forms.figure(
            "flex", lambda blade: stiffness_n_per_mm(blade, blade.length_mm - BEHIND_TIP_MM)
        ),
    ),
    Metric(
        id="spine_left",
        label="spine left to push on",
        also=("thumb", "back"),
        unit=Unit.NONE,
        better="higher",
        about="Width of the spine at three quarters of the length over the stock: taper and swedge take from it.",
        estimate=False,
        of="blade",
        compute=lambda forms, context: forms.figure("spine", _spine_left),
    ),
    Metric(
        id="form_removal",
        label="steel that taper and swedge take",
        also=("making", "time", "waste"),
        unit=Unit.NONE,
        better="lower",
        about="Share of the blade's mass that distal taper and swedge take off.",
        estimate=False,
        of="blade",
        compute=lambda forms, context: 1 - _mass(forms) / forms.figure("plain", _plain_g),
    ),
    Metric(
        id="tip_usual",
        label="share of the work for which this tip is usual",
        also=("profile", "point"),
        unit=Unit.NONE,
        better="higher",
        about="Sum of the shares of the tasks whose usual profile this is; common practice.",
        estimate=False,
        of="blade",
        compute=_usual,
    ),
]
