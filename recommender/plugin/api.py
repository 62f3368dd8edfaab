"""What plug-ins are made of: parameters, designs, grinds, sections, metrics.

A plug-in imports from here, from `hooks`, `recommender.geometry`, `recommender.mechanics`, `recommender.units` and
`recommender.models.tables`.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType
from typing import Any, Literal, TypeVar

import numpy as np
import numpy.typing as npt

from recommender.geometry.arcs import Array
from recommender.geometry.blade import Blade
from recommender.geometry.outline import Outline, Sides
from recommender.geometry.profile import half_angles
from recommender.mechanics.contact_wheel import cut_diameter_mm
from recommender.mechanics.cutting import CutMaterial
from recommender.mechanics.sharpening import minutes_per_sharpening, slowness
from recommender.mechanics.wear import RECESSION_IN_USE_MM
from recommender.models.proposal import DESIGN_KEYS
from recommender.models.tables import Material, Surface, Task
from recommender.units import Unit

T = TypeVar("T")
API_VERSION = 1

BOTH, RIGHT, LEFT = "both", "right", "left"


@dataclass(frozen=True)
class Parameter:
    """A knob of a grind: its range, unit and shop step, or its choices.

    A number is sampled over [low, high] and proposed in multiples of `step`; a choice is tried in turn.
    """

    name: str
    label: str
    unit: Unit
    low: float = 0.0
    high: float = 0.0
    step: float = 0.0
    choices: tuple[str, ...] = ()


@dataclass(frozen=True)
class Workshop:
    """What the maker can grind with."""

    wheels_mm: tuple[float, ...]
    platen: bool
    slack_belt: bool
    wheel_shore_a: float | None = None
    """Hardness of the contact wheels' rubber; None where they are taken as hard."""


def _read_only(values: npt.NDArray[Any]) -> npt.NDArray[Any]:
    if not values.flags.writeable:
        return values
    shown = values.view()
    shown.flags.writeable = False
    return shown


@dataclass(frozen=True)
class Designs:
    """A batch of n designs as a struct of arrays, one per column; numbers float64, choices text.

    Every batch has stock_thickness_mm, height_mm, grind_line_mm, edge_thickness_mm, edge_angle_per_side_deg (of
    each ground face), wheel_diameter_mm, micro_bevel_per_side_deg (NaN where they do not apply), wheel_shore_a (NaN
    where contact wheels are taken as hard) and side (both, right or left). A grind adds its own.
    """

    columns: Mapping[str, npt.NDArray[Any]]

    @classmethod
    def of(cls, n: int, **columns: npt.ArrayLike) -> Designs:
        """n designs of which some columns are known, scalars filling them.

        The others that every design has hold what does not apply: NaN, an edge of 0, both sides.
        """
        base: dict[str, npt.ArrayLike] = dict.fromkeys(DESIGN_KEYS, np.nan)
        known = {**base, "edge_thickness_mm": 0.0, "side": BOTH, **columns}
        return cls({name: np.array(np.broadcast_to(np.asarray(values), (n,))) for name, values in known.items()})

    def __post_init__(self) -> None:
        # Batches are shared: who wants another column asks for `changed`, so that nobody's designs move under him.
        object.__setattr__(self, "columns", MappingProxyType({k: _read_only(v) for k, v in self.columns.items()}))

    def __getitem__(self, name: str) -> npt.NDArray[Any]:
        return self.columns[name]

    def __contains__(self, name: str) -> bool:
        return name in self.columns

    def __len__(self) -> int:
        return len(self.columns["stock_thickness_mm"])

    def taking(self, rows: npt.NDArray[Any]) -> Designs:
        """The given rows, by mask or index."""
        return Designs({name: values[rows] for name, values in self.columns.items()})

    def changed(self, **columns: npt.ArrayLike) -> Designs:
        """The same designs with some columns set; scalars fill the column."""
        n = len(self)
        new = {name: np.broadcast_to(np.asarray(values), (n,)) for name, values in columns.items()}
        return Designs({**self.columns, **new})

    def row(self, index: int) -> dict[str, Any]:
        """One design as plain values; NaN becomes None."""
        values = {name: column[index].item() for name, column in self.columns.items()}
        return {name: None if value != value else value for name, value in values.items()}

    @cached_property
    def sides_ground(self) -> Array:
        """How many faces are ground: 2.0 or 1.0."""
        return np.where(self["side"] == BOTH, 2.0, 1.0)

    @cached_property
    def edge_half_thickness_mm(self) -> Array:
        """e: edge thickness per ground face, te/2 or te."""
        return np.asarray(self["edge_thickness_mm"] / self.sides_ground)

    @cached_property
    def edge_bevel_height_mm(self) -> Array:
        """h_edge = e / tan a, a being the micro-bevel's angle where there is one."""
        micro = self["micro_bevel_per_side_deg"]
        angle = np.where(np.isnan(micro), self["edge_angle_per_side_deg"], micro)
        return np.asarray(self.edge_half_thickness_mm / np.tan(np.radians(angle)))

    @cached_property
    def depth_per_side_mm(self) -> Array:
        """d: what the primary grind takes off each ground face at the shoulder, (stock - te)/2 or stock - te."""
        return np.asarray((self["stock_thickness_mm"] - self["edge_thickness_mm"]) / self.sides_ground)

    @cached_property
    def primary_height_mm(self) -> Array:
        """H = line - h_edge."""
        return np.asarray(self["grind_line_mm"] - self.edge_bevel_height_mm)

    @cached_property
    def cut_wheel_mm(self) -> Array:
        """Diameter of the hard wheel that leaves the hollow which the chosen wheel, pressed by hand, does leave."""
        # Batches that were put together without `of` may not say: hard wheels then.
        shore = self["wheel_shore_a"] if "wheel_shore_a" in self.columns else np.nan
        chord = np.hypot(self.depth_per_side_mm, self.primary_height_mm)
        return cut_diameter_mm(self["wheel_diameter_mm"], chord, shore)

    @cached_property
    def chord_angle_rad(self) -> Array:
        """Angle of the straight line from shoulder to grind line against the centre plane, per ground face."""
        return np.asarray(np.arctan2(self.depth_per_side_mm, self.primary_height_mm))

    @cached_property
    def edge_angle_included_deg(self) -> Array:
        """2a where both faces are ground, else a."""
        return np.asarray(self["edge_angle_per_side_deg"] * self.sides_ground)


@dataclass(frozen=True)
class Refusal:
    """Why some designs cannot be made: the rows it shuts out and the reason in words."""

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


def _as_is(designs: Designs) -> Designs:
    return designs


@dataclass(frozen=True)
class Grind:
    """A grind family: everything the engine needs to know of it."""

    id: str
    label: str
    parent: Literal["flat", "hollow", "convex"]
    about: str
    """A paragraph for somebody who has never seen it."""
    made: str
    """How it is made, in one sentence."""
    sharpened: str
    """How it is sharpened, in one sentence."""
    surfaces: frozenset[Surface]
    """What a sharpening tool must be able to work."""
    parameters: tuple[Parameter, ...]
    outlines: Callable[[Designs], Outline]
    """Designs (n) -> outlines (n, v, 3): the section between plunge line and tip."""
    complete: Callable[[Designs], Designs] = _as_is
    """Fills columns that follow from others, such as a grind line at the spine."""
    refusals: Callable[[Designs, Workshop], list[Refusal]] = lambda designs, workshop: []
    """What cannot be made, in this workshop or at all."""
    tip_outlines: Callable[[Designs], Outline] | None = None
    """The section of the tip zone where it differs."""
    plunge_radius_mm: float = 1.5
    """Radius with which the primary grind comes out of the bar at the plunge line: what the belt's edge leaves."""
    for_line: Callable[[Designs], Designs] | None = None
    """For grinds whose line follows from other knobs: set those so that grind_line_mm comes out as given."""

    def parameter(self, name: str) -> Parameter | None:
        """The parameter of that name, or None."""
        return next((p for p in self.parameters if p.name == name), None)


TIP_ZONE_SHARE = 1 / 3
"""Share of the blade's length that a tip zone takes, its transition included; common practice."""


@dataclass(frozen=True)
class Sections:
    """Candidates ready to be measured: designs, outlines and what several metrics share.

    Rows may share an outline (the same blade in many steels): `drawn` holds the distinct ones.
    """

    designs: Designs
    drawn: Outline
    """Distinct sections between plunge line and tip, (m, v, 3)."""
    drawn_tips: Outline
    """The tip zone's; `drawn` itself where no row has a section of its own there."""
    row: npt.NDArray[np.intp] | None
    """Which distinct section each candidate has, (n,); None where each has its own."""
    zoned: npt.NDArray[np.bool_]
    """Which have a section of their own in the tip zone, (n,)."""

    def __post_init__(self) -> None:
        # Shared as designs are; that a tip zone is no other section stays told by identity.
        tips_alike = self.drawn_tips is self.drawn
        object.__setattr__(self, "drawn", _read_only(self.drawn))
        object.__setattr__(self, "drawn_tips", self.drawn if tips_alike else _read_only(self.drawn_tips))

    def __len__(self) -> int:
        return len(self.designs)

    @cached_property
    def outlines(self) -> Outline:
        """The section of each candidate, (n, v, 3)."""
        return self.drawn if self.row is None else _read_only(np.asfortranarray(self.drawn[self.row]))

    @cached_property
    def tip_outlines(self) -> Outline:
        """The section of each candidate's tip zone, (n, v, 3)."""
        if self.drawn_tips is self.drawn:
            return self.outlines
        return self.drawn_tips if self.row is None else _read_only(np.asfortranarray(self.drawn_tips[self.row]))

    def taking(self, rows: npt.NDArray[np.intp]) -> Sections:
        """The given rows, by index."""
        used, row = np.unique(rows if self.row is None else self.row[rows], return_inverse=True)
        drawn = self.drawn[used]
        tips = drawn if self.drawn_tips is self.drawn else self.drawn_tips[used]
        whole = len(used) == len(rows) and bool((row == np.arange(len(rows))).all())
        return Sections(self.designs.taking(rows), drawn, tips, None if whole else row, self.zoned[rows])

    @cached_property
    def distinct(self) -> Sections:
        """One candidate for each distinct section."""
        if self.row is None:
            return self
        first = np.unique(self.row, return_index=True)[1]
        return Sections(self.designs.taking(first), self.drawn, self.drawn_tips, None, self.zoned[first])

    def figure(self, key: Hashable, compute: Callable[..., T], *inputs: Any) -> T:
        """A figure of the section, kept under a key of its own and computed once for each distinct section.

        `compute` gets sections and the inputs, and gives an (n,) array, or a tuple or dataclass of such. `inputs` are
        what else goes into it, each a number for all rows or (n,): the same section with the same inputs has the same
        figure. Numbers become part of the key; what arrays differ by (the task) belongs in it.
        """
        kept: dict[Hashable, Any] = self._kept
        full = _full_key(key, compute, inputs)
        if full not in kept:
            kept[full] = self._figure(key, compute, inputs)
        found: T = kept[full]
        return found

    def _figure(self, key: Hashable, compute: Callable[..., T], inputs: tuple[Any, ...]) -> T:
        several = [np.asarray(value) for value in inputs if np.ndim(value)]
        if self.row is not None and not several:
            found: T = _spread(self.distinct.figure(key, compute, *inputs), self.row)
            return found
        alike = None if self.row is None else _alike(self.row, several)
        if alike is not None:
            first, row = alike
            own = (np.asarray(value)[first] if np.ndim(value) else value for value in inputs)
            found = _spread(self.taking(first).figure(key, compute, *own), row)
            return found
        found = compute(self, *inputs)
        _check_length(found, len(self))
        return found

    @cached_property
    def _kept(self) -> dict[Hashable, Any]:
        return {}

    def along_the_blade(self, measure: Callable[[Outline], Array]) -> Array:
        """A measure of the section averaged over edge zone and tip zone, which is TIP_ZONE_SHARE of the blade."""
        value = measure(self.outlines)
        rows = np.flatnonzero(self.zoned)
        if rows.size:
            value = value.copy()
            value[rows] += TIP_ZONE_SHARE * (measure(self.tip_outlines[rows]) - value[rows])
        return value

    @cached_property
    def sides(self) -> Sides:
        """Sides of the outlines, for the functions of `recommender.geometry.profile`."""
        return Sides.of(self.outlines)

    @property
    def apex_included_rad(self) -> Array:
        """Included angle at the apex, read off the outline (a micro-bevel counts)."""
        return self.figure("apex", lambda sections: np.asarray(sum(half_angles(sections.sides, 0.0))))


def _full_key(key: Hashable, compute: Callable[..., Any], inputs: tuple[Any, ...]) -> Hashable:
    """A plug-in's keys are its own, and a number that goes into a figure is part of its name."""
    return compute.__module__, key, *(float(v) for v in inputs if not np.ndim(v))


def _alike(row: npt.NDArray[np.intp], inputs: list[npt.NDArray[Any]]) -> tuple[Any, Any] | None:
    """Of rows that differ in section or inputs the first ones, and which of those each row is like.

    None where most differ, as then there is nothing to spare.
    """
    code = row
    for value in inputs:
        distinct, place = np.unique(value, return_inverse=True)
        if 2 * len(distinct) > len(row):
            return None
        code = code * len(distinct) + place
    _, first, alike = np.unique(code, return_index=True, return_inverse=True)
    return None if 2 * len(first) > len(row) else (first, alike)


def _check_length(value: Any, n: int) -> None:
    parts = vars(value).values() if dataclasses.is_dataclass(value) else value if isinstance(value, tuple) else (value,)
    if any(part is not None and np.shape(part) != (n,) for part in parts):
        raise ValueError(f"a figure of {n} sections needs ({n},) values; name as inputs what differs from row to row")


def _spread(value: Any, row: Any) -> Any:
    """The rows of an array, or of a tuple's or dataclass's arrays."""
    if isinstance(value, tuple):
        return tuple(_spread(part, row) for part in value)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return dataclasses.replace(
            value, **{f.name: _spread(getattr(value, f.name), row) for f in dataclasses.fields(value)}
        )
    return None if value is None else np.asarray(value)[row]


@dataclass(frozen=True)
class TaskLoad:
    """A task of the brief with its share (shares sum to 1) and its material."""

    task: Task
    share: Any
    """A number, or (n,) where shares differ."""
    material: Material

    @property
    def cut_material(self) -> CutMaterial:
        """What the cutting model needs to know of the material."""
        m = self.material
        return CutMaterial(
            toughness_n_per_mm=m.toughness_j_per_m2.likely / 1000,
            foundation_n_per_mm3=m.foundation_n_per_mm3.likely,
            plateau_mpa=m.plateau_mpa.likely,
            friction=m.friction.likely,
        )


LIMITS_FROM_SHARE = 0.1
"""Limits and cautions of a task hold from this share on, or from the largest share where all are smaller."""


def weighty(tasks: tuple[TaskLoad, ...]) -> tuple[TaskLoad, ...]:
    """The tasks whose limits and cautions hold."""
    least = min(LIMITS_FROM_SHARE, max((t.share for t in tasks), default=0.0))
    return tuple(t for t in tasks if t.share >= least - 1e-12)


@dataclass(frozen=True)
class SteelState:
    """The steel as hardened for this blade, and as it fails: numbers, or (n,) when uncertain ones are redrawn."""

    id: str
    hardness_hrc: Any
    yield_mpa: Any
    k_ic_mpa_sqrt_m: Any
    carbides: Mapping[str, Any]
    edge_failure_mpa: Any
    """With the last scratches of sharpening as flaws."""
    body_failure_mpa: Any
    """With a nick of use as the flaw."""
    temper_c: Any = 180.0
    """Temperature at which it was tempered, degrees C."""


@dataclass(frozen=True)
class SharpeningState:
    """How this owner would sharpen a grind: numbers, or (n,) where grinds differ or uncertain ones are redrawn.

    The removal rate is NaN where nothing at hand can sharpen it.
    """

    gear: tuple[str, ...]
    """The tools taken to one grind; empty for several."""
    apex_radius_mm: Any
    removal_mm3_per_min: Any
    """In this owner's hands."""
    setup_minutes: Any
    finishing_minutes: Any
    """Finer grits and the burr for 150 mm of plain steel's edge, in this owner's hands."""
    angle_wander_deg: Any
    recession_mm: Any = RECESSION_IN_USE_MM
    """How far the edge wears back between sharpenings."""

    @property
    def able(self) -> Any:
        """Whether something at hand can sharpen the grind: a flag, or (n,)."""
        return ~np.isnan(self.removal_mm3_per_min)


_NO_FIGURES = frozenset({"id", "carbides", "gear"})
"""Fields of a steel's and a sharpening's state that are no single figure."""


@dataclass(frozen=True)
class Context:
    """What a metric may know besides the sections.

    The `likely` of a quantity is a number, or (n,) when uncertain ones are redrawn: metrics must broadcast either. A
    task's depth of cut is never redrawn: it says which task it is.
    """

    tasks: tuple[TaskLoad, ...]
    steel: SteelState
    sharpening: SharpeningState
    length_mm: Any
    thickest_edge_mm: Any
    """Behind the edge; beyond it the blade's tasks go badly (share-weighted)."""

    @classmethod
    def joined(cls, contexts: Sequence[Context], sizes: Sequence[int]) -> Context:
        """One context for batches of some sizes, each with its own: columns where they differ, the tasks of the first.

        No gear is named in it: several grinds are sharpened with several tools.
        """

        def columns(parts: Sequence[Any]) -> dict[str, Any]:
            names = [f.name for f in dataclasses.fields(parts[0]) if f.name not in _NO_FIGURES]
            return {name: column([getattr(part, name) for part in parts]) for name in names}

        def column(values: Sequence[Any]) -> Any:
            if not any(np.ndim(value) for value in values) and len({float(value) for value in values}) == 1:
                return values[0]
            return np.concatenate([np.broadcast_to(v, (n,)) for v, n in zip(values, sizes, strict=True)]).astype(float)

        first, steels = contexts[0], [c.steel for c in contexts]
        carbides = {name: column([steel.carbides[name] for steel in steels]) for name in first.steel.carbides}
        return dataclasses.replace(
            first,
            steel=dataclasses.replace(first.steel, carbides=carbides, **columns(steels)),
            sharpening=dataclasses.replace(first.sharpening, gear=(), **columns([c.sharpening for c in contexts])),
            length_mm=column([c.length_mm for c in contexts]),
            thickest_edge_mm=column([c.thickest_edge_mm for c in contexts]),
        )

    def taking(self, rows: npt.NDArray[Any], tasks: tuple[TaskLoad, ...]) -> Context:
        """What holds for the given rows of a batch, by mask or index, and for some tasks alone."""

        def some(part: Any) -> dict[str, Any]:
            values = {f.name: getattr(part, f.name) for f in dataclasses.fields(part)}
            return {name: value[rows] for name, value in values.items() if isinstance(value, np.ndarray) and value.ndim}

        def of_rows(value: Any) -> Any:
            return value[rows] if isinstance(value, np.ndarray) and value.ndim else value

        steel = dataclasses.replace(
            self.steel, **some(self.steel), carbides={k: of_rows(v) for k, v in self.steel.carbides.items()}
        )
        sharpening = dataclasses.replace(self.sharpening, **some(self.sharpening))
        thickest, length = of_rows(self.thickest_edge_mm), of_rows(self.length_mm)
        loads = tuple(dataclasses.replace(load, share=of_rows(load.share)) for load in tasks)
        return dataclasses.replace(
            self, tasks=loads, steel=steel, sharpening=sharpening, thickest_edge_mm=thickest, length_mm=length
        )

    def sharpening_minutes(self, steel_mm2: Array, *, setups: npt.ArrayLike = 1) -> Array:
        """Minutes that it takes this owner to take so much steel off the edge of this blade, set up so many times."""
        return minutes_per_sharpening(
            steel_mm2,
            self.length_mm,
            self.sharpening.removal_mm3_per_min,
            setup_minutes=self.sharpening.setup_minutes * np.asarray(setups),
            finishing_minutes=self.sharpening.finishing_minutes,
            slowness=slowness(self.steel.hardness_hrc, self.steel.carbides),
        )

    def greatest(self, figure: Callable[[Task], Any]) -> Array:
        """The greatest of a task's figures over the tasks whose limits hold: a number, or (n,)."""
        shares = [np.asarray(load.share) for load in self.tasks]
        least = np.minimum(LIMITS_FROM_SHARE, np.maximum.reduce(shares))
        figures = [
            np.where(share >= least - 1e-12, figure(load.task), -np.inf)
            for share, load in zip(shares, self.tasks, strict=True)
        ]
        return np.asarray(np.maximum.reduce(figures))


@dataclass(frozen=True)
class Forms:
    """One design as whole blades of several forms: by tip, swedge and distal taper."""

    blades: tuple[Blade, ...]
    """One batch for each tip."""
    tips: tuple[str, ...]
    repeated: bool = False
    """Whether all are the same blade, in one batch: what uncertain numbers are redrawn for."""

    def __len__(self) -> int:
        return sum(len(blade.outlines) for blade in self.blades)

    @cached_property
    def tip(self) -> npt.NDArray[Any]:
        """Name of each form's side view, (n,)."""
        return np.repeat(np.asarray(self.tips), [len(blade.outlines) for blade in self.blades])

    def figure(self, key: Hashable, compute: Callable[..., Array], *inputs: Any) -> Array:
        """A figure of the blades (n,), kept under a key of its own; `compute` gets a batch of blades and the inputs.

        `inputs` are what else goes into it, each a number or (n,), as in `Sections.figure`.
        """
        kept: dict[Hashable, Array] = self._kept
        full = _full_key(key, compute, inputs)
        if full not in kept:
            kept[full] = self._figure(compute, inputs)
        return kept[full]

    def _figure(self, compute: Callable[..., Array], inputs: tuple[Any, ...]) -> Array:
        several = any(np.ndim(value) for value in inputs)
        if self.repeated and not several:
            one = compute(self.blades[0].taking(np.array([0])), *inputs)
            return np.repeat(np.asarray(one), len(self))
        parts, start = [], 0
        for blade in self.blades:
            rows = slice(start, start + len(blade.outlines))
            start = rows.stop
            parts.append(compute(blade, *(np.asarray(v)[rows] if np.ndim(v) else v for v in inputs)))
        return np.concatenate(parts)

    @cached_property
    def _kept(self) -> dict[Hashable, Array]:
        return {}


@dataclass(frozen=True)
class Metric:
    """A figure of a section. `compute` gives (n,) in `unit`, or None where it has no meaning for this brief.

    `of` "blade": a figure of the whole blade, by which tip, swedge and distal taper are chosen once the section is;
    its functions get `Forms` instead of `Sections`.

    NaN for a single section says that it does not get there (a blade too thin to open a billet): limits shut it
    out, goals give it nothing. Per-task metrics are called once a task, with it; the engine weights them by share
    and keeps the parts.
    """

    id: str
    label: str
    unit: Unit
    better: Literal["higher", "lower", "either"]
    about: str
    """Formula, limits and source in one or two sentences."""
    estimate: bool
    """The value leans on estimated coefficients rather than on geometry and published figures alone."""
    compute: Callable[[Any, Context], Array | None] | None = None
    compute_for_task: Callable[[Any, Context, TaskLoad], Array | None] | None = None
    of: Literal["section", "blade"] = "section"
    applies: Callable[[Any], npt.NDArray[np.bool_]] | None = None
    """Where it has a meaning, (n,): elsewhere rules on it are silent. NaN alone means “does not get there”."""


MOST_DOCUMENT_BYTES = 32_000_000
"""A writer that gives more has gone wrong."""


@dataclass(frozen=True)
class Writer:
    """Turns an answer into a document of one kind; `draw --write ID FILE` asks for it by id.

    `write` gets the answer as `recommend --json` prints it, plus `title`, `outline` and `tip_outline` (the
    proposal's section as a list of [x, y, bulge] in mm; the tip zone's where it differs, else None) and `sheet` (the
    workshop drawing as a `recommender.models.sheet.Sheet`: pages of views of paths and labels, for any format; None
    where nothing fits), and gives the file's bytes.
    """

    id: str
    label: str
    write: Callable[[Mapping[str, Any]], bytes]
