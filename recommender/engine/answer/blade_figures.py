"""Figures of the proposed blade along its whole length, and what the shop has to know besides."""

from __future__ import annotations

import numpy as np

from recommender.engine.search.blade_form import Chosen
from recommender.geometry.arcs import Array
from recommender.geometry.outline import Outline
from recommender.geometry.profile import thickness
from recommender.geometry.sharpened import sharpened_back
from recommender.geometry.shoulders import shoulders
from recommender.geometry.wheel import walked_spacing_mm
from recommender.mechanics.blade_bending import stiffness_n_per_mm, tip_strength_n, weight
from recommender.mechanics.grit import left_for_next_um
from recommender.mechanics.heat import (
    LEAST_HEATED_MM,
    deepest_cool_pass_um,
    edge_before_hardening_mm,
    ground_after_hardening,
)
from recommender.mechanics.steel import YOUNGS_MODULUS_MPA
from recommender.models.answer.proposal import BevelWidth, BladeFigures, ShopFigures, WalkedUp
from recommender.plugin.api import Designs
from recommender.units import STEEL_DENSITY_G_PER_MM3

BEHIND_TIP_MM = 5.0


def whole_blade(chosen: Chosen) -> BladeFigures:
    """Figures of the proposal as a blade of the form chosen, from plunge line to tip: no tang, no handle."""
    blade = chosen.blade
    whole = weight(blade, STEEL_DENSITY_G_PER_MM3)
    stress = float(chosen.measured.context.steel.body_failure_mpa)
    at = blade.length_mm - BEHIND_TIP_MM
    return BladeFigures(
        mass_g=round(float(whole.mass_g[0]), 2),
        balance_mm=round(float(whole.balance_mm[0]), 2),
        stiffness_n_per_mm=round(float(stiffness_n_per_mm(blade, at, YOUNGS_MODULUS_MPA)[0]), 4),
        tip_strength_n=round(float(tip_strength_n(blade, stress, BEHIND_TIP_MM)[0]), 2),
        behind_tip_mm=BEHIND_TIP_MM,
    )


BEVEL_STATIONS = (0.1, 0.5, 0.9)
"""Heel, middle and near the tip, shares of the length."""
SHARPENED_BACK_MM = 1.0
RIDGE_MM = left_for_next_um("P120") / 1000
"""Ridge between two passes of a walked-up hollow that the belts after the first take off."""


def shop_figures(chosen: Chosen, skin_per_side_mm: float) -> ShopFigures:
    """Edge before hardening, plunge radius, what a soft wheel cuts like, and how the edge bevel widens.

    A bar that is hardened flat has its whole stock before hardening; its skin is not in that.
    """
    blade, designs = chosen.blade, chosen.measured.designs
    length = float(blade.length_mm[0, 0])
    edge = float(designs["edge_thickness_mm"][0])
    wheel, cut = float(designs["wheel_diameter_mm"][0]), float(designs.cut_wheel_mm[0])
    thick = thickness(chosen.measured.sections.drawn, max(float(designs.edge_bevel_height_mm[0]), LEAST_HEATED_MM))
    cool = float(deepest_cool_pass_um(thick, chosen.measured.context.steel.temper_c)[0])
    stock = float(designs["stock_thickness_mm"][0])
    left = float(edge_before_hardening_mm(edge, length, skin_per_side_mm))
    return ShopFigures(
        edge_thickness_before_hardening_mm=round(stock if ground_after_hardening(stock) else left, 2),
        deepest_cool_pass_um=round(cool, 2),
        cool_passes_per_side=int(np.ceil(1000 * (left - edge) / float(designs.sides_ground[0]) / cool)),
        plunge_radius_mm=float(blade.plunge_radius_mm[0, 0]),
        wheel_cuts_like_mm=round(cut, 1) if np.isfinite(cut) and abs(cut - wheel) > 0.05 else None,
        walked_up=_walked_up(designs),
        bevel_widths=_bevel_widths(chosen, length),
    )


def _walked_up(designs: Designs) -> WalkedUp | None:
    cut, hollow = float(designs.cut_wheel_mm[0]), float(designs.hollow_diameter_mm[0])
    if not hollow > cut + 1e-6:
        return None
    chord = float(np.hypot(designs.depth_per_side_mm, designs.primary_height_mm)[0])
    spacing = float(walked_spacing_mm(cut, hollow, RIDGE_MM))
    passes = max(2, int(np.ceil(chord / spacing)))
    return WalkedUp(diameter_mm=round(hollow, 1), passes=passes, spacing_mm=round(spacing, 2))


def _bevel_widths(chosen: Chosen, length: float) -> list[BevelWidth]:
    stations = chosen.blade.at([share * length for share in BEVEL_STATIONS])
    sections = stations.sections
    now = _widths(sections)
    left = stations.height_mm.ravel() > 2 * SHARPENED_BACK_MM
    later = np.full(len(sections), np.nan)
    if left.any():
        later[left] = _widths(sharpened_back(sections[left], SHARPENED_BACK_MM))
    return [
        BevelWidth(
            from_plunge_mm=round(share * length, 1),
            new_mm=round(float(width), 3),
            after_1_mm=round(float(worn), 3) if np.isfinite(worn) else None,
        )
        for share, width, worn in zip(BEVEL_STATIONS, now, later, strict=True)
    ]


def _widths(outlines: Outline) -> Array:
    """Width of the wider edge bevel of each section, mm."""
    return np.asarray(shoulders(outlines).bevel_width_mm)
