"""The bar a blade is cut from: sizes the shop buys, blanks out of one, and what of it a blank takes with it."""

from __future__ import annotations

import math

from recommender.geometry.blade import Blade
from recommender.models.answer.proposal import Proposal
from recommender.models.workshop.shop import BarStock
from recommender.models.workshop.worksheet import Bar
from recommender.units import SIZE_STEP_MM, STEEL_DENSITY_G_PER_MM3

_SLACK_MM = 1e-6


def bar_for(p: Proposal, blade: Blade, material: BarStock, skin_per_side_mm: float) -> Bar:
    """The smallest bar that blade and skin come out of; one of their own size where the shop buys none so large.

    Blanks = floor((bar - end waste + kerf) / (blade + tang + kerf)); a blank carries its share of the whole bar.
    """
    height = p.blade_height_mm * max(1.0, blade.side_view.tip) + material.width_allowance_mm
    blank_thickness = p.stock_thickness_mm + 2 * skin_per_side_mm
    thickness, width = _least(material.thicknesses_mm, blank_thickness), _least(material.widths_mm, height)
    blank = p.blade_length_mm + material.tang_length_mm
    usable = material.bar_length_mm - material.end_waste_mm
    blanks = int((usable + material.kerf_mm + _SLACK_MM) // (blank + material.kerf_mm))
    fits = thickness is not None and width is not None and blanks > 0
    thick = thickness if thickness is not None and fits else blank_thickness
    wide = width if width is not None and fits else math.ceil(height / SIZE_STEP_MM) * SIZE_STEP_MM
    length = material.bar_length_mm if fits else blank + material.end_waste_mm
    blanks = blanks if fits else 1
    return Bar(
        thickness_mm=thick,
        blank_thickness_mm=round(blank_thickness, 3),
        width_mm=wide,
        length_mm=length,
        blank_length_mm=blank,
        blanks_per_bar=blanks,
        steel_per_blank_kg=round(thick * wide * length * STEEL_DENSITY_G_PER_MM3 / 1000 / blanks, 6),
        clean_up_per_side_mm=round((thick - blank_thickness) / 2, 3),
        in_shop=fits,
    )


def _least(sizes: tuple[float, ...], wanted: float) -> float | None:
    return min((size for size in sizes if size >= wanted - _SLACK_MM), default=None)
