"""A wedge in a split: when the crack runs, what it takes to drive the blade and to get it out again."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from recommender.geometry.arcs import Array, Scalars
from recommender.geometry.outline import Sides
from recommender.geometry.profile import half_angles, height_at_thickness, thickness


@dataclass(frozen=True)
class Billet:
    """A piece to split: two arms as built-in beams, per mm of width.

    length_mm: how far the crack must run; arm_mm: depth h of each arm; modulus_mpa along the arms;
    gc_n_per_mm: fracture energy, mode I (1 J/m2 = 0.001 N/mm); friction: coefficient on steel, dimensionless.
    """

    length_mm: float
    arm_mm: float
    modulus_mpa: Scalars
    gc_n_per_mm: Scalars
    friction: Scalars
    """Floats, or (n,) for one billet a section."""

    @property
    def half_opening_mm(self) -> Any:
        """Half-opening at the mouth that runs the crack to the end: w = sqrt(4 Gc L^4 / (3 E h^3)), a float or (n,).

        Source: `crack_length_mm` solved for w; valid while L > 2 h.
        """
        return np.sqrt(4 * self.gc_n_per_mm * self.length_mm**4 / (3 * self.modulus_mpa * self.arm_mm**3))


def crack_length_mm(half_opening_mm: Array, arm_mm: float, modulus_mpa: Scalars, gc_n_per_mm: Scalars) -> Array:
    """Length of the crack held open by w at its mouth: c = (3 E h^3 w^2 / (4 Gc))^(1/4), mm; arguments broadcast.

    Double cantilever beam: energy of both arms 3 E I w^2/(2 c^3) x 2, G = 9 E I w^2 / c^4 with I = h^3/12.
    Valid while c > 2 h; shorter arms are no beams.
    Source: beam theory of the double cantilever specimen (memory).

    >>> round(float(crack_length_mm(np.array(0.5), 20.0, 12000.0, 0.3)) ** 4)  # 3 x 12000 x 8000 x 0.25 / 1.2
    60000000
    """
    w = np.asarray(half_opening_mm, dtype=float)
    return np.asarray((3 * modulus_mpa * arm_mm**3 * w**2 / (4 * gc_n_per_mm)) ** 0.25)


def side_force_n_per_mm(half_opening_mm: Scalars, crack_mm: float, arm_mm: float, modulus_mpa: Scalars) -> Any:
    """Force that holds each arm open, per mm of width: N = w E h^3 / (4 c^3); arguments broadcast.

    Valid while c > 2 h.
    Source: closed form, an end-loaded cantilever with I = h^3/12; double cantilever specimen (memory).

    >>> side_force_n_per_mm(0.5, 100.0, 20.0, 12000.0)
    12.0
    """
    return half_opening_mm * modulus_mpa * arm_mm**3 / (4 * crack_mm**3)


@dataclass(frozen=True)
class Split:
    """Per candidate (n,): depth at which the billet splits, drive and withdrawal per mm of width, release margin."""

    depth_mm: Array
    drive_n_per_mm: Array
    withdraw_n_per_mm: Array
    """Positive: the blade sticks and has to be pulled; negative: the split pushes it out."""
    release_margin_deg: Array
    """Local half-angle less the friction angle; positive lets go."""
    off_centre: Array
    """Share of the drive that one face takes more than the other: turns the blade in the split."""


def split(sides: Sides, billet: Billet) -> Split:
    """Drive a section into a billet until it splits, (n,) each; NaN where the blade is too thin to open it.

    The wedge touches at the mouth: x(y) = w gives the depth y, the local half-angle theta there. The arms push back
    across the blade with Q, so drive = 2 Q tan(theta + phi) and withdrawal = 2 Q tan(phi - theta), tan phi = mu; faces
    that differ add up. Valid while the billet is longer than 2 arms and theta + phi below 90 degrees.
    Sources: Q from the double cantilever beam; P = 2 Q tan(a + phi), Machinery's Handbook (seen, quoted).
    """
    w = billet.half_opening_mm
    depth = np.asarray(height_at_thickness(sides, 2 * w))
    reached = ~np.isnan(depth)
    at = np.where(reached, depth, 0.0)
    left, right = half_angles(sides, at, above=False)
    force = side_force_n_per_mm(w, billet.length_mm, billet.arm_mm, billet.modulus_mpa)
    phi = np.arctan(billet.friction)
    margin = np.degrees((left + right) / 2 - phi)
    on_left, on_right = np.tan(left + phi), np.tan(right + phi)

    def where_reached(value: Array) -> Array:
        return np.asarray(np.where(reached, value, np.nan))

    return Split(
        depth,
        where_reached(force * (on_left + on_right)),
        where_reached(force * (np.tan(phi - left) + np.tan(phi - right))),
        where_reached(margin),
        where_reached(np.abs(on_right - on_left) / (on_right + on_left)),
    )


def crack_ahead(sides: Sides, depth_mm: float, slice_mm: float, modulus_mpa: Scalars, gc_n_per_mm: Scalars) -> Array:
    """Greatest crack length over depth while a blade goes through stiff food; above 1 slices crack off ahead of it.

    A ratio, (n,): max over y of c(t(y)/2) / y, y at nine heights from one slice thickness (arms shorter than that are
    no beams) to D. Modulus and fracture energy are scalars or (n,). Source: `crack_length_mm`; the measure is a
    definition of our own.
    """
    low = min(slice_mm, depth_mm)
    y = np.linspace(low, depth_mm, 9)
    half = np.asarray(thickness(sides, y[None, :])) / 2
    modulus, gc = np.asarray(modulus_mpa)[..., None], np.asarray(gc_n_per_mm)[..., None]
    return np.asarray((crack_length_mm(half, slice_mm, modulus, gc) / y).max(axis=1))
