"""Cutting and splitting figures, one value a task."""

from __future__ import annotations

from collections.abc import Hashable
from typing import Any

import numpy as np

from recommender.geometry.arcs import Array, Scalars
from recommender.geometry.profile import half_angles, register_width
from recommender.mechanics import cutting, splitting
from recommender.mechanics.wear import apex_radius_in_use_mm
from recommender.models.knowledge.tables import Splitting
from recommender.plugin.api import Context, Metric, Sections, TaskLoad
from recommender.units import Unit


def _apex_in_use(sections: Sections, context: Context, load: TaskLoad) -> Array:
    gear = context.sharpening
    return apex_radius_in_use_mm(gear.apex_radius_mm, sections.apex_included_rad, load.recession_mm(gear))


def _apex_growth(sections: Sections, context: Context, load: TaskLoad) -> Array:
    recession = load.recession_mm(context.sharpening)
    return 1000 * apex_radius_in_use_mm(0.0, sections.apex_included_rad, recession)


def _force(sections: Sections, context: Context, load: TaskLoad) -> cutting.CutForce | None:
    task, aside = load.task, _aside(sections, load)
    if task.cut_depth_mm is None or aside is None:
        return None
    ratio = task.slice_push_ratio.likely if task.slice_push_ratio else 0.0
    return cutting.force_on(
        aside,
        load.cut_material,
        slice_push_ratio=cutting.slice_push(ratio, task.stroke_mm, task.cut_depth_mm.likely),
        apex_radius_mm=_apex_in_use(sections, context, load),
    )


def _aside(sections: Sections, load: TaskLoad) -> cutting.PressedAside | None:
    task, material = load.task, load.cut_material
    if task.cut_depth_mm is None:
        return None
    share = material.free_face_share if task.slice_is_free else 1.0
    pressing = task.slice_is_free, material.foundation_n_per_mm3, material.plateau_mpa, share
    depth = task.cut_depth_mm.likely
    return sections.figure(_of_depth("pressed aside", load), _pressed_aside, depth, *pressing)


def _of_depth(name: str, load: TaskLoad) -> Hashable:
    """A figure's key: depths that are redrawn are those of a task, numbers go for themselves."""
    depth = load.task.cut_depth_mm
    return (name, load.task.id) if depth is not None and np.ndim(depth.likely) else name


def _pressed_aside(
    s: Sections, depth_mm: Scalars, free: bool, k: Scalars, plateau: Scalars, share: Scalars
) -> cutting.PressedAside:
    return cutting.pressed_aside(s.sides, depth_mm, _pressing(k, plateau, share), slice_is_free=free)


def _pressing(foundation_n_per_mm3: Scalars, plateau_mpa: Scalars, share: Scalars) -> cutting.CutMaterial:
    """A material as far as it presses: what parts it and rubs on it does not tell here."""
    return cutting.CutMaterial(
        toughness_n_per_mm=np.nan,
        foundation_n_per_mm3=foundation_n_per_mm3,
        plateau_mpa=plateau_mpa,
        friction=np.nan,
        free_face_share=share,
    )


def _push(sections: Sections, context: Context, load: TaskLoad) -> Array | None:
    force = _force(sections, context, load)
    return None if force is None else force.push


def _draw(sections: Sections, context: Context, load: TaskLoad) -> Array | None:
    force = _force(sections, context, load)
    return None if force is None else force.draw


def _work(sections: Sections, context: Context, load: TaskLoad) -> Array | None:
    force = _force(sections, context, load)
    if force is None or load.task.cut_depth_mm is None:
        return None
    ratio = load.task.slice_push_ratio.likely if load.task.slice_push_ratio else 0.0
    xi = cutting.slice_push(ratio, load.task.stroke_mm, load.task.cut_depth_mm.likely)
    return np.asarray(1000 * (force.push + xi * force.draw))


def _drift(sections: Sections, context: Context, load: TaskLoad) -> Array | None:
    aside = _aside(sections, load)
    return None if aside is None else aside.sideways


def _drift_share(sections: Sections, context: Context, load: TaskLoad) -> Array | None:
    found = _split(sections, load)
    if found is not None:
        return found.off_centre
    drift, push = _drift(sections, context, load), _push(sections, context, load)
    return None if drift is None or push is None else np.abs(drift) / push


def _crack_ahead(sections: Sections, context: Context, load: TaskLoad) -> Array | None:
    task, material = load.task, load.material
    if material.splits is None or task.cut_depth_mm is None or task.slice_thickness_mm is None:
        return None
    depth, slice_mm = task.cut_depth_mm.likely, task.slice_thickness_mm
    thick = slice_mm > np.asarray(depth)  # arms thicker than the cut is deep are no beams
    if thick.all():
        return None
    modulus, gc = material.youngs_modulus_mpa.likely, material.splits.gc_j_per_m2.likely / 1000
    found = sections.figure(
        _of_depth("crack ahead", load),
        lambda s, *inputs: splitting.crack_ahead(s.sides, *inputs),
        depth,
        slice_mm,
        modulus,
        gc,
        _root_turn(material.splits),
    )
    return np.where(thick, 0.0, found)


ALIKE = 3.0, 1.0
"""Of what is alike in all directions and keeps its volume, as wet food: E/G = 2 (1 + 0.5), and no grain."""


def _root_turn(splits: Splitting) -> Any:
    shear, across = splits.along_over_shear, splits.across_over_along
    return splitting.root_turn(shear.likely if shear else ALIKE[0], across.likely if across else ALIKE[1])


def _lets_go(sections: Sections, context: Context, load: TaskLoad) -> Array | None:
    if load.task.cut_depth_mm is None:
        return None
    depth = load.task.cut_depth_mm.likely

    wedge = sections.figure(_of_depth("wedge at depth", load), _wedge_rad, depth)
    return np.asarray(np.degrees(wedge - np.arctan(load.material.friction.likely)))


def _wedge_rad(sections: Sections, depth_mm: Scalars) -> Array:
    height = np.minimum(depth_mm, sections.designs["height_mm"])
    return np.asarray(sum(half_angles(sections.sides, height, above=False)) / 2)


def _corner(sections: Sections, context: Context, load: TaskLoad) -> Array | None:
    found = _split(sections, load)
    if found is not None:
        reach = np.nan_to_num(found.depth_mm, nan=np.inf)
    elif load.task.cut_depth_mm is not None:
        reach = np.broadcast_to(load.task.cut_depth_mm.likely, len(sections))
    else:
        return None
    shoulder, line = sections.designs.edge_bevel_height_mm, sections.designs["grind_line_mm"]
    at_shoulder = np.where((shoulder > 0) & (shoulder < reach), sections.figure("drop at shoulder", _shoulder_drop), 0)
    inside = (line < reach) & (line < sections.designs["height_mm"] - 1e-9)
    at_line = np.where(inside, sections.figure("drop at line", _line_drop), 0.0)
    return np.asarray(np.degrees(np.maximum(at_shoulder, at_line)))


def _shoulder_drop(sections: Sections) -> Array:
    return _drop(sections, sections.designs.edge_bevel_height_mm)


def _line_drop(sections: Sections) -> Array:
    return _drop(sections, sections.designs["grind_line_mm"])


def _drop(sections: Sections, height_mm: Array) -> Array:
    """By how much a face's angle falls there, rad: the greater of both faces."""
    below, above = (half_angles(sections.sides, height_mm, above=side) for side in (False, True))
    return np.asarray(np.maximum(below[0] - above[0], below[1] - above[1]))


def _split(sections: Sections, load: TaskLoad) -> splitting.Split | None:
    if load.task.split is None or load.material.splits is None:
        return None
    piece = load.task.split
    if splitting.HELD_SHARE * piece.length_mm < splitting.LEAST_ARMS * piece.arm_mm:
        return None  # arms too short to be beams
    return sections.figure(
        "split",
        lambda s, *billet: splitting.split(s.sides, splitting.Billet(*billet)),
        piece.length_mm,
        piece.arm_mm,
        load.material.youngs_modulus_mpa.likely,
        load.material.splits.gc_j_per_m2.likely / 1000,
        load.material.friction.likely,
        _root_turn(load.material.splits),
    )


def _split_depth(sections: Sections, context: Context, load: TaskLoad) -> Array | None:
    found = _split(sections, load)
    return None if found is None else found.depth_mm


def _split_force(sections: Sections, context: Context, load: TaskLoad) -> Array | None:
    found = _split(sections, load)
    return None if found is None else found.drive_n_per_mm


def _withdraw_force(sections: Sections, context: Context, load: TaskLoad) -> Array | None:
    found = _split(sections, load)
    return None if found is None else found.withdraw_n_per_mm


def _release(sections: Sections, context: Context, load: TaskLoad) -> Array | None:
    found = _split(sections, load)
    return None if found is None else found.release_margin_deg


_AT_OPENING = "at the depth whose width opens the task's billet to its end (double cantilever beam, turning roots)"
_HELD = "where the split has run half way and holds the blade; not told of billets shorter than four arms"

METRICS = [
    Metric(
        id="cut_force",
        label="cutting force",
        also=("sharpness", "sharp", "keen", "effort"),
        unit=Unit.N_PER_MM,
        better="lower",
        about=(
            "Push per mm of edge at the task's depth D: R'/(1+xi^2) + k t^2/4 + mu k A/sqrt(1+xi^2), k t^2/2 with one "
            "face flat, pressure capped at the material's plateau. See recommender.mechanics.cutting."
        ),
        estimate=True,
        compute_for_task=_push,
    ),
    Metric(
        id="draw_force",
        label="drawing force",
        also=("sharpness", "sharp", "pull"),
        unit=Unit.N_PER_MM,
        better="lower",
        about="Pull along the edge per mm of it while slicing: xi (R'/(1+xi^2) + rubbing).",
        estimate=True,
        compute_for_task=_draw,
    ),
    Metric(
        id="cut_work",
        label="work of cutting",
        also=("sharpness", "energy", "effort"),
        unit=Unit.J_PER_M2,
        better="lower",
        about="Work of push and draw per area cut at full depth: push + xi draw.",
        estimate=True,
        compute_for_task=_work,
    ),
    Metric(
        id="crack_ahead",
        label="crack ahead of the edge",
        also=("wedging", "splits", "snaps"),
        unit=Unit.NONE,
        better="lower",
        about=(
            "Greatest crack length over depth in stiff food; above 1 slices crack off before the edge parts them. "
            "Cracks shorter than a slice is thick are outside the theory."
        ),
        estimate=True,
        compute_for_task=_crack_ahead,
    ),
    Metric(
        id="drift",
        label="sideways drift",
        also=("steers", "veers", "wanders", "straight"),
        unit=Unit.N_PER_MM,
        better="either",
        about=(
            "Net sideways push of the material per mm of edge, positive to the right: left face less right face; "
            "0 for symmetric sections."
        ),
        estimate=True,
        compute_for_task=_drift,
    ),
    Metric(
        id="drift_share",
        label="sideways drift over push",
        also=("steers", "veers", "wanders", "straight"),
        unit=Unit.NONE,
        better="lower",
        about=(
            "How hard the cut pushes sideways for each newton of push; in a split, the share of the drive that one "
            "face takes more than the other. 0 for symmetric sections."
        ),
        estimate=True,
        compute_for_task=_drift_share,
    ),
    Metric(
        id="split_depth",
        label="depth that splits the billet",
        also=("splits", "batoning"),
        unit=Unit.MM,
        better="lower",
        about=f"Depth the blade is driven, {_AT_OPENING}; a blade not as thick is driven under and follows the split.",
        estimate=True,
        compute_for_task=_split_depth,
    ),
    Metric(
        id="split_force",
        label="splitting force",
        also=("splits", "batoning", "effort"),
        unit=Unit.N_PER_MM,
        better="lower",
        about=f"Drive per mm of billet width, 2 Q tan(theta + phi), {_AT_OPENING}.",
        estimate=True,
        compute_for_task=_split_force,
    ),
    Metric(
        id="withdraw_force",
        label="withdrawal force",
        also=("sticks", "stuck", "jams", "binds"),
        unit=Unit.N_PER_MM,
        better="lower",
        about=f"Pull to get the blade out per mm of billet width, 2 Q tan(phi - theta), {_HELD}.",
        estimate=True,
        compute_for_task=_withdraw_force,
    ),
    Metric(
        id="release_margin_deg",
        label="release margin",
        also=("sticks", "stuck", "jams", "binds"),
        unit=Unit.DEG,
        better="higher",
        about=f"Local half-angle less the friction angle, {_HELD}. Above 0 the blade lets go by itself.",
        estimate=True,
        compute_for_task=_release,
    ),
    Metric(
        id="lets_go_deg",
        label="wedge angle to spare over friction in the cut",
        also=("sticks", "stuck", "jams", "binds"),
        unit=Unit.DEG,
        better="higher",
        about="Local half-angle at the task's cut depth less the friction angle; the higher, the less it sticks.",
        estimate=True,
        compute_for_task=_lets_go,
    ),
    Metric(
        id="apex_growth",
        label="blunting of the apex in use",
        also=("sharpness", "dulls", "blunts", "wear", "edge holding"),
        unit=Unit.UM,
        better="lower",
        about=(
            "Radius that wear adds half way between sharpenings, the same area worn off at every angle: "
            "sqrt(A tan(included/2)), A by what the task cuts. See recommender.mechanics.wear."
        ),
        estimate=True,
        compute_for_task=_apex_growth,
    ),
    Metric(
        id="corner_deg",
        label="sharpest corner inside the cut",
        also=("shoulder", "catches", "bumps"),
        unit=Unit.DEG,
        better="lower",
        about="Largest drop of a face's angle at a shoulder or grind line inside the cut: what catches in wood.",
        estimate=False,
        compute_for_task=_corner,
    ),
    Metric(
        id="register_width",
        label="guiding facet",
        also=("facet", "bevel", "guides"),
        unit=Unit.MM,
        better="higher",
        about="Width of the straight facet in the plane of the edge, the narrower of both faces: what guides.",
        estimate=False,
        compute=lambda sections, context: sections.figure("register", lambda s: register_width(s.sides)),
    ),
    Metric(
        id="flat_back",
        label="widest guiding face",
        also=("flat", "back"),
        unit=Unit.MM,
        better="higher",
        about="Width of the widest straight face in the plane of the edge: what lies on the work in paring.",
        estimate=False,
        compute=lambda sections, context: sections.figure(
            "flat back", lambda s: register_width(s.sides, both_faces=False)
        ),
    ),
]
