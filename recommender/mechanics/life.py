"""A blade over its life: where its shoulder stands, how fast it thickens, how often it is sharpened."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from recommender.geometry.arcs import Array
from recommender.geometry.outline import Outline, Sides, padded
from recommender.geometry.profile import clipped, faces_at, half_angles
from recommender.geometry.section import area_mm2
from recommender.geometry.shoulders import Shoulders, shoulders
from recommender.mechanics.sharpening import BACK_BAND_MM, BACK_PER_SHARPENING_MM

WEEKS_PER_YEAR = 365.25 / 7


@dataclass(frozen=True)
class Estimate:
    """A positive number with its band, low <= likely <= high, in whatever unit the function that gives it names."""

    likely: float
    low: float
    high: float


def product(*factors: Estimate) -> Estimate:
    """Multiply independent estimates; their bands add as squares of logarithms. The unit is the product of the units.

    ``ln(high/likely) = sqrt(sum ln(high_i/likely_i)^2)``, the same downwards: if every band holds with one chance, so
    does the product's. All ends are above 0. Source: closed form, the spread of a sum of independent logarithms.

    >>> product(Estimate(2, 1, 4), Estimate(3, 3, 3))
    Estimate(likely=6.0, low=3.0, high=12.0)
    """
    likely = math.prod(f.likely for f in factors)
    up = math.hypot(*(math.log(f.high / f.likely) for f in factors))
    down = math.hypot(*(math.log(f.likely / f.low) for f in factors))
    return Estimate(float(likely), likely * math.exp(-down), likely * math.exp(up))


def inverse(estimate: Estimate) -> Estimate:
    """One over an estimate, in one over its unit: the ends of its band change places. Source: definition.

    >>> inverse(Estimate(2, 1, 4))
    Estimate(likely=0.5, low=0.25, high=1.0)
    """
    return Estimate(1 / estimate.likely, 1 / estimate.high, 1 / estimate.low)


def exactly(value: float) -> Estimate:
    """A number without a band, in its own unit. Source: definition."""
    return Estimate(value, value, value)


BACK_MM = Estimate(BACK_PER_SHARPENING_MM, *BACK_BAND_MM)
"""How far one full sharpening moves the edge back; estimate."""
KEEN_HOURS_PER_MM = Estimate(0.1, 0.05, 0.2)
"""Hours of cutting that an edge lasts for every mm of card it cuts in the standard test; estimate, set so that a soft
kitchen steel (about 230 mm) lasts about a working week where it is honed every day."""
DULL_RADIUS_MM = 0.010
"""Apex radius at which an owner reaches for the stone; estimate, 0.006-0.02 mm."""
TOUCH_UP = Estimate(2.0, 1.5, 3.0)
"""How many times longer an edge lasts that is stropped or honed between sharpenings; estimate."""
LEAST_RETENTION_MM = 60.0
"""Where the regression on card gives less, this stands for "little"; estimate."""
LEAST_KEEN_SHARE = 0.1


def hours_between_sharpenings(retention_mm: float, apex_radius_mm: float, touched_up: bool) -> Estimate:
    """Hours of cutting from one full sharpening to the next.

    ``c max(TCC, 60 mm) (1 - r0/r_dull)``, times TOUCH_UP where the edge is stropped or honed between. TCC, mm of card,
    is `wear.edge_retention_mm`; r0 the apex radius as sharpened: the blunter it starts, the sooner it is dull.
    Limits: card stands for everything that is cut; what abrades more (sandy rope) or less (meat) lies in the band.
    Estimate throughout.
    """
    keen = max(1 - apex_radius_mm / DULL_RADIUS_MM, LEAST_KEEN_SHARE)
    hours = product(KEEN_HOURS_PER_MM, exactly(max(retention_mm, LEAST_RETENTION_MM) * keen))
    return product(hours, TOUCH_UP) if touched_up else hours


def sharpenings_per_year(hours_per_week: float, hours_between: Estimate) -> Estimate:
    """Full sharpenings a year: 52.18 weeks x hours of use a week / hours between; `hours_per_week` above 0.

    Source: definition; the band is that of `hours_between`.
    """
    return product(exactly(WEEKS_PER_YEAR * hours_per_week), inverse(hours_between))


def years_until(back_mm: float, per_year: Estimate) -> Estimate:
    """Years until the edge has moved back by `back_mm` (above 0): back / (sharpenings a year x BACK_MM).

    Source: definition; BACK_MM is an estimate.
    """
    return product(exactly(back_mm), inverse(per_year), inverse(BACK_MM))


def steel_of_thinning_mm2(drawn: Outline, worn: Outline) -> Array:
    """Steel that thinning a worn blade back to its drawing takes off, mm2 (mm3 per mm of edge), (n, v, 3) each -> (n,).

    `worn` stands with its apex where the drawing's is. It gets the drawing's bevel and faces up to its own, lower
    spine: the difference of both areas. Source: closed form. Raises GeometryError as `clipped` does.
    """
    return np.asarray(area_mm2(worn) - area_mm2(clipped(drawn, worn[..., 1].max(axis=1))))


def deepened(outlines: Outline, depth_mm: float) -> Outline:
    """Sections at least as high as a cut is deep, (n, v, 3) -> (n, v + 2, 3): lower ones go on as thick as their spine.

    A blade sharpened lower than its cut is deep rubs less only as its back goes under too; what follows, back of the
    hand or handle, is no thinner. So forces stay those of one depth. Source: an estimate.
    """
    taller = padded(outlines, outlines.shape[1] + 2)
    corner, rows = Sides.of(taller).spine_side, np.arange(len(taller))
    for vertex in (corner, corner + 1):
        taller[rows, vertex, 1] = np.maximum(taller[rows, vertex, 1], depth_mm)
    return taller


def growth(profile: npt.ArrayLike, bevel: npt.ArrayLike) -> Array:
    """Growth of a face's shoulder per mm sharpened back: p m/(m - p), p and m the slopes dx/dy of profile and bevel.

    Slopes broadcast; the result is dimensionless (mm per mm). Infinite where the profile is as steep as the bevel; 0 on
    a face that is not ground (m = 0).
    Source: closed form; x = m (y - s) meets x = x0 + p (y - y0), so dx/ds = p m/(m - p).

    >>> float(growth(0.1, 0.3))
    0.15
    """
    p, m = np.asarray(profile, dtype=float), np.asarray(bevel, dtype=float)
    room = m - p
    steep = (room <= 1e-12) & (m > 1e-12)
    return np.asarray(np.where(steep, np.inf, p * m / np.where(room > 1e-12, room, 1.0)))


def shoulder_growth(outlines: Outline, at: Shoulders) -> Array:
    """Growth of the thickness at the shoulder per mm sharpened back, (n,): both faces, each just above its shoulder.

    mm per mm. Source: closed form, `growth` of each face.
    """
    left, right = half_angles(Sides.of(outlines), at.y, above=True)
    slopes = np.tan(np.stack([left[:, 0], right[:, 1]], axis=1))
    return np.asarray(growth(slopes, _bevel_slopes(at)).sum(axis=1))


def straight_growth(outlines: Outline, at: Shoulders, line_mm: float) -> Array:
    """The same growth were the primary grind straight from shoulder to grind line, (n,): a flat's, all the way up.

    mm per mm; NaN where a shoulder stands at the line or above: there is no primary grind. Source: closed form,
    `growth` with the slope of the chord.
    """
    run = line_mm - at.y
    ground = run > 1e-9
    faces = np.stack(faces_at(Sides.of(outlines), np.full(len(outlines), line_mm)), axis=1)
    slopes = np.array([-1.0, 1.0]) * (faces - at.x) / np.where(ground, run, 1.0)
    return np.where(ground.all(axis=1), growth(slopes, _bevel_slopes(at)).sum(axis=1), np.nan)


def _bevel_slopes(at: Shoulders) -> Array:
    rise = at.y - at.apex_mm[:, None]
    return np.asarray(np.abs(at.x) / np.where(rise > 0, rise, 1.0))


def upper_curve(outlines: Outline, line_mm: float) -> tuple[bool, int | None]:
    """Tell whether a blade starts hollow, and after how many of the sharpenings it stands on its upper curve.

    `outlines` (n, v, 3) is one blade, new (0) and after each sharpening. It starts hollow where its shoulder grows
    slower than that of a flat of the same shoulder, stock and line (`straight_growth` of the new blade). The upper
    curve is reached by the first sharpening after which it grows faster. As a flat's growth is p m/(m - p) with one
    p, that is where the hollow's tangent turns past its own chord: on one arc, its middle. None where it never is.
    Source: definition.
    """
    at = shoulders(outlines)
    straight = float(straight_growth(outlines[:1], shoulders(outlines[:1]), line_mm)[0])
    if math.isnan(straight):
        return False, None
    rate = shoulder_growth(outlines, at)
    if not rate[0] < straight * (1 - 1e-9):
        return False, None
    faster = rate > straight * (1 + 1e-9)
    return True, int(np.argmax(faster)) if faster.any() else None
