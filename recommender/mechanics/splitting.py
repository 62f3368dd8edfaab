"""A wedge in a split: when the crack runs, what it takes to drive the blade and to get it out again."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from recommender.geometry.arcs import Array, Scalars
from recommender.geometry.outline import Sides
from recommender.geometry.profile import half_angles, height_at_thickness, thickness

LEAST_ARMS = 2.0
"""Cracks shorter than so many arms are thick say nothing here: their arms are no beams."""
HELD_SHARE = 0.5
"""How far the split has run when it holds a blade fast, over the billet's length; estimate. Run to the end, it holds
nothing: the halves have parted."""


def root_turn(along_over_shear: Scalars, across_over_along: Scalars) -> Any:
    """By how much of its thickness an arm acts longer than the crack, as its root turns and it shears: chi.

    ``chi = sqrt(r/11 (3 - 2 (g/(1 + g))^2))``, ``g = 1.18 r sqrt(q)``: r the modulus along the arm over the shear
    modulus, q that across over that along; dimensionless, they broadcast. About 0.7 where all directions are alike, 1.2
    to 1.6 in wood. Valid for cracks of 2 arms and more, and nearly so to one. Source: Williams, Compos. Sci.
    Technol. 35 (1989) 367, the correction of ISO 15024 (memory).

    >>> round(float(root_turn(15.6, 0.068)), 2)  # Douglas-fir
    1.52
    """
    g = 1.18 * along_over_shear * np.sqrt(across_over_along)
    return np.sqrt(along_over_shear / 11 * (3 - 2 * (g / (1 + g)) ** 2))


@dataclass(frozen=True)
class Billet:
    """A piece to split: two arms as cantilevers, per mm of width.

    length_mm: how far the crack must run; arm_mm: depth h of each arm; modulus_mpa along the arms;
    gc_n_per_mm: fracture energy, mode I (1 J/m2 = 0.001 N/mm); friction: coefficient on steel, dimensionless;
    root: chi of `root_turn`, 0 where the arms are built in.
    """

    length_mm: float
    arm_mm: float
    modulus_mpa: Scalars
    gc_n_per_mm: Scalars
    friction: Scalars
    """Floats, or (n,) for one billet a section."""
    root: Scalars = 0.0

    def half_opening_at_mm(self, crack_mm: float) -> Any:
        """Half-opening at the mouth that runs the crack so far, mm: w = sqrt(4 Gc (c + chi h)^4 / (3 E h^3)), (n,).

        Source: `crack_length_mm` solved for w; valid for cracks of LEAST_ARMS arms and more.
        """
        acts = crack_mm + self.root * self.arm_mm
        return np.sqrt(4 * self.gc_n_per_mm * acts**4 / (3 * self.modulus_mpa * self.arm_mm**3))

    @property
    def half_opening_mm(self) -> Any:
        """Half-opening at the mouth that runs the crack to the end, a float or (n,); source: `half_opening_at_mm`."""
        return self.half_opening_at_mm(self.length_mm)


def crack_length_mm(
    half_opening_mm: Array, arm_mm: float, modulus_mpa: Scalars, gc_n_per_mm: Scalars, root: Scalars = 0.0
) -> Array:
    """Length of the crack held open by w at its mouth: c = (3 E h^3 w^2 / (4 Gc))^(1/4) - chi h, at least 0, mm.

    Double cantilever beam: energy of both arms 3 E I w^2/(2 a^3) x 2, G = 9 E I w^2 / a^4 with I = h^3/12; the arms act
    as long as a = c + chi h, chi their `root_turn`. Arguments broadcast. Valid while c > 2 h; shorter arms are no
    beams.
    Source: beam theory of the double cantilever specimen (memory).

    >>> round(float(crack_length_mm(np.array(0.5), 20.0, 12000.0, 0.3)) ** 4)  # 3 x 12000 x 8000 x 0.25 / 1.2
    60000000
    """
    w = np.asarray(half_opening_mm, dtype=float)
    acts = (3 * modulus_mpa * arm_mm**3 * w**2 / (4 * gc_n_per_mm)) ** 0.25
    return np.asarray(np.maximum(acts - root * arm_mm, 0.0))


def side_force_n_per_mm(
    half_opening_mm: Scalars, crack_mm: Scalars, arm_mm: float, modulus_mpa: Scalars, root: Scalars = 0.0
) -> Any:
    """Force that holds each arm open, per mm of width: N = w E h^3 / (4 (c + chi h)^3); arguments broadcast.

    Valid while c > 2 h.
    Source: closed form, an end-loaded cantilever with I = h^3/12; double cantilever specimen (memory).

    >>> side_force_n_per_mm(0.5, 100.0, 20.0, 12000.0)
    12.0
    """
    return half_opening_mm * modulus_mpa * arm_mm**3 / (4 * (crack_mm + root * arm_mm) ** 3)


@dataclass(frozen=True)
class Split:
    """Per candidate (n,): depth at which the billet splits, drive and withdrawal per mm of width, release margin."""

    depth_mm: Array
    drive_n_per_mm: Array
    withdraw_n_per_mm: Array
    """Where the split is under way and holds it. Positive: the blade sticks; negative: the split pushes it out."""
    release_margin_deg: Array
    """Local half-angle less the friction angle, there too; positive lets go."""
    off_centre: Array
    """Share of the drive that one face takes more than the other: turns the blade in the split."""


def split(sides: Sides, billet: Billet) -> Split:
    """Drive a section into a billet until it splits, (n,) each; NaN where the blade is too thin to open it.

    The wedge touches at the mouth: x(y) = w gives the depth y, the local half-angle theta there. The arms push back
    across the blade with Q, so drive = 2 Q tan(theta + phi) and withdrawal = 2 Q tan(phi - theta), tan phi = mu; faces
    that differ add up. Depth, drive and what turns the blade are those at the opening that splits the billet to its
    end. A blade not as thick as that is driven under and follows the split, whose crack c its spine holds open: depth
    is its height and the rest of the billet, L - c, if c is longer than LEAST_ARMS arms. Withdrawal and release are
    those where the split has run HELD_SHARE of the way and holds the blade. Valid while that crack is longer than
    LEAST_ARMS arms and theta + phi below 90 degrees.
    Sources: Q from the double cantilever beam; P = 2 Q tan(a + phi), Machinery's Handbook (seen, quoted).
    """
    phi = np.arctan(billet.friction)
    opened, reaches = _wedged(sides, billet.half_opening_mm)
    height = sides.y0.max(axis=1)
    spine = np.asarray(thickness(sides, height)) / 2
    follows = crack_length_mm(spine, billet.arm_mm, billet.modulus_mpa, billet.gc_n_per_mm, billet.root)
    follows = np.where(follows > LEAST_ARMS * billet.arm_mm, follows, np.nan)
    crack = np.where(reaches, billet.length_mm, follows)
    half = np.where(reaches, billet.half_opening_mm, spine)
    left, right = half_angles(sides, np.where(reaches, opened, height), above=False)
    force = side_force_n_per_mm(half, crack, billet.arm_mm, billet.modulus_mpa, billet.root)
    on_left, on_right = np.tan(left + phi), np.tan(right + phi)

    held_mm = HELD_SHARE * billet.length_mm
    half = billet.half_opening_at_mm(held_mm)
    at, holds = _wedged(sides, half)
    held_left, held_right = (np.where(holds, angle, np.nan) for angle in half_angles(sides, at, above=False))
    held = side_force_n_per_mm(half, held_mm, billet.arm_mm, billet.modulus_mpa, billet.root)
    return Split(
        np.where(reaches, opened, height + billet.length_mm - crack),
        force * (on_left + on_right),
        held * (np.tan(phi - held_left) + np.tan(phi - held_right)),
        np.asarray(np.degrees((held_left + held_right) / 2 - phi)),
        np.where(np.isnan(crack), np.nan, np.abs(on_right - on_left) / (on_right + on_left)),
    )


def _wedged(sides: Sides, half_opening_mm: Any) -> tuple[Array, npt.NDArray[np.bool_]]:
    """Depth at which a section opens the mouth so far, (n,), and whether it is as thick; 0 where not."""
    depth = np.asarray(height_at_thickness(sides, 2 * half_opening_mm))
    return np.nan_to_num(depth), ~np.isnan(depth)


def crack_ahead(
    sides: Sides,
    depth_mm: npt.ArrayLike,
    slice_mm: float,
    modulus_mpa: Scalars,
    gc_n_per_mm: Scalars,
    root: Scalars = 0.0,
) -> Array:
    """Greatest crack length over depth while a blade goes through stiff food; above 1 slices crack off ahead of it.

    A ratio, (n,): max over y of c(t(y)/2) / y, y at nine heights from one slice thickness (arms shorter than that are
    no beams) to D. Depth, modulus, fracture energy and `root_turn` are scalars or (n,). A crack shorter than the slice
    is thick is outside the theory: it is told as it comes, 0 where the turning roots take up the whole opening.
    Source: `crack_length_mm`; the measure is a definition of our own.
    """
    depth = np.broadcast_to(np.asarray(depth_mm, dtype=float), sides.x0.shape[:1])
    y = np.linspace(np.minimum(slice_mm, depth), depth, 9, axis=-1)
    half = np.asarray(thickness(sides, y)) / 2
    modulus, gc, turn = (np.asarray(v)[..., None] for v in (modulus_mpa, gc_n_per_mm, root))
    return np.asarray((crack_length_mm(half, slice_mm, modulus, gc, turn) / y).max(axis=1))
