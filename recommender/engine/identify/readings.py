"""Caliper readings of a blade's section, and whether they can be judged at all."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from recommender.errors import InputError
from recommender.geometry.arcs import Array
from recommender.text import shorten

CALIPER_MM = 0.03
"""Standard uncertainty of a caliper reading on a blade; estimate."""
HEIGHT_MM = 0.2
"""Standard uncertainty of the height at which a reading was taken; estimate."""
SMALLEST_WHEEL_MM, LARGEST_WHEEL_MM = 20.0, 2000.0
"""Wheel diameters considered, evenly in their logarithm; larger ones leave flats."""
LEAST_READINGS, MOST_READINGS = 4, 200
CONTRADICTION = 3.0 * math.sqrt(2.0)
"""Two readings contradict each other beyond this many uncertainties."""


@dataclass(frozen=True)
class CaliperBlade:
    """What was measured; None where not known.

    Readings are (height above the edge, thickness), mm. `flat_face`: no face is flat from edge to spine, or which
    one is, seen edge down and tip forward. `tip`: whether the section towards the tip is the same or another grind.
    `largest_wheel_mm`: the largest wheel the maker may have had, in diameter.
    """

    readings: tuple[tuple[float, float], ...]
    height_mm: float | None = None
    edge_angle_per_side_deg: float | None = None
    stock_thickness_mm: float | None = None
    flat_face: Literal["none", "left", "right"] | None = None
    tip: Literal["same", "other"] | None = None
    uncertainty_mm: float = CALIPER_MM
    height_uncertainty_mm: float = HEIGHT_MM
    largest_wheel_mm: float = LARGEST_WHEEL_MM

    @property
    def heights(self) -> Array:
        """Heights (m,), mm."""
        return np.array([height for height, _ in self.readings], dtype=float)

    @property
    def thicknesses(self) -> Array:
        """Thicknesses (m,), mm."""
        return np.array([value for _, value in self.readings], dtype=float)

    def named(self, index: int) -> str:
        """How a reading is called in a message.

        >>> CaliperBlade(((1.0, 0.35), (5.0, 0.2))).named(1)
        'reading 2 (5:0.2)'
        """
        height, value = self.readings[index]
        return f"reading {index + 1} ({height:g}:{value:g})"


def parse_readings(texts: Iterable[str]) -> tuple[tuple[float, float], ...]:
    """Read HEIGHT:THICKNESS pairs in mm. Raises InputError naming the reading.

    >>> parse_readings(["1:0.35", "5:0.8"])
    ((1.0, 0.35), (5.0, 0.8))
    """
    pairs = []
    for index, text in enumerate(texts):
        try:
            height, value = (float(part) for part in text.split(":"))
        except ValueError:
            raise InputError(
                "does not fit",
                key=f"reading {index + 1} ({shorten(text)})",
                expected="HEIGHT:THICKNESS in mm, as 5:0.8",
            ) from None
        pairs.append((height, value))
    return tuple(pairs)


def check(blade: CaliperBlade) -> None:
    """Refuse readings that are impossible or contradict each other. Raises InputError naming the reading."""
    for key, size in (("--height", blade.height_mm), ("--stock", blade.stock_thickness_mm)):
        if size is not None and not 0 < size <= 500:
            raise InputError(f"{size:g} mm", key=key, expected="a size above 0, at most 500 mm")
    angle = blade.edge_angle_per_side_deg
    if angle is not None and not 0 < angle < 80:
        raise InputError(f"{angle:g}°", key="--edge-angle-per-side", expected="an angle between 0 and 80°")
    if not 1e-3 <= blade.uncertainty_mm <= 1:
        raise InputError(f"{blade.uncertainty_mm:g} mm", key="--uncertainty", expected="from 0.001 to 1 mm")
    if not 0 <= blade.height_uncertainty_mm <= 5:
        raise InputError(f"{blade.height_uncertainty_mm:g} mm", key="height uncertainty", expected="from 0 to 5 mm")
    if not SMALLEST_WHEEL_MM < blade.largest_wheel_mm <= 1e5:
        raise InputError(f"{blade.largest_wheel_mm:g} mm", key="--largest-wheel", expected="a diameter above 20 mm")
    tallest = 500.0 if blade.height_mm is None else blade.height_mm + blade.height_uncertainty_mm
    slack = CONTRADICTION * blade.uncertainty_mm
    thickest = 100.0 if blade.stock_thickness_mm is None else blade.stock_thickness_mm + slack
    for index, (height, value) in enumerate(blade.readings):
        if not 0 < height <= tallest:
            raise InputError(
                "lies outside the blade",
                key=blade.named(index),
                expected=f"a height above 0, at most {blade.height_mm or tallest:g} mm",
            )
        if not 0 < value <= thickest:
            raise InputError(
                "no thickness of this blade",
                key=blade.named(index),
                expected=f"above 0, at most {blade.stock_thickness_mm or thickest:g} mm",
            )
    if len(blade.readings) > MOST_READINGS:
        raise InputError(f"{len(blade.readings)} readings", expected=f"at most {MOST_READINGS}")
    _check_together(blade)
    distinct = len({height for height, _ in blade.readings})
    if distinct < LEAST_READINGS:
        raise too_few(blade, distinct, LEAST_READINGS)


def too_few(blade: CaliperBlade, distinct: int, needed: int) -> InputError:
    """The refusal of readings at too few different heights."""
    given = ", ".join(f"{height:g}:{value:g}" for height, value in blade.readings[:6])
    return InputError(
        f"too few readings at different heights: {distinct} ({given or 'none'})", expected=f"at least {needed}"
    )


def _check_together(blade: CaliperBlade) -> None:
    """Refuse two readings at one height that disagree, and a thickness that falls towards the spine."""
    order = sorted(range(len(blade.readings)), key=lambda i: blade.readings[i])
    if not order:
        return
    slope = float(blade.thicknesses.max() / blade.heights.max())
    slack = CONTRADICTION * math.hypot(blade.uncertainty_mm, blade.height_uncertainty_mm * slope)
    for place, upper in enumerate(order):
        height, value = blade.readings[upper]
        for lower in order[:place]:
            below, before = blade.readings[lower]
            if below == height and value - before > slack:
                raise InputError(
                    f"disagrees with {blade.named(lower)} at the same height",
                    key=blade.named(upper),
                    expected=f"within {slack:.2g} mm",
                )
            if below == height or before - value <= slack:
                continue
            # A hollow's waist lies just above a thin shoulder, is shallow and widens again above.
            above = [blade.readings[i][1] for i in order[place + 1 :]]
            waist = value > before / 2 and before < max(above, default=0.0) / 2
            if not waist:
                raise InputError(
                    f"thinner than {blade.named(lower)} below it",
                    key=blade.named(upper),
                    expected="a thickness that grows towards the spine (measure below any swedge)",
                )
