"""Figures of the whole section: prying, tip, stiffness, failure stress."""

from __future__ import annotations

import numpy as np

from recommender.geometry.arcs import Array
from recommender.mechanics import strength
from recommender.plugin.api import Context, Metric, Sections, TaskLoad
from recommender.units import Unit


def _pry(sections: Sections, context: Context) -> Array:
    per_mpa = sections.figure("prying moment", lambda s: strength.pry_moment_n_m(s.outlines, 1.0))
    return np.asarray(context.steel.body_failure_mpa * per_mpa)


def _tip(sections: Sections, context: Context) -> Array:
    per_mpa = sections.figure(
        "tip strength", lambda s: strength.pry_moment_n_m(strength.tip_section(s.tip_outlines), 1.0)
    )
    return np.asarray(context.steel.body_failure_mpa * per_mpa)


def _pry_margin(sections: Sections, context: Context, load: TaskLoad) -> Array | None:
    asked = load.task.pry_moment_n_m
    return None if asked is None else _pry(sections, context) / asked.likely


METRICS = [
    Metric(
        id="failure_stress",
        label="stress at which the blade fails",
        also=("toughness", "strength", "breaks", "snaps"),
        unit=Unit.MPA,
        better="higher",
        about=(
            "Strip-yield model with a nick of use as the flaw a, between yield and K_IC/(1.12 sqrt(pi a)): harder is "
            "not always stronger."
        ),
        estimate=True,
        compute=lambda sections, context: np.full(len(sections), context.steel.body_failure_mpa),
    ),
    Metric(
        id="pry_moment",
        label="prying moment",
        also=("levering", "breaks", "snaps", "bends"),
        unit=Unit.N_M,
        better="higher",
        about="Sideways moment at which the section fails, sigma I/c. Compares shapes, licences no load.",
        estimate=True,
        compute=_pry,
    ),
    Metric(
        id="pry_margin",
        label="prying moment over the task's",
        also=("levering", "breaks", "snaps", "bends"),
        unit=Unit.NONE,
        better="higher",
        about="Prying moment of the section over what the task asks; only where a task pries.",
        estimate=True,
        compute_for_task=_pry_margin,
    ),
    Metric(
        id="tip_strength",
        label="strength where a third as high",
        also=("tip", "point", "breaks", "snaps"),
        unit=Unit.N_M,
        better="higher",
        about=(
            "Sideways moment at which the section fails where the blade has narrowed to a third of its height. "
            "Compares shapes, licences no load."
        ),
        estimate=True,
        compute=_tip,
    ),
    Metric(
        id="stiffness",
        label="sideways stiffness",
        also=("flex", "flexible", "bends", "springy", "rigid"),
        unit=Unit.N_PER_MM,
        better="either",
        about="Tip force per mm of sideways bend, 3 E I/L^3, section uniform along the blade.",
        estimate=False,
        compute=lambda sections, context: sections.figure(
            "stiffness", lambda s, length_mm: strength.stiffness_n_per_mm(s.outlines, length_mm), context.length_mm
        ),
    ),
]
