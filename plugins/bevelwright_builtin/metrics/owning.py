"""Figures of owning the blade: what sharpening takes and how long the shape lasts."""

from __future__ import annotations

import numpy as np

from recommender.geometry.arcs import Array, Scalars
from recommender.mechanics import sharpening
from recommender.plugin.api import Context, Metric, Sections
from recommender.units import Unit


def _steel(sections: Sections, context: Context) -> Array:
    def taken(some: Sections, back_mm: Scalars) -> Array:
        return some.along_the_blade(sharpening.steel_per_sharpening_mm2, back_mm)

    return sections.figure("steel", taken, context.sharpening.back_mm)


def _minutes(sections: Sections, context: Context) -> Array:
    # Two sections are set up one after the other.
    bevel = sections.figure("bevels", lambda s: s.along_the_blade(sharpening.bevel_widths_mm))
    setups = np.where(sections.zoned, 2, 1)
    return context.sharpening_minutes(_steel(sections, context), setups=setups, bevel_mm=bevel)


METRICS = [
    Metric(
        id="sharpening_steel",
        label="steel taken per sharpening",
        also=("life", "wear"),
        unit=Unit.MM3_PER_MM,
        better="lower",
        about="Exact area that 0.05 mm of sharpening back takes off the section; the step is an estimate.",
        estimate=True,
        compute=_steel,
    ),
    Metric(
        id="sharpening_minutes",
        label="minutes per sharpening",
        also=("time", "effort", "easy"),
        unit=Unit.MINUTES,
        better="lower",
        about=(
            "Set-up, steel over the removal rate of the gear at hand (Preston), finer grits over the bevels, each as "
            "deep as the scratches before it, and the burr along the edge, in the owner's hands, longer in hard and "
            "carbide-rich steel; only where some gear can do it."
        ),
        estimate=True,
        compute=_minutes,
    ),
    Metric(
        id="sharpenings",
        label="sharpenings before thinning",
        also=("life", "lasts"),
        unit=Unit.COUNT,
        better="higher",
        about="Full sharpenings of 0.05 mm until the shoulder outgrows the task or half the height is gone.",
        estimate=True,
        compute=lambda sections, context: sections.figure(
            "sharpenings",
            lambda s, *inputs: sharpening.sharpenings_until(s.sides, *inputs),
            context.thickest_edge_mm,
            context.sharpening.back_mm,
        ),
    ),
]
