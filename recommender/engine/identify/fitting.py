"""Fitting one grind family to caliper readings: sample, Levenberg-Marquardt, errors, what a family pays.

The method and its limits are told in `engine.identify`.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from recommender.engine.identify.readings import SMALLEST_WHEEL_MM, CaliperBlade
from recommender.engine.search.candidates import LINE_SHARE, _spread
from recommender.geometry.arcs import Array
from recommender.geometry.outline import Outline, Sides
from recommender.geometry.profile import thickness
from recommender.plugin.api import BOTH, LEFT, RIGHT, Designs, Grind, Workshop, refused_rows

ANGLE_DEG = 1.0
"""Standard uncertainty of a stated edge angle; estimate."""
TALLEST = 2.0
"""Where the blade's height is not stated: at most this times the highest reading."""
WORN_EDGE = 0.6
"""Edge thickness considered, as a share of the thickest reading: above it hardly any primary grind is left."""
SAMPLE, STARTS, ROUNDS, STALE = 4096, 12, 60, 8
"""Points of a branch's sample, starts taken from it, rounds at most, and rounds without gain that end the search."""
ANYWHERE = 12.0
"""Inverse variance of a parameter that may lie anywhere in its range, per unit of range."""
_EVERYTHING = Workshop((1.0, 1e9), True, True)
_WHEEL = "wheel_diameter_mm"
_EDGE = "edge_thickness_mm"
_GROUND_HOW = "hollow_ground"
"""How a hollow was ground does not show: one that was walked up is one of a larger wheel."""
SIZES = {_WHEEL, _EDGE, LINE_SHARE, "stock_thickness_mm", "edge_angle_per_side_deg"}
"""Parameters that most families share; any other is a knob of a family's own, such as a crown."""
_GROUND = {"none": BOTH, "left": RIGHT, "right": LEFT}


@dataclass(frozen=True)
class Fit:
    """A family at its best: designs of one row, and how far the readings lie off."""

    grind: str
    label: str
    designs: Designs
    errors: Mapping[str, float]
    """Standard error of each fitted parameter in its own unit; about 0.29 of its range where nothing determines it."""
    loose: frozenset[str]
    """Parameters that the readings leave open: standard error above a fifth of the range."""
    residuals_mm: Array
    """Reading less fit (m,), mm."""
    chi2: float
    stiffness: Array
    """Eigenvalues (k,) of J'J per unit of range."""
    choices: int
    """How many of the family's choices give sections of their own."""
    score: float
    weight: float
    off: Array
    """Deletion residuals (n,) in standard deviations: readings, then stated figures."""

    @property
    def rms_mm(self) -> float:
        """Root mean square of the residuals, mm."""
        return float(np.sqrt(np.mean(self.residuals_mm**2)))

    @property
    def determined(self) -> float:
        """k: how many parameters the readings determine."""
        return float((self.stiffness / (self.stiffness + ANYWHERE)).sum())

    def parsimony(self, excess: float = 1.0) -> float:
        """What the family pays for its freedom, ln det(1 + J'J / 12) + 2 ln(choices); variances grow by `excess`."""
        return float(np.log1p(self.stiffness / (ANYWHERE * excess)).sum()) + 2 * math.log(self.choices)


@dataclass(frozen=True)
class Branch:
    """A grind with its choices made: continuous parameters in a unit box, and the readings it should meet."""

    grind: Grind
    blade: CaliperBlade
    choices: Mapping[str, str]
    names: tuple[str, ...]
    low: Array
    high: Array
    log: npt.NDArray[np.bool_]

    def values(self, unit: Array) -> Array:
        """Parameters in their own units, (n, k)."""
        low, high = np.where(self.log, self.low, 1.0), np.where(self.log, self.high, 1.0)
        return np.asarray(np.where(self.log, low * (high / low) ** unit, self.low + (self.high - self.low) * unit))

    def designs(self, unit: Array) -> Designs:
        """Designs (n) at points of the unit box (n, k)."""
        columns: dict[str, Any] = {
            "height_mm": np.nan if self.blade.height_mm is None else self.blade.height_mm,
            **self.choices,
            **dict(zip(self.names, self.values(unit).T, strict=True)),
        }
        return self.grind.complete(Designs.of(len(unit), **columns))

    def model(self, unit: Array) -> Array:
        """What readings and stated figures would be, (n, m + stated); NaN where such a blade cannot be."""
        designs = self.designs(unit)
        ok = possible(self.grind, designs)
        if self.blade.flat_face is not None:
            ok &= designs["side"] == _GROUND[self.blade.flat_face]
        heights = self.blade.heights
        stated = stated_figures(self.blade)
        out = np.full((len(unit), len(heights) + len(stated)), np.nan)
        if ok.any():
            designs = designs.taking(ok)
            out[ok, : len(heights)] = thickness_at(self.grind.outlines(designs), designs, heights)
            for column, (_, _, read) in enumerate(stated, start=len(heights)):
                out[ok, column] = read(designs)
        return out


def thickness_at(outlines: Outline, designs: Designs, heights: Array) -> Array:
    """Thickness (n, m), mm; a height within its uncertainty above the spine is read at the spine."""
    return np.asarray(thickness(Sides.of(outlines), np.minimum(heights[None, :], designs["height_mm"][:, None])))


def possible(grind: Grind, designs: Designs) -> npt.NDArray[np.bool_]:
    """Which rows (n,) the grind does not refuse in a workshop that has everything."""
    return ~refused_rows(grind.refusals(designs, _EVERYTHING), len(designs))


def _apex_angle(designs: Designs) -> Array:
    micro = designs["micro_bevel_per_side_deg"]
    return np.asarray(np.where(np.isnan(micro), designs["edge_angle_per_side_deg"], micro))


def stated_figures(blade: CaliperBlade) -> list[tuple[float, float, Callable[[Designs], Array]]]:
    """Stated figures: value, uncertainty, and how designs answer for it."""
    stated: list[tuple[float, float, Callable[[Designs], Array]]] = []
    if blade.edge_angle_per_side_deg is not None:
        stated.append((blade.edge_angle_per_side_deg, ANGLE_DEG, _apex_angle))
    if blade.stock_thickness_mm is not None:
        stated.append((blade.stock_thickness_mm, blade.uncertainty_mm, lambda d: np.asarray(d["stock_thickness_mm"])))
    return stated


def branches(grind: Grind, blade: CaliperBlade) -> list[Branch]:
    """One branch for every combination of the grind's choices."""
    ranges: dict[str, tuple[float, float, bool]] = {}
    for p in grind.parameters:
        if p.name == _WHEEL:
            ranges[p.name] = (SMALLEST_WHEEL_MM, blade.largest_wheel_mm, True)
        elif not p.choices:
            ranges[p.name] = (p.low, p.high, False)
    if _EDGE in ranges:  # sharpening may have thickened the edge beyond what anybody would propose
        low, _, _ = ranges[_EDGE]
        ranges[_EDGE] = (low, max(2 * low, WORN_EDGE * float(blade.thicknesses.max())), False)
    if blade.height_mm is None:
        highest = float(blade.heights.max())
        ranges["height_mm"] = (highest, TALLEST * highest, False)
    lows, highs, log = (np.array([bounds[i] for bounds in ranges.values()]) for i in range(3))
    # What calipers do not see, such as a micro-bevel on an edge bevel, is left at its first choice.
    options = [
        [(p.name, choice) for choice in (p.choices[:1] if p.refined_only or p.name == _GROUND_HOW else p.choices)]
        for p in grind.parameters
        if p.choices
    ]
    made = [dict(combination) for combination in itertools.product(*options)]
    return [Branch(grind, blade, choices, tuple(ranges), lows, highs, log) for choices in made]


def _target(blade: CaliperBlade, sigma: Array) -> tuple[Array, Array]:
    """Readings and stated figures (n,) with their uncertainties (n,)."""
    stated = stated_figures(blade)
    value = np.concatenate([blade.thicknesses, [given for given, _, _ in stated]])
    return value, np.concatenate([sigma, [uncertainty for _, uncertainty, _ in stated]])


Start = tuple[Branch, Array]
"""A branch and points of its unit box (s, k)."""


def _repeats(model: Array, other: Array) -> bool:
    """The same sections, such as with the other face ground."""
    return bool(np.allclose(model, other, rtol=0.0, atol=1e-9, equal_nan=True))


def sampled(grind: Grind, blade: CaliperBlade, sigma: Array) -> list[Start]:
    """The best points of a sample of each branch; a branch that repeats another's sections is left out."""
    value, spread = _target(blade, sigma)
    known: list[Array] = []
    starts = []
    for branch in branches(grind, blade):
        unit = _spread(SAMPLE, len(branch.names))
        model = branch.model(unit)
        possible = np.isfinite(model).all(axis=1)
        if not possible.any() or any(_repeats(model, other) for other in known):
            continue
        known.append(model)
        cost = np.where(possible, (((model - value) / spread) ** 2).sum(axis=1), np.inf)
        best = np.argsort(cost, kind="stable")[:STARTS]
        starts.append((branch, unit[best[np.isfinite(cost[best])]]))
    return starts


def _jacobian(residual: Callable[[Array], Array], unit: Array, step: float = 1e-5) -> Array:
    """Derivatives (s, n, k) by central differences, one-sided at the box's walls and where one side cannot be made."""
    s, k = unit.shape
    moved = [np.clip(unit + sign * step * np.eye(k)[j], 0.0, 1.0) for sign in (1.0, -1.0) for j in range(k)]
    values = residual(np.concatenate([unit, *moved])).reshape(2 * k + 1, s, -1)
    here, up, down = values[0], values[1 : k + 1], values[k + 1 :]
    above, below = np.stack(moved[:k]), np.stack(moved[k:])
    at = np.arange(k)
    rise, fall = (np.asarray(np.isnan(side).any(axis=-1)) for side in (up, down))
    up, down = np.where(rise[..., None], here, up), np.where(fall[..., None], here, down)
    width = np.where(rise, unit.T, above[at, :, at]) - np.where(fall, unit.T, below[at, :, at])
    slope = (up - down) / np.where(width > 0, width, 1.0)[..., None]
    return np.asarray(np.where((width > 0)[..., None], slope, 0.0).transpose(1, 2, 0))


def _refined(branch: Branch, unit: Array, value: Array, spread: Array) -> tuple[Array, float]:
    """Levenberg-Marquardt from every start at once; the best point (k,) and its chi^2."""

    def residual(points: Array) -> Array:
        return np.asarray((branch.model(points) - value) / spread)

    s, k = unit.shape
    r = residual(unit)
    cost = np.where(np.isnan(r).any(axis=1), np.inf, (r**2).sum(axis=1))
    damping = np.full(s, 1e-2)
    stale, least = 0, np.inf
    for _ in range(ROUNDS):
        jac = _jacobian(residual, unit)
        gradient = np.einsum("snk,sn->sk", jac, np.nan_to_num(r))
        normal = np.einsum("snk,snl->skl", jac, jac)
        # A parameter that leans against its wall stays there.
        free = ~(((unit <= 0) & (gradient > 0)) | ((unit >= 1) & (gradient < 0)))
        gradient = np.where(free, gradient, 0.0)
        normal = normal * (free[:, :, None] & free[:, None, :])
        diagonal = np.einsum("skk->sk", normal)
        scale = np.where(diagonal > 0, diagonal, 1.0)
        normal = normal + np.eye(k) * (damping[:, None] * scale + (diagonal <= 0))[:, None, :]
        step = -np.linalg.solve(normal, gradient[..., None])[..., 0]
        trial = np.clip(unit + step, 0.0, 1.0)
        r_trial = residual(trial)
        cost_trial = np.where(np.isnan(r_trial).any(axis=1), np.inf, (r_trial**2).sum(axis=1))
        better = cost_trial < cost
        unit = np.where(better[:, None], trial, unit)
        r = np.where(better[:, None], r_trial, r)
        cost = np.where(better, cost_trial, cost)
        damping = np.clip(np.where(better, damping / 8, damping * 4), 1e-12, 1e12)
        stale = 0 if cost.min() < least * (1 - 1e-4) - 1e-9 else stale + 1
        least = min(least, float(cost.min()))
        if stale == STALE:
            break
    best = int(np.argmin(cost))
    return unit[best], float(cost[best])


def best_of(starts: Sequence[Start], blade: CaliperBlade, sigma: Array) -> tuple[Branch, Array, float] | None:
    """The best of a family's branches."""
    value, spread = _target(blade, sigma)
    found = [(branch, *_refined(branch, unit, value, spread)) for branch, unit in starts if len(unit)]
    return min(found, key=lambda f: f[2], default=None)


def fitted(branch: Branch, unit: Array, chi2: float, sigma: Array, choices: int) -> Fit:
    """The fit at a branch's best point (k,): dimensions, errors, residuals. Score and weight are left NaN."""
    blade = branch.blade
    value, spread = _target(blade, sigma)
    model = branch.model(unit[None])[0]
    jac = _jacobian(lambda points: (branch.model(points) - value) / spread, unit[None])[0]
    normal = jac.T @ jac
    inverse = np.linalg.inv(normal + ANYWHERE * np.eye(len(unit)))
    leverage = np.minimum(np.einsum("nk,kl,nl->n", jac, inverse, jac), 1 - 1e-6)
    wide = np.sqrt(np.diag(inverse))
    values = branch.values(unit[None])[0]
    range_ = np.where(branch.log, values * np.log(np.where(branch.log, branch.high / branch.low, 1.0)), 0.0)
    range_ = np.where(branch.log, range_, branch.high - branch.low)
    return Fit(
        grind=branch.grind.id,
        label=branch.grind.label,
        designs=branch.designs(unit[None]),
        errors=dict(zip(branch.names, (wide * range_).tolist(), strict=True)),
        loose=frozenset(name for name, w in zip(branch.names, wide, strict=True) if w > 0.2),
        residuals_mm=blade.thicknesses - model[: len(blade.readings)],
        chi2=chi2,
        stiffness=np.maximum(np.linalg.eigvalsh(normal), 0.0),
        choices=choices,
        score=math.nan,
        weight=math.nan,
        off=np.asarray((value - model) / spread / np.sqrt(1 - leverage)),
    )
