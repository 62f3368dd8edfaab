"""Forces on a blade that cuts into a material standing as an elastic foundation."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from recommender.geometry.arcs import Array, Scalars
from recommender.geometry.outline import Sides
from recommender.geometry.profile import area_below, faces_at, height_at_thickness, thickness

FREE_FACE_SHARE = 0.15
"""Share of the bulk pressure with which a slice that bends away still rubs; estimate."""
FREE_FACE_BAND = (0.05, 0.3)
BLUNT_LENGTH_MM = 0.005
"""Apex radius that doubles the cost of parting the material; estimate."""
BLUNT_LENGTH_BAND_MM = (0.002, 0.015)


@dataclass(frozen=True)
class CutMaterial:
    """What the cutting model needs to know of a material: floats, or (n,) for one material a section.

    k and plateau are finite and above 0; friction is a coefficient, dimensionless.
    """

    toughness_n_per_mm: Scalars
    """R, fracture toughness in cutting; 1 J/m2 = 0.001 N/mm."""
    foundation_n_per_mm3: Scalars
    """k, lateral pressure per mm that each face presses aside."""
    plateau_mpa: Scalars
    """Pressure at which the material yields sideways; the foundation's pressure stops there."""
    friction: Scalars
    blunt_length_mm: Scalars = BLUNT_LENGTH_MM
    """r0, apex radius that doubles the cost of parting."""
    free_face_share: Scalars = FREE_FACE_SHARE
    """Share of pressure that a slice keeps which bends away."""


@dataclass(frozen=True)
class CutForce:
    """Force per mm of edge, N/mm, (n,) each: across the edge (push), along it (draw), and the parts of the push."""

    push: Array
    draw: Array
    parting: Array
    wedging: Array
    rubbing: Array


def slice_push(ratio: npt.ArrayLike, stroke_mm: float, depth_mm: npt.ArrayLike) -> Array:
    """Speed along the edge over speed across it, no more than the stroke allows: min(xi, stroke / D), dimensionless.

    Ratio and depth are scalars or (n,); depth above 0. Source: definition of xi, Atkins, Xu and Jeronimidis, J.
    Mater. Sci. 39 (2004) 2761 (seen); the bound by the stroke is geometry.

    >>> float(slice_push(5.0, 100.0, 40.0))
    2.5
    """
    return np.minimum(ratio, stroke_mm / np.asarray(depth_mm))


@dataclass(frozen=True)
class PressedAside:
    """What a section presses aside at its depth, N/mm of edge, (n,) each."""

    wedging: Array
    """Push against the wedge: both faces."""
    pressed: Array
    """Pressure summed over both faces: what rubs."""
    sideways: Array
    """Pressure of the left face less that of the right: what drives the blade to its right."""


def pressed_aside(
    sides: Sides, depth_mm: npt.ArrayLike, material: CutMaterial, *, slice_is_free: bool = False
) -> PressedAside:
    """What both faces of a section meet at depth D, for faces that only widen: push, pressure, and what is left over.

    Each face presses its own x aside, ``p = min(k x, plateau)``: a face that reaches x at D pushes with
    ``int p dx = k x^2/2``, past the plateau ``p (x - p/2k)``, and presses with ``int p dy = k A``, A its area below D
    (from where it meets the plateau on, ``p`` times the height). Two alike faces: k t^2/4 and k A; a flat back in
    x = 0 presses nothing, and the ground face k t^2/2 and k A, all of it sideways.

    A free slice gives way with the share s = `free_face_share` of k and plateau. It lies on the wider face. The hand
    then leans the blade against the bulk until both sides press alike, as two springs in a row:
    ``p = min(k t s/(1 + s), s plateau)`` on each; a blade whose other face takes less than s/(1 + s) of the thickness,
    such as one with a flat back, lies along the bulk as it is.

    A cut deeper than the blade is high buries it to the spine: D is then the height. N/mm, (n,). Raises GeometryError
    if a face turns back towards the edge.

    Limits: in the bulk the blade goes straight down and the hand bears what is sideways. A one-sided one that is let go
    steers towards its flat face until both sides press alike, pushed like a section ground on both sides, as thick.
    Source: Winkler's foundation, closed form; the share of a free slice is an estimate.
    """
    sides = sides.flat_backed  # what bears on a hollowed back bears on its rims
    depth = np.broadcast_to(np.minimum(depth_mm, sides.y0.max(axis=1)), sides.x0.shape[:1])
    k, p = (np.broadcast_to(v, depth.shape) for v in (material.foundation_n_per_mm3, material.plateau_mpa))
    even = sides.mirrored
    share = np.broadcast_to(material.free_face_share if slice_is_free else 1.0, depth.shape)
    if slice_is_free and not even.all():
        left, right = faces_at(sides, depth)
        even = even | (np.minimum(-left, right) >= share / (1 + share) * (right - left))
    out = np.empty((3, len(depth)))
    rows = np.flatnonzero(even)
    if rows.size:
        some = sides if rows.size == len(depth) else sides.taking(rows)
        s = share[rows]
        wedging, pressed = _of_face(some, depth[rows], k[rows] * 2 * s / (1 + s), p[rows] * s, 2)
        out[:, rows] = 2 * wedging, 2 * pressed, np.zeros(rows.size)
    rows = np.flatnonzero(~even)
    if rows.size:
        some = sides if rows.size == len(depth) else sides.taking(rows)
        on = [_of_face(some.face(right=right), depth[rows], k[rows], p[rows], 1) for right in (False, True)]
        on_left = on[0][1] > on[1][1]
        s = share[rows]
        left, right = on[0] * np.where(on_left, s, 1.0), on[1] * np.where(on_left, 1.0, s)
        out[:, rows] = left[0] + right[0], left[1] + right[1], left[1] - right[1]
    return PressedAside(*out)


def _of_face(sides: Sides, depth: Array, k: Array, p: Array, faces: int) -> Array:
    """Wedging and pressure of one face, (2, n), the thickness shared out to so many like it."""
    x = np.asarray(thickness(sides, depth)) / faces
    capped = np.minimum(p / k, 1e9)
    onset = depth.copy()
    rows = np.flatnonzero(x > capped)
    if rows.size:
        reached = height_at_thickness(sides.taking(rows), faces * capped[rows])
        onset[rows] = np.where(np.isnan(reached), onset[rows], np.minimum(reached, onset[rows]))
    elastic = np.minimum(x, capped)
    wedging = k * elastic**2 / 2 + p * (x - elastic)
    pressed = k * np.asarray(area_below(sides, onset)) / faces + p * (depth - onset)
    return np.stack([wedging, pressed])


def force_on(
    aside: PressedAside,
    material: CutMaterial,
    *,
    slice_push_ratio: npt.ArrayLike = 0.0,
    apex_radius_mm: npt.ArrayLike = 0.0,
) -> CutForce:
    """Force on a blade that cuts on: R'/(1 + xi^2) + wedging + mu pressed/sqrt(1 + xi^2), N/mm (n,).

    The apex radius r raises R to R' = R (1 + r/r0). Friction turns with the slip. Ratio xi and radius are scalars or
    (n,), 0 or more.

    Limits: quasi-static; no chip curling; k and p lump the sample's size.
    Sources: slice-push V = R w/(1 + xi^2), H = xi V: Atkins, Xu and Jeronimidis, J. Mater. Sci. 39 (2004) 2761
    (definition seen, formulas from memory); sharpness term: estimate, linear in r as in work on blade sharpness
    indices (memory).
    """
    xi = np.asarray(slice_push_ratio, dtype=float)
    wedging = aside.wedging
    rubbing = material.friction * aside.pressed / np.sqrt(1 + xi**2)
    parting = material.toughness_n_per_mm * (1 + np.asarray(apex_radius_mm) / material.blunt_length_mm) / (1 + xi**2)
    parting = np.broadcast_to(parting, wedging.shape)
    return CutForce(parting + wedging + rubbing, xi * (parting + rubbing), parting, wedging, rubbing)


def cut_force(
    sides: Sides,
    depth_mm: float,
    material: CutMaterial,
    *,
    slice_push_ratio: npt.ArrayLike = 0.0,
    apex_radius_mm: npt.ArrayLike = 0.0,
    slice_is_free: bool = False,
) -> CutForce:
    """Force to hold a blade at depth D while it cuts on, for any profile that only widens, N/mm (n,).

    ``R'/(1 + xi^2) + k t(D)^2/4 + mu k A(D)/sqrt(1 + xi^2)`` in the bulk with both faces alike, ``k t(D)^2/2`` with one
    of them flat: `force_on` what is `pressed_aside` at depth D. Ratio and radius are scalars or (n,). Source: as there,
    limits and errors too.

    >>> wedge = Sides.of([[0, 0, 0], [10, 40, 0], [-10, 40, 0]])  # tan a = 1/4
    >>> soft = CutMaterial(0.2, 0.1, 10.0, 0.5)
    >>> float(cut_force(wedge, 8.0, soft).push[0].round(9))  # 0.2 + k tan a (tan a + mu) D^2 = 0.2 + 1.2
    1.4
    """
    aside = pressed_aside(sides, depth_mm, material, slice_is_free=slice_is_free)
    return force_on(aside, material, slice_push_ratio=slice_push_ratio, apex_radius_mm=apex_radius_mm)


def drift_force(sides: Sides, depth_mm: float, material: CutMaterial, *, slice_is_free: bool = False) -> Array:
    """Net sideways force per mm of edge, N/mm (n,), positive to the right (edge down, tip forward).

    What is `pressed_aside` sideways: left face less right face. A section ground on its right is driven left, towards
    its flat face, and tracks that face where a free slice leaves only `free_face_share` of its pressure. Sections alike
    on both sides do not drift.
    Limits as there. Source: as there.
    """
    return pressed_aside(sides, depth_mm, material, slice_is_free=slice_is_free).sideways
