"""Designs: a batch of blades as columns; the parameters that span them, the workshop, and what is refused."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType
from typing import Any

import numpy as np
import numpy.typing as npt

from recommender.geometry.arcs import Array
from recommender.geometry.wheel import least_wheel_mm
from recommender.mechanics.contact_wheel import cut_diameter_mm
from recommender.models.answer.design_keys import DESIGN_KEYS
from recommender.units import Unit

WALKED_UP = "walked-up"
"""In the column `hollow_ground`: led up and down by hand, so that the hollow is larger than the wheel."""
BOTH, RIGHT, LEFT = "both", "right", "left"
"""Which face is ground, as the column `side` says it: seen edge down and tip forward."""


@dataclass(frozen=True)
class Parameter:
    """A knob of a grind: its range, unit and shop step, or its choices.

    A number is sampled over [low, high] and proposed in multiples of `step`, all three in `unit`; a choice is tried in
    turn.
    """

    name: str
    label: str
    unit: Unit
    low: float = 0.0
    high: float = 0.0
    step: float = 0.0
    choices: tuple[str, ...] = ()
    refined_only: bool = False
    """Of a choice: the first one all through the survey, the others tried on the best blade of the grind."""


@dataclass(frozen=True)
class Workshop:
    """What the maker can grind with; wheels by diameter."""

    wheels_mm: tuple[float, ...]
    platen: bool
    slack_belt: bool
    wheel_shore_a: float | None = None
    """Hardness of the contact wheels' rubber; None where they are taken as hard."""


def read_only(values: npt.NDArray[Any]) -> npt.NDArray[Any]:
    """An array of any shape as a view that cannot be written into."""
    if not values.flags.writeable:
        return values
    shown = values.view()
    shown.flags.writeable = False
    return shown


def _column(values: npt.ArrayLike, n: int) -> npt.NDArray[Any]:
    """A column of its own (n,). Raises ValueError for one of another length."""
    array = np.asarray(values)
    if array.ndim == 0:
        return np.full(n, array)  # `broadcast_to` takes many times as long
    return np.array(array if array.shape == (n,) else np.broadcast_to(array, (n,)))


@dataclass(frozen=True)
class Designs:
    """A batch of n designs as a struct of arrays (n,), one per column; numbers float64, choices text.

    Every batch has stock_thickness_mm, height_mm, grind_line_mm, edge_thickness_mm, edge_angle_per_side_deg (of
    each ground face), wheel_diameter_mm, micro_bevel_per_side_deg, micro_bevel_thickness_mm (NaN where they do not
    apply), wheel_shore_a (NaN where contact wheels are taken as hard) and side (both, right or left). A grind adds its
    own. `designs["height_mm"]` gives a column that cannot be written into; KeyError for one that is not there.
    """

    columns: Mapping[str, npt.NDArray[Any]]

    @classmethod
    def of(cls, n: int, **columns: npt.ArrayLike) -> Designs:
        """n designs of which some columns are known, each (n,) or a scalar that fills it.

        The others that every design has hold what does not apply: NaN, an edge of 0, both sides. Raises ValueError for
        a column of another length.

        >>> Designs.of(2, stock_thickness_mm=[2.0, 3.0], height_mm=30.0)["height_mm"].tolist()
        [30.0, 30.0]
        """
        base: dict[str, npt.ArrayLike] = dict.fromkeys(DESIGN_KEYS, np.nan)
        known = {**base, "edge_thickness_mm": 0.0, "side": BOTH, **columns}
        return cls({name: _column(values, n) for name, values in known.items()})

    def __post_init__(self) -> None:
        # Batches are shared: who wants another column asks for `changed`, so that nobody's designs move under him.
        object.__setattr__(self, "columns", MappingProxyType({k: read_only(v) for k, v in self.columns.items()}))

    def __getitem__(self, name: str) -> npt.NDArray[Any]:
        return self.columns[name]

    def __contains__(self, name: str) -> bool:
        return name in self.columns

    def __len__(self) -> int:
        return len(self.columns["stock_thickness_mm"])

    def taking(self, rows: npt.NDArray[Any]) -> Designs:
        """The given rows, by mask (n,) or index."""
        return Designs({name: values[rows] for name, values in self.columns.items()})

    def changed(self, **columns: npt.ArrayLike) -> Designs:
        """The same designs with some columns set or added, each (n,) or a scalar that fills it.

        Raises ValueError for a column of another length.
        """
        n = len(self)
        return Designs({**self.columns, **{name: _column(values, n) for name, values in columns.items()}})

    def distinct(self) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
        """The first of each of the different designs, by index (m,), and which of those each design is, (n,).

        All are different where hardly any are the same, or where a column holds what cannot be compared.
        """
        every = np.arange(len(self))
        columns = []
        for column in self.columns.values():
            if column.dtype.kind not in "fiub":
                try:
                    column = np.unique(column, return_inverse=True)[1].astype(float)
                except TypeError:
                    return every, every
            blank = np.isnan(column) if column.dtype.kind == "f" else np.zeros(len(self), dtype=bool)
            for part in (np.where(blank, 0.0, column), blank):  # no number is another than 0
                if len(part) and (part != part[0]).any():
                    columns.append(part)
        if not columns:
            return every[:1], np.zeros(len(self), dtype=np.intp)
        # Equal designs have equal sums; that unequal ones have not is checked.
        mixed = sum(np.sqrt(k + 2.0) * column for k, column in enumerate(columns))
        _, first, row = np.unique(mixed, return_index=True, return_inverse=True)
        if 2 * len(first) > len(self) or not all((column == column[first][row]).all() for column in columns):
            return every, every
        return first, row

    def row(self, index: int) -> dict[str, Any]:
        """One design as plain values by column; NaN becomes None. Raises IndexError past the last one."""
        values = {name: column[index].item() for name, column in self.columns.items()}
        return {name: None if value != value else value for name, value in values.items()}

    @cached_property
    def sides_ground(self) -> Array:
        """How many faces are ground: 2.0 or 1.0, (n,)."""
        return np.where(self["side"] == BOTH, 2.0, 1.0)

    @cached_property
    def edge_half_thickness_mm(self) -> Array:
        """e: edge thickness per ground face, te/2 or te, (n,)."""
        return np.asarray(self["edge_thickness_mm"] / self.sides_ground)

    @cached_property
    def edge_bevel_height_mm(self) -> Array:
        """h_edge = (e - m) / tan a + m / tan b, m and b the micro-bevel's thickness per ground face and angle, (n,).

        Without one m is 0: e / tan a. On a facet ground to zero the micro-bevel is all of the edge bevel: m = e.
        """
        above = (self.edge_half_thickness_mm - self._micro_half_thickness_mm) / np.tan(
            np.radians(self["edge_angle_per_side_deg"])
        )
        return np.asarray(above + self.micro_bevel_height_mm)

    @cached_property
    def _micro_half_thickness_mm(self) -> Array:
        micro, e = self["micro_bevel_per_side_deg"], self.edge_half_thickness_mm
        # What was stored before edge bevels had micro-bevels does not say how thick: all of the edge.
        thick = (
            self["micro_bevel_thickness_mm"]
            if "micro_bevel_thickness_mm" in self.columns
            else np.full(len(self), np.nan)
        )
        return np.where(np.isnan(micro), 0.0, np.where(np.isnan(thick), e, np.asarray(thick) / self.sides_ground))

    @cached_property
    def micro_bevel_height_mm(self) -> Array:
        """Height of the micro-bevel, m / tan b, (n,); 0 where there is none."""
        micro = np.nan_to_num(self["micro_bevel_per_side_deg"], nan=45.0)
        return np.asarray(self._micro_half_thickness_mm / np.tan(np.radians(micro)))

    @cached_property
    def depth_per_side_mm(self) -> Array:
        """d: what the primary grind takes off each ground face at the shoulder, (stock - te)/2 or stock - te, (n,)."""
        return np.asarray((self["stock_thickness_mm"] - self["edge_thickness_mm"]) / self.sides_ground)

    @cached_property
    def primary_height_mm(self) -> Array:
        """H = line - h_edge, (n,); not above 0 where the edge bevel leaves no primary grind."""
        return np.asarray(self["grind_line_mm"] - self.edge_bevel_height_mm)

    @cached_property
    def hollow_diameter_mm(self) -> Array:
        """Diameter of the round that the hollow is a part of, (n,): what one pass leaves, or more if it is walked up.

        A hollow that is walked up (column `hollow_ground`) is as round as one without a waist can be there: it leaves
        the shoulder along the blade, and is wider than the wheel is. Source: `geometry.wheel.least_wheel_mm`.
        """
        if "hollow_ground" not in self.columns:
            return self.cut_wheel_mm
        needed = least_wheel_mm(self.primary_height_mm, self.depth_per_side_mm)
        walked = (self["hollow_ground"] == WALKED_UP) & np.isfinite(needed)
        return np.where(walked, np.maximum(needed, self.cut_wheel_mm), self.cut_wheel_mm)

    @cached_property
    def cut_wheel_mm(self) -> Array:
        """Diameter of the hard wheel that leaves the hollow which the chosen wheel, pressed by hand, does leave, (n,).

        Formula and source: `mechanics.contact_wheel.cut_diameter_mm`, over the chord from shoulder to grind line.
        """
        # Batches that were put together without `of` may not say: hard wheels then.
        shore = self["wheel_shore_a"] if "wheel_shore_a" in self.columns else np.nan
        chord = np.hypot(self.depth_per_side_mm, self.primary_height_mm)
        return cut_diameter_mm(self["wheel_diameter_mm"], chord, shore)

    @cached_property
    def chord_angle_rad(self) -> Array:
        """Angle of the straight line from shoulder to grind line against the centre plane, per ground face, (n,).

        atan(d / H).
        """
        return np.asarray(np.arctan2(self.depth_per_side_mm, self.primary_height_mm))

    @cached_property
    def edge_angle_included_deg(self) -> Array:
        """2a where both faces are ground, else a, (n,)."""
        return np.asarray(self["edge_angle_per_side_deg"] * self.sides_ground)


@dataclass(frozen=True)
class Refusal:
    """Why some designs cannot be made: the rows (n,) it shuts out and the reason in words."""

    rows: npt.NDArray[np.bool_]
    reason: str
    only_waist: bool = False
    """The shape exists but has a waist: no candidate, yet `section` shows it with a warning."""


def refused_rows(refusals: Iterable[Refusal], n: int) -> npt.NDArray[np.bool_]:
    """Which of n designs are shut out, for whatever reason, (n,)."""
    rows = np.zeros(n, dtype=bool)
    for refusal in refusals:
        rows |= refusal.rows
    return rows
