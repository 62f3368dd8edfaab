"""What a stroke that meets something hard does to an edge: a board, a joint, a staple, a stone."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from recommender.geometry.arcs import Array, Scalars

STROKES_BETWEEN_SHARPENINGS = 2000.0
"""Estimate; by it a share of strokes becomes a chance to meet something hard before the next sharpening."""
STROKES_BAND = (500.0, 8000.0)
PLASTIC_OVER_FIRST_YIELD = 1.5
"""Bending that a solid section bears when it yields right through, over that at first yield; closed form."""
CRUSHING_OVER_YIELD = 2 / 3**0.5
"""Pressure at which an edge is crushed that meets something harder, over its yield: plane strain, von Mises."""


@dataclass(frozen=True)
class Struck:
    """What is struck and how: numbers, or (n,) for one a section."""

    pressure_mpa: Scalars
    """What it presses back with where it is dented: its hardness as a pressure."""
    friction: Scalars
    one_sided_share: Scalars
    """Share of the pressure that one flank meets and the other does not: 0 straight down, 1 beside a free flank."""
    energy_n_mm: Scalars
    """Energy of the stroke that is left when it gets there, N mm = mJ."""
    contact_mm: Scalars
    """Length of edge that meets it."""
    hand_n_per_mm: Scalars
    """Stiffness of hand and blade behind the edge."""


@dataclass(frozen=True)
class Damage:
    """How high up from the apex an edge is rolled and how high it breaks out, mm, (n,) each; 0 where it bears it."""

    rolled_mm: Array
    chipped_mm: Array

    @property
    def depth_mm(self) -> Array:
        """Of the two the deeper, which answers, mm (n,)."""
        return np.maximum(self.rolled_mm, self.chipped_mm)


def flank_stress_factor(half_angle_rad: npt.ArrayLike) -> Array:
    """Stress along the flanks of a wedge pressed on one of them, over that pressure, dimensionless; any shape.

    ``K = (sin 2b + 2b cos 2b) / (2 (sin 2b - 2b cos 2b))``: on the pressed flank q (K - 1/2) in tension, on the other
    q (K + 1/2) in compression, however far from the apex. Thin wedges tend to beam theory, 3 / (4 tan^2 b). For
    half-angles b above 0 and below 45 degrees. Source: M. Levy's wedge under uniform pressure, as in Timoshenko and
    Goodier, Theory of Elasticity (memory); derived anew in tests/validation.

    >>> float(flank_stress_factor(np.radians(15)).round(2)), float((0.75 / np.tan(np.radians(15)) ** 2).round(2))
    (10.24, 10.45)
    """
    doubled = 2 * np.asarray(half_angle_rad, dtype=float)
    sine, bent = np.sin(doubled), doubled * np.cos(doubled)
    return np.asarray((sine + bent) / (2 * (sine - bent)))


def struck_depth_mm(half_angle_rad: npt.ArrayLike, struck: Struck, yield_mpa: npt.ArrayLike) -> Array:
    """Height of edge that is pressed when the stroke has come to rest, mm; arguments broadcast.

    Energy balance: ``e = G d^2 (1 + 2 G L / k)``, G = p (tan b + mu): the work of a wedge against the mean pressure p
    of both flanks, and of the hand's spring k under the same force 2 G d L. e is the energy per mm, L the length that
    meets it. What is harder than the edge presses with `CRUSHING_OVER_YIELD` times its yield. Source: energy balance,
    closed form; a constant pressure is an estimate.

    >>> board = Struck(59.0, 0.3, 0.0, 150.0, 20.0, 20.0)  # 150 mJ on a board of ash, over 20 mm of edge
    >>> depth = struck_depth_mm(np.radians(15), board, 1700.0)
    >>> round(float(depth), 4), round(float(2 * 59 * (np.tan(np.radians(15)) + 0.3) * depth * 20))  # mm; the peak, N
    (0.0574, 77)
    """
    work = mean_pressure_mpa(struck, yield_mpa) * (np.tan(half_angle_rad) + struck.friction)
    spring = 1 + 2 * work * struck.contact_mm / struck.hand_n_per_mm
    return np.asarray(np.sqrt(struck.energy_n_mm / struck.contact_mm / (work * spring)))


def mean_pressure_mpa(struck: Struck, yield_mpa: npt.ArrayLike) -> Array:
    """Pressure on both flanks in the mean, MPa; arguments broadcast.

    ``p (1 - s/2)``, s the one-sided share, p no more than `CRUSHING_OVER_YIELD` times the edge's yield. Source:
    definition; the cap is von Mises' criterion in plane strain.
    """
    pressure = np.minimum(struck.pressure_mpa, CRUSHING_OVER_YIELD * np.asarray(yield_mpa, dtype=float))
    return np.asarray(pressure * (1 - np.asarray(struck.one_sided_share) / 2))


def damage(
    half_angle_rad: npt.ArrayLike, struck: Struck, yield_mpa: npt.ArrayLike, fails_at_mpa: Callable[[Array], Array]
) -> Damage:
    """How far up a stroke rolls and chips an edge that meets something hard, mm; arguments broadcast.

    Over the height d that is pressed (`struck_depth_mm`) the flanks bear one and the same stress at every height: in
    compression ``C = q (K + 1/2) + F``, in tension ``T = q (K - 1/2) - p (1 - s) - F``, q = s p what one flank bears
    more, K the `flank_stress_factor`, F = 2 mu p (1 - s/2) / tan 2b from friction along both. Above d the load's
    moment grows slower than the section: ``sigma(r) = (2A + B) d/r - A (d/r)^2``, A the bending part and B the rest.
    It rolls as far up as compression exceeds yield, and chips as far up as tension exceeds what a section as thick as
    that at d fails at, `fails_at_mpa` of a thickness in mm; where neither is exceeded at d, nowhere. From first yield
    on it takes a set, the whole height at `PLASTIC_OVER_FIRST_YIELD` times that, in between its share of the height.
    So whether an edge bears something depends on angle, steel and what it meets, and how deep the damage is on the
    energy.

    Validity: half-angles above 0 and below 45 degrees; bevels higher than the damage; no repeated blows.
    Source: Levy's wedge (`flank_stress_factor`); friction by the same stress function, closed form; above d beam
    theory. The one-sided share is an estimate.

    >>> bone = Struck(417.0, 0.2, 0.5, 60.0, 3.0, 20.0)
    >>> steep, fine = (damage(np.radians(b), bone, 1700.0, lambda t: np.full_like(t, 1700.0)) for b in (20.0, 12.0))
    >>> float(steep.depth_mm), round(float(fine.rolled_mm), 3)
    (0.0, 0.235)
    """
    b = np.asarray(half_angle_rad, dtype=float)
    strength = np.asarray(yield_mpa, dtype=float)
    share = np.asarray(struck.one_sided_share, dtype=float)
    mean = mean_pressure_mpa(struck, strength)
    pressure = mean / (1 - share / 2)
    factor, more = flank_stress_factor(b), share * pressure
    rubbing = 2 * np.asarray(struck.friction) * mean / np.tan(2 * b)
    depth = struck_depth_mm(b, struck, strength)
    bending = more * (factor + 0.5)
    set_share = np.clip(((bending + rubbing) / strength - 1) / (PLASTIC_OVER_FIRST_YIELD - 1), 0, 1)
    rolled = set_share * _reached(depth, bending, rubbing, strength)
    fails_at = fails_at_mpa(2 * depth * np.tan(b))
    chipped = _reached(depth, more * (factor - 0.5), -pressure * (1 - share) - rubbing, fails_at)
    return Damage(rolled, chipped)


def _reached(depth: Array, bending: Array, rest: Array, strength: Array) -> Array:
    """Height at which the stress has fallen to the strength: the larger root of sigma(r) = strength; 0 if never."""
    twice = 2 * bending + rest
    root = np.sqrt(np.maximum(twice**2 - 4 * bending * strength, 0.0))
    return np.asarray(np.where(bending + rest > strength, depth * (twice + root) / (2 * strength), 0.0))


def chance_between_sharpenings(
    share_of_strokes: npt.ArrayLike, strokes: npt.ArrayLike = STROKES_BETWEEN_SHARPENINGS
) -> Array:
    """Chance that at least one stroke meets it before the next sharpening, dimensionless; arguments broadcast.

    ``1 - exp(-n)``, n = share times strokes. Source: Poisson, strokes that do not know of each other.

    >>> float(chance_between_sharpenings(0.0005).round(3))
    0.632
    """
    return np.asarray(-np.expm1(-np.asarray(share_of_strokes) * np.asarray(strokes)))
