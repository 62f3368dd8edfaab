"""Figures of the edge: its thickness, growth, strength and how long it cuts."""

from __future__ import annotations

import numpy as np

from recommender.geometry.arcs import Array
from recommender.geometry.profile import half_angles, thickness
from recommender.mechanics import heat, steel, strength, wear
from recommender.plugin.api import Context, Metric, Sections, SteelState, TaskLoad
from recommender.units import Unit


def _thickness_at(height_mm: float) -> Metric:
    return Metric(
        id=f"thickness_{height_mm:g}mm",
        label=f"thickness {height_mm:g} mm above the edge",
        also=("thin", "thick", "slim", "behind the edge"),
        unit=Unit.MM,
        better="lower",
        about="Exact from the outline.",
        estimate=False,
        compute=lambda sections, context: sections.figure(
            ("thickness", height_mm), lambda s: np.asarray(thickness(s.sides, height_mm))
        ),
    )


def _growth(sections: Sections) -> Array:
    """Growth of the shoulder: profile slope p meets bevel slope m (dx/dy of a face), p m/(m - p), faces added.

    Where there is a micro-bevel, that is what is sharpened, and the edge bevel the profile above it.
    """
    designs = sections.designs
    micro = designs.micro_bevel_height_mm
    height = np.where(micro > 0, micro, designs.edge_bevel_height_mm)
    left, right = half_angles(sections.sides, height, above=True)
    apex_left, apex_right = half_angles(sections.sides, 0.0)

    def side(profile: Array, bevel: Array) -> Array:
        p, m = np.tan(profile), np.tan(bevel)
        room = np.where(m - p > 1e-12, m - p, np.inf)
        return np.asarray(np.where(p > 0, p * m / room, 0.0))

    return side(left, apex_left) + side(right, apex_right)


def _apex(sections: Sections, context: Context) -> Array:
    half_angle = sections.apex_included_rad / 2
    stress = context.steel.edge_fails_at_mpa(strength.apex_thickness_mm(half_angle))
    return strength.wedge_apex_strength(stress, half_angle)


def _local(sections: Sections, steel: SteelState) -> Array:
    weakest = sections.figure(
        "weakest near edge", lambda s: strength.weakest_near_edge(s.sides, s.designs.edge_bevel_height_mm)
    )
    return np.asarray(steel.edge_fails_at_mpa(weakest.thickness_mm) * weakest.per_mpa)


def _body(sections: Sections, context: Context) -> Array:
    per_mpa = sections.figure(
        "edge body strength", lambda s: strength.body_edge_strength(s.sides, 1.0, s.designs["grind_line_mm"])
    )
    return np.asarray(context.steel.body_failure_mpa * per_mpa)


def _support(sections: Sections, context: Context) -> Array:
    def per_mpa(some: Sections) -> Array:
        height = np.minimum(SUPPORT_HEIGHT_MM, some.designs["height_mm"] / 2)
        return strength.body_edge_strength(some.sides, 1.0, height)

    return np.asarray(context.steel.edge_failure_mpa * sections.figure("edge support", per_mpa))


def _angle_margin(sections: Sections, context: Context, load: TaskLoad) -> Array:
    """Included angle at the apex less the least sound one under the task's load, and the hand's wander."""
    steel, asked = load.edge_steel(context.steel), load.task.side_load_n_per_mm.likely
    least = 2 * strength.least_sound_half_angle_rad(steel.edge_fails_at_mpa, asked)
    return np.asarray(np.degrees(sections.apex_included_rad - least) - context.sharpening.angle_wander_deg)


def _edge_margin(sections: Sections, context: Context, load: TaskLoad) -> Array | None:
    return np.asarray(_local(sections, load.edge_steel(context.steel)) / load.task.side_load_n.likely)


def _least_edge_margin(sections: Sections, context: Context) -> Array:
    """Local edge strength over the greatest sideways load of the tasks whose cautions hold."""
    load = context.greatest(lambda task: task.side_load_n.likely)
    return _local(sections, context.steel) / load


def _retention(sections: Sections, context: Context) -> Array | None:
    """Held at the ends of the tested angles: were it silent beyond, its weight would go to edges that last less."""
    steel = context.steel
    if not np.any(wear.retention_is_told(steel.hardness_hrc, steel.carbides)):
        return None
    return wear.held_retention_mm(steel.hardness_hrc, np.degrees(sections.apex_included_rad), steel.carbides)


def _heated(sections: Sections) -> Array:
    height = np.maximum(sections.designs.edge_bevel_height_mm, heat.LEAST_HEATED_MM)
    return np.asarray(thickness(sections.sides, np.minimum(height, sections.designs["height_mm"])))


SUPPORT_HEIGHT_MM = 5.0

METRICS = [
    _thickness_at(1.0),
    _thickness_at(5.0),
    _thickness_at(10.0),
    Metric(
        id="thickness_growth",
        label="thickening per mm sharpened back",
        also=("thin", "thick", "ages"),
        unit=Unit.MM_PER_MM,
        better="lower",
        about="Growth of the shoulder's thickness per mm the edge moves back: p m/(m - p) a face, at the first stroke.",
        estimate=False,
        compute=lambda sections, context: sections.figure("growth", _growth),
    ),
    Metric(
        id="edge_apex_strength",
        label="apex strength",
        also=("toughness", "chips", "robust"),
        unit=Unit.N_PER_MM,
        better="higher",
        about=(
            "Sideways load per mm that fails the apex 50 um up: wedge solution, at the stress that a section as thin "
            "fails at. Compares shapes, licences no load."
        ),
        estimate=True,
        compute=_apex,
    ),
    Metric(
        id="edge_strength",
        label="edge strength",
        also=("toughness", "chips", "bends", "robust"),
        unit=Unit.N,
        better="higher",
        about=(
            "Least sideways load on a 2 mm stretch that bends the blade within 3 bevel heights (at least 3 mm): "
            "sigma t^2 (b + 2y)/(6y). Compares shapes, licences no load."
        ),
        estimate=True,
        compute=lambda sections, context: _local(sections, context.steel),
    ),
    Metric(
        id="edge_support",
        label="support 5 mm behind the edge",
        also=("toughness", "chips", "bends", "robust"),
        unit=Unit.N,
        better="higher",
        about="The same load carried 5 mm up (half way on blades under 10 mm). Compares shapes, licences no load.",
        estimate=True,
        compute=_support,
    ),
    Metric(
        id="edge_body_strength",
        label="strength at the grind line",
        also=("bends", "robust"),
        unit=Unit.N,
        better="higher",
        about="The same load carried at the grind line. Compares shapes, licences no load.",
        estimate=True,
        compute=_body,
    ),
    Metric(
        id="angle_margin_deg",
        label="angle to spare at the apex",
        also=("chips", "rolls", "bevel"),
        unit=Unit.DEG,
        better="higher",
        about="Included angle less the least sound one under the task's sideways load, less the hand's wander.",
        estimate=True,
        compute_for_task=_angle_margin,
    ),
    Metric(
        id="edge_margin",
        label="edge strength over the task's load",
        also=("toughness", "chips", "rolls", "robust"),
        unit=Unit.NONE,
        better="higher",
        about="Edge strength over the task's sideways load; below 1 the edge bends or chips in use.",
        estimate=True,
        compute_for_task=_edge_margin,
    ),
    Metric(
        id="least_edge_margin",
        label="edge strength over the roughest load",
        also=("toughness", "chips", "rolls", "robust"),
        unit=Unit.NONE,
        better="higher",
        about="The same over the roughest of the tasks whose limits hold.",
        estimate=True,
        compute=_least_edge_margin,
    ),
    Metric(
        id="edge_retention",
        label="edge retention",
        also=("sharpness", "dulls", "wear", "edge holding"),
        unit=Unit.MM,
        better="higher",
        about=(
            "Card cut in the standard slicing test, from hardness, included angle and carbides: at least that of 20 "
            "degrees included where finer, at most that of 50 where steeper. Nothing is said of softer steels with "
            "fewer carbides than were tested, and where the regression has nothing left. See mechanics.wear."
        ),
        estimate=True,
        compute=_retention,
    ),
    Metric(
        id="cool_pass",
        label="deepest dry pass that keeps the temper",
        also=("heat", "burns", "overheats"),
        unit=Unit.UM,
        better="higher",
        about="Energy balance at the shoulder (0.5 mm up at least): 40 J/mm3, 60 % into the blade, up to the temper.",
        estimate=True,
        compute=lambda sections, context: heat.deepest_cool_pass_um(
            sections.figure("heated", _heated), context.steel.temper_c
        ),
    ),
    Metric(
        id="chips_above",
        label="edge that chips rather than rolls",
        also=("toughness", "brittle", "breaks"),
        unit=Unit.MM,
        better="higher",
        about=(
            "Thickness from which the steel, with the scratches and nicks of its edge, cracks before it yields: "
            "l sqrt(1.4/(1.25 pi a/l - 1)), l = (K_IC/yield)^2; none where it rolls at any thickness."
        ),
        estimate=True,
        compute=lambda sections, context: np.full(
            len(sections),
            steel.chips_above_mm(context.steel.yield_mpa, context.steel.k_ic_mpa_sqrt_m, context.steel.edge_flaw_um),
        ),
    ),
]
