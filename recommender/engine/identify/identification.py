"""A blade in the hand: which grind it is, from caliper readings of one section.

Every grind family is fitted to the readings over its free parameters and every choice that changes the section. A
figure that is stated (edge angle, stock) is one more reading with an uncertainty of its own.

1. A low-discrepancy sample of a family's box of parameters, in one batch; rows that the grind refuses are left out
   (in a workshop that has everything).
2. Levenberg-Marquardt from the best of the sample, all starts at once, by central differences, kept in the box:
   (J'J + lambda diag J'J) d = -J'r with r = (model - reading) / sigma.
3. sigma^2 = caliper^2 + (height uncertainty x slope)^2. Slopes are those of the best family after a first round and
   the same for all, so that sums of squares compare.
4. Score = chi^2 + ln det(1 + J'J / 12) + 2 ln(choices): minus twice the logarithm of the family's evidence, by
   Laplace's approximation. J is per unit of each parameter's range, 1/12 the variance of a parameter that may lie
   anywhere in it. This is BIC with its parsimony penalty k ln n replaced by what it stands for: a family pays for each
   parameter by how sharply the readings must set it, and nothing for one they don't touch. Weight = exp(-score / 2),
   normalised over the families. Where even the best chi^2 exceeds its degrees of freedom, sigma grows to meet them.
   dof = n - k, k = trace of J'J (J'J + 12)^-1: how many parameters the readings determine.

Families within 6 of the best score (odds of 20 to 1) can't be told from it, nor can one whose blade differs from the
best one's only by what calipers don't see, however rarely such a blade is ground. No grind fits where chi^2 of the best
lies beyond 4 standard deviations in the Wilson-Hilferty approximation. Sources: MacKay 1992, Kass and Raftery 1995,
Wilson and Hilferty 1931 (memory).

Limits: one section; straight from stock to edge or in one arc, as the families are; dimensions within the ranges the
families state, but for an edge thickened by sharpening. A one-sided section and a symmetric one have the same
thickness, and a grind with another section towards the tip shows only this one: both are told apart by what is stated
of the blade, never by calipers.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal, TypeVar

import numpy as np

from recommender.engine.identify.fitting import (
    SIZES,
    Branch,
    Fit,
    Start,
    best_of,
    branches,
    fitted,
    possible,
    sampled,
    stated_figures,
    thickness_at,
)
from recommender.engine.identify.readings import HEIGHT_MM, LEAST_READINGS, CaliperBlade, check, too_few
from recommender.engine.search.candidates import LINE_SHARE
from recommender.errors import InputError
from recommender.geometry.arcs import Array
from recommender.geometry.ground_face import FLAT_SAGITTA_MM, GroundFace, is_one_bevel
from recommender.geometry.outline import Sides
from recommender.geometry.profile import thickness
from recommender.geometry.sharpened import sharpened_back
from recommender.plugin.api import BOTH, Designs, Grind

T = TypeVar("T")
Attempt = Callable[..., Any]
"""(grind id, what is being done, function, *args) -> its result, or None when the plug-in failed at it."""

TELLING_SCORE = 6.0
"""Families this close to the best score cannot be told from it: odds of 20 to 1."""
MISFIT_DEVIATIONS = 4.0
"""Standard deviations above what chance gives, beyond which no grind fits."""
AGAIN = 4
"""Starts of the second round besides the best of the first."""


@dataclass(frozen=True)
class Telling:
    """What would tell a family from the best one.

    `how`: the flat face, readings towards the tip, one more reading (at `height_mm`, where best and other would be
    `thickness_mm` thick), or nothing a caliper of this uncertainty can read.
    """

    grind: str
    how: Literal["flat face", "tip", "reading", "nothing"]
    height_mm: float | None = None
    thickness_mm: tuple[float, float] | None = None


@dataclass(frozen=True)
class Identification:
    """The answer: it is one grind, the readings cannot tell some apart, or none fits."""

    blade: CaliperBlade
    verdict: Literal["identified", "cannot tell", "none fits"]
    grinds: tuple[str, ...]
    """The grind, or those that cannot be told apart, best first; empty where none fits."""
    fits: tuple[Fit, ...]
    """Every family that could be fitted, best first."""
    same: tuple[str, ...]
    """Families whose fitted section nowhere differs from the best one's by half a caliper's uncertainty, or nowhere so
    that it could be read, both being one straight facet: other words for the same blade, such as an edge bevel hardly
    steeper than the face above it."""
    telling: tuple[Telling, ...]
    """For each other grind of `grinds`: what would tell it from the best."""
    worst: str | None
    """Where none fits: the reading or stated figure that fits worst."""
    sigma_mm: Array
    """Uncertainty of each reading (m,), its height's included, mm."""
    left_out: tuple[str, ...]
    """Families without a single design that agrees with what is stated."""

    @property
    def best(self) -> Fit:
        """The best fit."""
        return self.fits[0]

    def fit(self, grind: str) -> Fit:
        """The fit of a family by id."""
        return next(fit for fit in self.fits if fit.grind == grind)

    def as_json(self) -> dict[str, Any]:
        """Plain data, lengths in mm."""
        return {
            "schema": "bevelwright.measure/1",
            "verdict": self.verdict,
            "grinds": list(self.grinds),
            "same": list(self.same),
            "worst": self.worst,
            "readings": [
                {"height_mm": height, "thickness_mm": value, "uncertainty_mm": float(sigma)}
                for (height, value), sigma in zip(self.blade.readings, self.sigma_mm, strict=True)
            ],
            "fits": [
                {
                    "grind": fit.grind,
                    "weight": fit.weight,
                    "rms_mm": fit.rms_mm,
                    "chi2": fit.chi2,
                    "determined": fit.determined,
                    "score": fit.score,
                    "residuals_mm": fit.residuals_mm.tolist(),
                    "design": fit.designs.row(0),
                    "edge_angle_included_deg": float(fit.designs.edge_angle_included_deg[0]),
                    "errors": dict(fit.errors),
                    "loose": sorted(fit.loose),
                }
                for fit in self.fits
            ],
            "telling": [
                {"grind": t.grind, "how": t.how, "height_mm": t.height_mm, "thickness_mm": t.thickness_mm}
                for t in self.telling
            ],
            "left_out": list(self.left_out),
        }


def _misfit(chi2: float, dof: float) -> float:
    """How many standard deviations a chi^2 lies above what chance gives; Wilson and Hilferty's cube root."""
    dof = max(dof, 1.0)
    spread = 2 / (9 * dof)
    return float(((chi2 / dof) ** (1 / 3) - (1 - spread)) / math.sqrt(spread))


def _directly(grind: str, doing: str, function: Callable[..., T], *args: Any) -> T:
    return function(*args)


def _slopes(grind: Grind, designs: Designs, blade: CaliperBlade, heights: Array) -> Array:
    """Growth of thickness per mm of height (m,) over the height's uncertainty."""
    reach = max(blade.height_uncertainty_mm, 1e-3)
    top = float(designs["height_mm"][0])
    high, low = np.minimum(heights + reach, top), np.maximum(np.minimum(heights, top) - reach, 0.0)
    outlines = grind.outlines(designs)
    grown = thickness_at(outlines, designs, high) - thickness_at(outlines, designs, low)
    return np.asarray(grown[0] / (high - low))


def identify(grinds: Mapping[str, Grind], blade: CaliperBlade, attempt: Attempt = _directly) -> Identification:
    """Say which grind a blade has, from readings of one section.

    `attempt(grind id, doing, function, *args)` runs what calls a plug-in and may give None for a failure. Raises
    InputError for readings that cannot be judged; see `check`.
    """
    check(blade)
    families = {
        name: grind
        for name, grind in grinds.items()
        if blade.tip is None or (grind.tip_outlines is not None) == (blade.tip == "other")
    }
    distinct, stated = len({height for height, _ in blade.readings}), len(stated_figures(blade))
    most = max((len(branches(g, blade)[0].names) for g in families.values()), default=0)
    needed = max(LEAST_READINGS, most + 1 - stated)
    if distinct < needed:
        raise too_few(blade, distinct, needed)

    sigma = np.full(len(blade.readings), blade.uncertainty_mm)
    starts: dict[str, Sequence[Start]] = {}
    first: dict[str, tuple[Branch, Array, float]] = {}
    for name, grind in families.items():
        starts[name] = attempt(name, "sampling", sampled, grind, blade, sigma) or []
        found = attempt(name, "fitting readings", best_of, starts[name], blade, sigma)
        if found is not None:
            first[name] = found
    if not first:
        raise InputError("no grind can be made to what is stated", expected="readings, angle and faces of one blade")
    lead = min(first, key=lambda name: first[name][2])
    branch, unit, _ = first[lead]
    slope = _slopes(families[lead], branch.designs(unit[None]), blade, blade.heights)
    sigma = np.hypot(blade.uncertainty_mm, blade.height_uncertainty_mm * slope)

    fits = []
    for name, (branch, unit, _) in first.items():
        again = [(b, np.concatenate([u[:AGAIN], unit[None]] if b is branch else [u[:AGAIN]])) for b, u in starts[name]]
        found = attempt(name, "fitting readings", best_of, again, blade, sigma)
        fit = attempt(name, "fitting readings", fitted, *found, sigma, len(again)) if found is not None else None
        if fit is not None:
            fits.append(fit)
    if not fits:
        raise InputError("no grind can be fitted to the readings", expected="readings of one section")
    return _judged(families, blade, fits, sigma, tuple(name for name in grinds if name not in {f.grind for f in fits}))


def _judged(
    grinds: Mapping[str, Grind], blade: CaliperBlade, fits: Sequence[Fit], sigma: Array, left_out: tuple[str, ...]
) -> Identification:
    n = len(blade.readings) + len(stated_figures(blade))
    closest = min(fits, key=lambda fit: fit.chi2)
    excess = max(1.0, closest.chi2 / max(n - closest.determined, 1.0))
    scores = np.array([fit.chi2 / excess + fit.parsimony(excess) for fit in fits])
    weights = np.exp(-(scores - scores.min()) / 2)
    weights /= weights.sum()
    ranked = tuple(
        replace(fits[i], score=float(scores[i]), weight=float(weights[i])) for i in np.argsort(scores, kind="stable")
    )
    best = ranked[0]
    if _misfit(closest.chi2, n - closest.determined) > MISFIT_DEVIATIONS:
        labels = [blade.named(i) for i in range(len(blade.readings))]
        labels += ["the stated edge angle"] * (blade.edge_angle_per_side_deg is not None)
        labels += ["the stated stock"] * (blade.stock_thickness_mm is not None)
        worst = labels[int(np.argmax(np.abs(closest.off)))]
        return Identification(blade, "none fits", (), ranked, (), (), worst, sigma, left_out)
    tellings = [(fit, _telling(grinds, blade, best, fit)) for fit in ranked[1:]]
    close = [
        (fit, telling)
        for fit, telling in tellings
        if fit.score - best.score <= TELLING_SCORE
        or (telling is not None and telling.how in ("flat face", "tip") and _one_section(grinds, blade, ranked, fit))
    ]
    same = tuple(fit.grind for fit, telling in close if telling is None)
    telling = tuple(telling for _, telling in close if telling is not None)
    verdict: Literal["identified", "cannot tell"] = "cannot tell" if telling else "identified"
    names = (best.grind, *(t.grind for t in telling))
    return Identification(blade, verdict, names, ranked, same, telling, None, sigma, left_out)


def _section(grind: Grind, fit: Fit, heights: Array) -> Array:
    return np.asarray(thickness_at(grind.outlines(fit.designs), fit.designs, heights)[0])


def _one_section(grinds: Mapping[str, Grind], blade: CaliperBlade, fits: Sequence[Fit], fit: Fit) -> bool:
    """The section of a family, nowhere half a caliper's uncertainty off, is that of one that cannot be told apart."""
    heights = np.linspace(0.5, float(blade.heights.max()), 200)
    mine = _section(grinds[fit.grind], fit, heights)
    close = (other for other in fits if other is not fit and other.score - fits[0].score <= TELLING_SCORE)
    return any(
        float(np.abs(_section(grinds[o.grind], o, heights) - mine).max()) < blade.uncertainty_mm / 2 for o in close
    )


def _one_facet(grind: Grind, fit: Fit) -> bool:
    """Straight from edge to grind line: ground to zero, or an edge bevel in which nobody finds a shoulder."""
    outlines = grind.outlines(fit.designs)
    bent = max(np.abs(face.sagitta_mm[0]) for face in (GroundFace.right(outlines), GroundFace.left(outlines)))
    to_zero = fit.designs["edge_thickness_mm"][0] <= 0
    return bool(bent <= FLAT_SAGITTA_MM and (to_zero or is_one_bevel(outlines)[0]))


def _telling(grinds: Mapping[str, Grind], blade: CaliperBlade, best: Fit, other: Fit) -> Telling | None:
    """What would tell two families apart: a look at the faces, at the tip, or a reading where they differ most.

    None where there is nothing to tell: the same section in other words.
    """
    ours, theirs = grinds[best.grind], grinds[other.grind]
    one_sided, their_one_sided = (fit.designs["side"][0] != BOTH for fit in (best, other))
    if one_sided != their_one_sided:
        return Telling(other.grind, "flat face")
    if (ours.tip_outlines is None) != (theirs.tip_outlines is None):
        return Telling(other.grind, "tip")
    top = min(float(fit.designs["height_mm"][0]) for fit in (best, other))
    heights = np.linspace(min(0.5, top / 10), top, 200)
    a, b = _section(ours, best, heights), _section(theirs, other, heights)
    slope = _slopes(ours, best.designs, blade, heights)
    if np.abs(a - b).max() < blade.uncertainty_mm / 2:
        return None
    differ = np.abs(a - b) / np.hypot(blade.uncertainty_mm, blade.height_uncertainty_mm * slope)
    at = int(np.argmax(differ))
    if differ[at] < 2:
        if _one_facet(ours, best) and _one_facet(theirs, other):
            return None
        return Telling(other.grind, "nothing")
    return Telling(other.grind, "reading", float(heights[at]), (float(a[at]), float(b[at])))


def sharpened_away_mm(
    grind: Grind,
    fit: Fit,
    *,
    original_height_mm: float | None = None,
    original_edge_thickness_mm: float | None = None,
) -> float | None:
    """How far the edge has been sharpened back, mm, from the blade's original height or edge thickness.

    From the height it is the difference. From the edge thickness it is the s for which the same grind, s taller with
    its line s higher and the original edge, sharpened back by s (`geometry.sharpened`), has the thickness of the
    fitted section: least squares on a grid down to 1 um, over s and the family's own knob (a crown), if it has one.
    None where the edge thickness says nothing: a grind without one, or no s that comes within 0.05 mm. Raises
    InputError for originals smaller than what is there.
    """
    now = fit.designs
    height, edge = float(now["height_mm"][0]), float(now["edge_thickness_mm"][0])
    if original_height_mm is not None:
        if "height_mm" in fit.errors:
            raise InputError("today's height is not known", key="--original-height", expected="--height beside it")
        if not original_height_mm >= height - HEIGHT_MM:
            raise InputError(
                f"{original_height_mm:g} mm", key="--original-height", expected=f"at least the {height:g} mm there are"
            )
        return max(original_height_mm - height, 0.0)
    if original_edge_thickness_mm is None or grind.parameter("edge_thickness_mm") is None:
        return None
    slack = 3 * fit.errors.get("edge_thickness_mm", 0.0)
    if not 0 < original_edge_thickness_mm <= edge + slack:
        raise InputError(
            f"{original_edge_thickness_mm:g} mm",
            key="--original-edge-thickness",
            expected=f"above 0, at most the {edge:.2f} mm of today: sharpening thickens an edge",
        )
    if original_edge_thickness_mm >= edge:
        return 0.0
    shoulder, line = float(now.edge_bevel_height_mm[0]), float(now["grind_line_mm"][0])
    heights = np.linspace(shoulder, line, 24)
    wanted = thickness_at(grind.outlines(now), now, heights)[0]

    own = next((p for p in grind.parameters if not p.choices and p.name not in SIZES), None)

    def cost(back: Array, knob: Array) -> Array:
        before = now.taking(np.zeros(len(back), dtype=int)).changed(
            height_mm=height + back, edge_thickness_mm=original_edge_thickness_mm
        )
        if LINE_SHARE in before:
            before = before.changed(**{LINE_SHARE: (line + back) / (height + back)})
        if own is not None:
            before = before.changed(**{own.name: knob})
        before = grind.complete(before)
        ok = possible(grind, before)
        out = np.full(len(back), np.inf)
        if ok.any():
            after = sharpened_back(grind.outlines(before.taking(ok)), back[ok])
            got = thickness(Sides.of(after), back[ok, None] + heights)
            out[ok] = np.sqrt(((got - wanted) ** 2).mean(axis=1))
        return out

    low, high = (own.low, own.high) if own is not None else (0.0, 0.0)
    back, step = np.arange(0.0, height, 0.1), 0.1
    knob, span = np.linspace(low, high, 25 if own is not None else 1), high - low
    for _ in range(3):
        pairs = [grid.ravel() for grid in np.meshgrid(back, knob)]
        off = cost(*pairs)
        at = int(np.argmin(off))
        found, tuned, least = float(pairs[0][at]), float(pairs[1][at]), float(off[at])
        step, span = step / 10, span / 8
        back = np.maximum(found + step * np.arange(-12, 13), 0.0)
        knob = np.clip(tuned + span * np.linspace(-0.5, 0.5, len(knob)), low, high)
    return found if least <= 0.05 else None
