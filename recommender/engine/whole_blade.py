"""Figures of the proposed blade along its whole length: mass, balance, tip."""

from __future__ import annotations

from recommender.engine.ranking import Best
from recommender.engine.resolve import Resolved
from recommender.errors import GeometryError
from recommender.geometry.blade import Blade
from recommender.geometry.plan import SIDE_VIEWS
from recommender.mechanics.blade import stiffness_n_per_mm, tip_strength_n, weight
from recommender.mechanics.steel import YOUNGS_MODULUS_MPA
from recommender.models.proposal import BladeFigures
from recommender.plugin.api import TIP_ZONE_SHARE
from recommender.plugin.registry import Registry
from recommender.units import STEEL_DENSITY_G_PER_MM3

BEHIND_TIP_MM = 5.0


def whole_blade(best: Best, resolved: Resolved, registry: Registry) -> BladeFigures | None:
    """Figures of one best design as a blade of the brief's profile, length and taper; None when it cannot be drawn.

    The blade alone, from plunge line to tip: no tang, no handle.
    """
    brief, grind = resolved.brief.blade, best.grind.item
    length = float(brief.length_mm or 0.0)
    sections = best.measured.sections
    zoned = bool(sections.zoned.any())

    def measured() -> BladeFigures:
        blade = Blade(
            sections.outlines,
            length,
            SIDE_VIEWS[str(brief.profile)],
            taper_mm_per_mm=brief.distal_taper_mm_per_mm or 0.0,
            tip_outlines=sections.tip_outlines if zoned else None,
            tip_zone_mm=TIP_ZONE_SHARE * length / 2 if zoned else 0.0,
            transition_mm=TIP_ZONE_SHARE * length / 2 if zoned else 0.0,
        )
        whole = weight(blade, STEEL_DENSITY_G_PER_MM3)
        stress = best.measured.context.steel.body_failure_mpa
        at = length - BEHIND_TIP_MM
        return BladeFigures(
            mass_g=round(float(whole.mass_g[0]), 2),
            balance_mm=round(float(whole.balance_mm[0]), 2),
            stiffness_n_per_mm=round(float(stiffness_n_per_mm(blade, at, YOUNGS_MODULUS_MPA).ravel()[0]), 4),
            tip_strength_n=round(float(tip_strength_n(blade, stress, BEHIND_TIP_MM).ravel()[0]), 2),
            behind_tip_mm=BEHIND_TIP_MM,
        )

    try:
        return measured()
    except GeometryError as cause:
        registry.failed(best.grind.origin, f"being followed along the blade ({grind.id})", cause)
        return None
