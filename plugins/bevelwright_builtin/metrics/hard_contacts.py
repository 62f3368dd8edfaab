"""What strokes that meet something hard do to the edge: how deep it rolls or chips by the next sharpening."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from recommender.geometry.arcs import Array
from recommender.mechanics import hard_contact
from recommender.plugin.api import Context, Metric, Sections, TaskLoad
from recommender.units import Unit


def _worst_um(which: Callable[[hard_contact.Damage], Array]) -> Callable[[Sections, Context, TaskLoad], Array | None]:
    def worst(sections: Sections, context: Context, load: TaskLoad) -> Array | None:
        if not load.struck:
            return None
        steel, half_angle = load.edge_steel(context.steel), sections.apex_included_rad / 2
        depths = []
        for struck, share in load.struck:
            done = hard_contact.damage(half_angle, struck, steel.yield_mpa, steel.edge_fails_at_mpa)
            chance = hard_contact.chance_between_sharpenings(share, context.sharpening.strokes)
            depths.append(1000 * chance * which(done))
        return np.asarray(np.maximum.reduce(depths))

    return worst


METRICS = [
    Metric(
        id="hard_contact_damage",
        label="damage by what is hard",
        also=("toughness", "chips", "rolls", "dents", "bone"),
        unit=Unit.UM,
        better="lower",
        about=(
            "How deep strokes that meet a board, bone or metal roll or chip the edge, times the chance to meet it by "
            "the next sharpening; the worst of the task's. Levy's wedge under one-sided pressure, energy of the stroke."
        ),
        estimate=True,
        compute_for_task=_worst_um(lambda done: done.depth_mm),
    ),
    Metric(
        id="hard_contact_rolled",
        label="of that, rolled",
        also=("dents", "bone", "board"),
        unit=Unit.UM,
        better="lower",
        about="The same where yield reaches deeper than fracture, so that the edge rolls over; else 0.",
        estimate=True,
        compute_for_task=_worst_um(lambda done: np.where(done.rolled_mm >= done.chipped_mm, done.rolled_mm, 0.0)),
    ),
    Metric(
        id="hard_contact_chipped",
        label="of that, chipped",
        also=("toughness", "brittle", "breaks", "bone", "board"),
        unit=Unit.UM,
        better="lower",
        about="The same where fracture reaches deeper than yield, so that the edge breaks out; else 0.",
        estimate=True,
        compute_for_task=_worst_um(lambda done: np.where(done.chipped_mm > done.rolled_mm, done.chipped_mm, 0.0)),
    ),
]
