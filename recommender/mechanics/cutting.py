"""Forces on a blade that cuts into a material standing as an elastic foundation."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from recommender.geometry.arcs import Array, Scalars
from recommender.geometry.outline import Sides
from recommender.geometry.profile import area_below, faces_at, height_at_thickness, thickness

FREE_FACE_SHARE = 0.15
"""Share of the bulk pressure with which a slice that bends away still rubs; estimate, 0.05-0.3."""
BLUNT_LENGTH_MM = 0.005
"""Apex radius that doubles the cost of parting the material; estimate, 0.002-0.015."""


_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(12)


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


@dataclass(frozen=True)
class CutForce:
    """Force per mm of edge, N/mm, (n,) each: across the edge (push), along it (draw), and the parts of the push."""

    push: Array
    draw: Array
    parting: Array
    wedging: Array
    rubbing: Array


def slice_push(ratio: npt.ArrayLike, stroke_mm: float, depth_mm: float) -> Array:
    """Speed along the edge over speed across it, no more than the stroke allows: min(xi, stroke / D), dimensionless.

    `ratio` a scalar or (n,), of the same shape; depth above 0. Source: definition of xi, Atkins, Xu and Jeronimidis, J.
    Mater. Sci. 39 (2004) 2761 (seen); the bound by the stroke is geometry.

    >>> float(slice_push(5.0, 100.0, 40.0))
    2.5
    """
    return np.minimum(ratio, stroke_mm / depth_mm)


@dataclass(frozen=True)
class PressedAside:
    """What a section presses aside at its depth, (n,): push of the wedge and pressure on its faces, N/mm."""

    wedging: Array
    pressed: Array


def pressed_aside(sides: Sides, depth_mm: float, material: CutMaterial, *, slice_is_free: bool = False) -> PressedAside:
    """Wedge push k t(D)^2/4 and face pressure k A(D), N/mm (n,), for any profile that only widens.

    t is the thickness at depth D and A the area below it (both faces pressed aside by t/2). Where k t/2 passes the
    plateau p, pressure stays at p. A free slice presses with FREE_FACE_SHARE on its face. A cut deeper than the blade
    is high buries it to the spine: D is then the height. Raises GeometryError if a face turns back towards the edge.
    Source: Winkler's foundation, p = k t/2 on both faces, closed form.
    """
    k, p = material.foundation_n_per_mm3, material.plateau_mpa
    faces = (1 + FREE_FACE_SHARE) / 2 if slice_is_free else 1.0
    depth = np.minimum(depth_mm, sides.y0.max(axis=1))
    half = np.asarray(thickness(sides, depth)) / 2
    capped_half = np.minimum(p / k, 1e9)
    over = half > capped_half
    onset = np.array(np.broadcast_to(depth, half.shape))
    rows = np.flatnonzero(over)
    if rows.size:
        reached = height_at_thickness(sides.taking(rows), 2 * np.broadcast_to(capped_half, half.shape)[rows])
        onset[rows] = np.where(np.isnan(reached), onset[rows], np.minimum(reached, onset[rows]))
    elastic = np.minimum(half, capped_half)
    wedging = faces * (k * elastic**2 + 2 * p * (half - elastic))
    pressed = faces * (k * np.asarray(area_below(sides, onset)) + 2 * p * (depth - onset))
    return PressedAside(np.asarray(wedging), np.asarray(pressed))


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
    parting = material.toughness_n_per_mm * (1 + np.asarray(apex_radius_mm) / BLUNT_LENGTH_MM) / (1 + xi**2)
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

    ``R'/(1 + xi^2) + k t(D)^2/4 + mu k A(D)/sqrt(1 + xi^2)``: `force_on` what is `pressed_aside` at depth D. Ratio and
    radius are scalars or (n,). Source: as there, limits and errors too.

    >>> wedge = Sides.of([[0, 0, 0], [10, 40, 0], [-10, 40, 0]])  # tan a = 1/4
    >>> soft = CutMaterial(0.2, 0.1, 10.0, 0.5)
    >>> float(cut_force(wedge, 8.0, soft).push[0].round(9))  # 0.2 + k tan a (tan a + mu) D^2 = 0.2 + 1.2
    1.4
    """
    aside = pressed_aside(sides, depth_mm, material, slice_is_free=slice_is_free)
    return force_on(aside, material, slice_push_ratio=slice_push_ratio, apex_radius_mm=apex_radius_mm)


def drift_force(sides: Sides, depth_mm: float, material: CutMaterial, *, slice_is_free: bool = False) -> Array:
    """Net sideways force per mm of edge, N/mm (n,), positive to the right (edge down, tip forward).

    Each face presses aside its own x: ``p = min(k x, plateau)``, summed over depth (12-point Gauss-Legendre)
    left face less right face: a section ground on its right is driven left, towards its flat face. With a
    free slice on the ground side only FREE_FACE_SHARE of its pressure is left and the blade tracks its flat face.
    Zero for symmetric sections. Source: Winkler's foundation as in `cut_force`; that share is an estimate.
    """
    out = np.zeros(len(sides.x0))
    rows = np.flatnonzero(~sides.mirrored)
    if not rows.size:
        return out
    some = sides.taking(rows)
    depth = np.minimum(depth_mm, some.y0.max(axis=1))
    left, right = faces_at(some, depth[:, None] * (_NODES + 1) / 2)
    k, p = (
        np.broadcast_to(value, out.shape)[rows, None] for value in (material.foundation_n_per_mm3, material.plateau_mpa)
    )
    on_right = np.minimum(k * np.maximum(right, 0.0), p)
    on_left = np.minimum(k * np.maximum(-left, 0.0), p)
    net = ((on_left - on_right) * _WEIGHTS).sum(-1) * depth / 2
    out[rows] = net * (FREE_FACE_SHARE if slice_is_free else 1.0)
    return out
