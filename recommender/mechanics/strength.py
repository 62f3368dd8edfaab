"""Strength of edge and blade against sideways loads. Figures compare shapes; they never licence a load."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from recommender.geometry.arcs import Array
from recommender.geometry.outline import Outline, Sides
from recommender.geometry.profile import clipped, thickness
from recommender.geometry.section import bending_modulus, sideways_inertia
from recommender.mechanics.steel import YOUNGS_MODULUS_MPA

APEX_HEIGHT_MM = 0.05
LOAD_WIDTH_MM = 2.0
TIP_SHARE = 1 / 3
"""The tip station: where the blade has narrowed to a third of its height."""


def wedge_apex_strength(stress_mpa: npt.ArrayLike, half_angle_rad: npt.ArrayLike) -> Array:
    """Sideways load on the apex that brings the flanks to `stress` 50 um up, N per mm of edge; arguments broadcast.

    F = sigma r (2b - sin 2b) / (2 sin b), the radial-stress solution of a wedge of half-angle b loaded across.
    Source: Timoshenko and Goodier, Theory of Elasticity (memory); thin wedges agree with beam theory,
    sigma t^2 / (6 y). Nothing is said at the apex itself, where the load is 0.

    >>> stress_1_mm_up = 21.93  # MPa of 1 N/mm on a 30 degree wedge; 50 um up it is 20 times that
    >>> round(float(wedge_apex_strength(20 * stress_1_mm_up, np.radians(15))), 3)
    1.0
    """
    b = np.asarray(half_angle_rad, dtype=float)
    return np.asarray(np.asarray(stress_mpa) * APEX_HEIGHT_MM * (2 * b - np.sin(2 * b)) / (2 * np.sin(b)))


def least_half_angle_rad(stress_mpa: npt.ArrayLike, load_n_per_mm: npt.ArrayLike) -> Array:
    """Half-angle at which the apex just bears a sideways load, rad: the inverse of `wedge_apex_strength`.

    Arguments broadcast. Newton steps on the square root of the load, which is nearly straight in the angle: from the
    thin wedge's sqrt(3 F / (2 sigma r)), to rounding. At most 45 degrees, where loads beyond the apex's strength end,
    and at least 1e-4. Source: as there.
    """
    stress, load = np.broadcast_arrays(np.asarray(stress_mpa, dtype=float), np.asarray(load_n_per_mm, dtype=float))
    least, most = 1e-4, np.pi / 4
    wanted = np.sqrt(load / (stress * APEX_HEIGHT_MM))
    b = np.clip(np.sqrt(1.5) * wanted, least, most)
    for _ in range(4):
        sine, cosine = np.sin(b), np.cos(b)
        borne = b / sine - cosine  # (2b - sin 2b) / (2 sin b)
        slope = (1 - b * cosine / sine) / sine + sine
        root = np.sqrt(borne)
        b = np.clip(b - (root - wanted) * 2 * root / slope, least, most)
    return np.asarray(b)


def apex_thickness_mm(half_angle_rad: npt.ArrayLike) -> Array:
    """Thickness of the wedge 50 um up, where `wedge_apex_strength` is asked, mm: 2 r tan b, a scalar or (n,).

    Source: definition.
    """
    return np.asarray(2 * APEX_HEIGHT_MM * np.tan(np.asarray(half_angle_rad, dtype=float)))


def least_sound_half_angle_rad(stress_at_mpa: Callable[[Array], Array], load_n_per_mm: npt.ArrayLike) -> Array:
    """Half-angle at which the apex just bears a load where the stress it fails at depends on how thick it is, rad.

    `stress_at_mpa` gives the stress for a thickness (50 um up, mm), falling no faster than 1/t; loads are scalars or
    (n,). Fixed-point steps of `least_half_angle_rad`, each at least halving the error, to 1e-6; bounds as there.
    Source: as there.
    """
    load = np.asarray(load_n_per_mm, dtype=float)
    b = least_half_angle_rad(stress_at_mpa(np.asarray(1e-6)), load)
    for _ in range(25):
        last, b = b, least_half_angle_rad(stress_at_mpa(apex_thickness_mm(b)), load)
        if np.max(np.abs(b - last)) < 1e-6:
            break
    return b


@dataclass(frozen=True)
class Weakest:
    """The weakest height near the edge, (n,) each: load borne there per MPa, N, and how thick it is."""

    per_mpa: Array
    thickness_mm: Array


def weakest_near_edge(sides: Sides, edge_bevel_height_mm: Array) -> Weakest:
    """Where a sideways load on a 2 mm stretch of edge bends the blade behind it first, of nine heights.

    Least of t(y)^2 (b + 2 y) / (6 y), b = 2 mm, from 1 mm to max(3 h_edge, 3 mm), on blades lower than that up to the
    spine; the bevel's height is (n,). Source: as `local_edge_strength`.
    """
    top = np.minimum(np.maximum(3 * edge_bevel_height_mm, 3.0), sides.y0.max(axis=1))
    low = np.minimum(1.0, top / 3)
    y = low[:, None] + (top - low)[:, None] * np.linspace(0, 1, 9)
    t = np.asarray(thickness(sides, y))
    borne = t**2 * (LOAD_WIDTH_MM + 2 * y) / (6 * y)
    rows, first = np.arange(len(borne)), np.argmin(borne, axis=1)
    return Weakest(borne[rows, first], t[rows, first])


def local_edge_strength(sides: Sides, stress_mpa: npt.ArrayLike, edge_bevel_height_mm: Array) -> Array:
    """Least sideways load on a 2 mm stretch of edge that bends the blade behind it, N (n,).

    sigma t(y)^2 (b + 2 y) / (6 y), b = 2 mm, the load spreading at 45 degrees, at the weakest height
    (`weakest_near_edge`). Stress is a scalar or (n,), the bevel's height (n,).
    Source: cantilever plate, section modulus (b + 2y) t^2 / 6; the spread of the load is an estimate.
    """
    return np.asarray(np.asarray(stress_mpa) * weakest_near_edge(sides, edge_bevel_height_mm).per_mpa)


def body_edge_strength(sides: Sides, stress_mpa: npt.ArrayLike, line_mm: Array) -> Array:
    """Sideways load on a 2 mm stretch of edge that bends the blade at the grind line, N (n,): the same formula there.

    Stress is a scalar or (n,), `line_mm` (n,) above the edge. Source: as `local_edge_strength`.
    """
    t = np.asarray(thickness(sides, line_mm))
    return np.asarray(np.asarray(stress_mpa) * t**2 * (LOAD_WIDTH_MM + 2 * line_mm) / (6 * line_mm))


def pry_moment_n_m(outline: Outline, stress_mpa: npt.ArrayLike) -> Array:
    """Sideways bending moment at which the outermost fibre fails, N m: sigma times the section modulus.

    (n, v, 3) and a stress as a scalar or (n,) -> (n,). Source: beam theory, closed form.
    """
    return np.asarray(np.asarray(stress_mpa) * bending_modulus(outline) / 1000)


def tip_section(outline: Outline) -> Outline:
    """The section where the blade has narrowed to TIP_SHARE of its height: same edge, same faces, cut off there.

    (n, v, 3) -> (n, v, 3), mm. Constant stock and bevels along the blade; distal taper is not in it. The share is an
    estimate.
    """
    return clipped(outline, TIP_SHARE * outline[..., 1].max(axis=1))


def stiffness_n_per_mm(outline: Outline, length_mm: float) -> Array:
    """Sideways force at the tip per mm of bend, N/mm: 3 E I / L^3, a uniform section built in at the guard.

    (n, v, 3) -> (n,). Source: beam theory, closed form; twist, shear and the tip's narrowing are left out.

    >>> bar = np.array([[[-1.0, 0, 0], [1, 0, 0], [1, 30, 0], [-1, 30, 0]]])  # I = 30 x 2^3 / 12 = 20 mm4
    >>> round(float(stiffness_n_per_mm(bar, 100.0)[0]), 9)  # 3 x 205 000 x 20 / 1e6
    12.3
    """
    return np.asarray(3 * YOUNGS_MODULUS_MPA * sideways_inertia(outline) / length_mm**3)
