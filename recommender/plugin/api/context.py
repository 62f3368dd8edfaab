"""What a metric may know besides the sections: tasks with their loads, the steel, how it is sharpened."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from recommender.geometry.arcs import Array, Scalars
from recommender.mechanics.cutting import BLUNT_LENGTH_MM, FREE_FACE_SHARE, CutMaterial
from recommender.mechanics.hard_contact import STROKES_BETWEEN_SHARPENINGS, Struck
from recommender.mechanics.sharpening import BACK_PER_SHARPENING_MM, minutes_per_sharpening, slowness
from recommender.mechanics.steel import failure_stress_mpa
from recommender.mechanics.wear import RECESSION_IN_USE_MM
from recommender.models.knowledge.tables import HardContact, Material, Task


@dataclass(frozen=True)
class TaskLoad:
    """A task of the brief with its share (shares sum to 1) and its material."""

    task: Task
    share: Scalars
    """A number, or (n,) where shares differ."""
    material: Material
    blunt_length_mm: Scalars = BLUNT_LENGTH_MM
    """Apex radius that doubles the cost of parting: a number, or (n,) when redrawn."""
    free_face_share: Scalars = FREE_FACE_SHARE
    """Share of pressure that a slice keeps which bends away: a number, or (n,) when redrawn."""

    @property
    def cut_material(self) -> CutMaterial:
        """What the cutting model needs to know of the material: likely values, J/m2 brought to N/mm."""
        m = self.material
        return CutMaterial(
            toughness_n_per_mm=m.toughness_j_per_m2.likely / 1000,
            foundation_n_per_mm3=m.foundation_n_per_mm3.likely,
            plateau_mpa=m.plateau_mpa.likely,
            friction=m.friction.likely,
            blunt_length_mm=self.blunt_length_mm,
            free_face_share=self.free_face_share,
        )

    def edge_steel(self, steel: SteelState) -> SteelState:
        """The steel with the nicks that this task leaves in its edge, where those are deeper than its scratches."""
        nick = self.task.edge_nick_um
        flaw = steel.edge_scratch_um if nick is None else np.maximum(steel.edge_scratch_um, nick.likely)
        return dataclasses.replace(steel, edge_flaw_um=flaw)

    @property
    def struck(self) -> tuple[tuple[Struck, Scalars], ...]:
        """What is hard in this work, as the mechanics know it, each with the share of strokes that meet it."""
        return tuple((_struck(each), each.share_of_strokes.likely) for each in self.task.hard_contacts)

    def recession_mm(self, sharpening: SharpeningState) -> Scalars:
        """How far what is cut wears an edge of 40 degrees included back, half way between sharpenings, mm."""
        told = self.material.edge_recession_um
        return sharpening.recession_mm if told is None else told.likely / 1000


def _struck(contact: HardContact) -> Struck:
    return Struck(
        pressure_mpa=contact.pressure_mpa.likely,
        friction=contact.friction.likely,
        one_sided_share=contact.one_sided_share.likely,
        energy_n_mm=contact.energy_mj.likely,
        contact_mm=contact.contact_mm.likely,
        hand_n_per_mm=contact.hand_n_per_mm.likely,
    )


LIMITS_FROM_SHARE = 0.1
"""Cautions of a task hold from this share on, or from the largest share where all are smaller."""


def weighty(tasks: tuple[TaskLoad, ...]) -> tuple[TaskLoad, ...]:
    """The tasks whose cautions hold, by LIMITS_FROM_SHARE; for shares that are numbers."""
    least = min(LIMITS_FROM_SHARE, max((t.share for t in tasks), default=0.0))
    return tuple(t for t in tasks if t.share >= least - 1e-12)


@dataclass(frozen=True)
class SteelState:
    """The steel as hardened for this blade, and as it fails: numbers, or (n,) when uncertain ones are redrawn.

    Carbides are volume percents by the names of `wear.PER_VOLUME_PERCENT`.
    """

    id: str
    hardness_hrc: Scalars
    yield_mpa: Scalars
    k_ic_mpa_sqrt_m: Scalars
    carbides: Mapping[str, Scalars]
    edge_failure_mpa: Scalars
    """With `edge_flaw_um`, where the section is thick against a tenth of a millimetre; thinner: `edge_fails_at_mpa`."""
    body_failure_mpa: Scalars
    """With a nick of use as the flaw."""
    temper_c: Scalars = 180.0
    """Temperature at which it was tempered, degrees C."""
    edge_flaw_um: Scalars = 1.0
    """The last scratches of sharpening, or the nicks that use leaves where those are deeper, by the shares of the work.

    With those of one task: `TaskLoad.edge_steel`.
    """
    edge_scratch_um: Scalars = 1.0
    """The last scratches of sharpening."""

    def edge_fails_at_mpa(self, thickness_mm: npt.ArrayLike) -> Array:
        """Stress at which an edge as thick fails, MPa; thicknesses broadcast with the steel's figures.

        Formula and source: `mechanics.steel.failure_stress_mpa`.
        """
        return failure_stress_mpa(self.yield_mpa, self.k_ic_mpa_sqrt_m, self.edge_flaw_um, thickness_mm)


@dataclass(frozen=True)
class SharpeningState:
    """How this owner would sharpen a grind: numbers, or (n,) where grinds differ or uncertain ones are redrawn.

    The removal rate is NaN where nothing at hand can sharpen it; the angle's wander is per side.
    """

    gear: tuple[str, ...]
    """The tools taken to one grind; empty for several."""
    apex_radius_mm: Scalars
    removal_mm3_per_min: Scalars
    """In this owner's hands."""
    setup_minutes: Scalars
    finishing_minutes: Scalars
    """The burr for 150 mm of plain steel's edge, in this owner's hands."""
    angle_wander_deg: Scalars
    polish_min_per_mm2: Scalars = 0.0
    """Finer grits for each mm2 of the bevels, plain steel, in this owner's hands."""
    recession_mm: Scalars = RECESSION_IN_USE_MM
    """How far an edge of 40 degrees included wears back between sharpenings, where the material does not say."""
    strokes: Scalars = STROKES_BETWEEN_SHARPENINGS
    """Strokes from one sharpening to the next."""
    back_mm: Scalars = BACK_PER_SHARPENING_MM
    """How far one sharpening moves the edge back."""

    @property
    def able(self) -> Any:
        """Whether something at hand can sharpen the grind: a flag, or (n,)."""
        return ~np.isnan(self.removal_mm3_per_min)


SHARPENING_FIGURES = (
    "apex_radius_mm",
    "removal_mm3_per_min",
    "setup_minutes",
    "finishing_minutes",
    "angle_wander_deg",
    "polish_min_per_mm2",
)
"""What grinds differ in by how they are sharpened, fields of `SharpeningState`."""
_NO_FIGURES = frozenset({"id", "carbides", "gear"})
"""Fields of a steel's and a sharpening's state that are no single figure."""


@dataclass(frozen=True)
class Context:
    """What a metric may know besides the sections.

    The `likely` of a quantity is a number, or (n,) when uncertain ones are redrawn: metrics must broadcast either. The
    blade's length is a number or (n,).
    """

    tasks: tuple[TaskLoad, ...]
    steel: SteelState
    sharpening: SharpeningState
    length_mm: Scalars
    thickest_edge_mm: Scalars
    """Behind the edge; beyond it the blade's tasks go badly (share-weighted)."""

    @classmethod
    def joined(cls, contexts: Sequence[Context], sizes: Sequence[int]) -> Context:
        """One context for batches of some sizes, each with its own: columns (sum of sizes,) where they differ.

        The tasks are those of the first. No gear is named in it: several grinds are sharpened with several tools.
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
        """What holds for the given rows of a batch (n,), by mask or index, and for some tasks alone."""

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

    def sharpening_minutes(
        self, steel_mm2: Array, *, setups: npt.ArrayLike = 1, bevel_mm: npt.ArrayLike = 0.0
    ) -> Array:
        """Minutes that it takes this owner to take so much steel off the edge of this blade, set up so many times.

        `bevel_mm` is how wide all its bevels are together, which the finer grits go over. Steel per mm of edge and the
        count of set-ups broadcast with the context: (n,). NaN where nothing at hand can
        sharpen it. Formula and source: `mechanics.sharpening.minutes_per_sharpening`.
        """
        return minutes_per_sharpening(
            steel_mm2,
            self.length_mm,
            self.sharpening.removal_mm3_per_min,
            setup_minutes=self.sharpening.setup_minutes * np.asarray(setups),
            finishing_minutes=self.sharpening.finishing_minutes,
            polish_min_per_mm2=self.sharpening.polish_min_per_mm2,
            bevel_mm=bevel_mm,
            slowness=slowness(self.steel.hardness_hrc, self.steel.carbides),
        )

    def greatest(self, figure: Callable[[Task], Any]) -> Array:
        """The greatest of a task's figures over the tasks whose cautions hold: a number, or (n,), in its unit."""
        shares = [np.asarray(load.share) for load in self.tasks]
        least = np.minimum(LIMITS_FROM_SHARE, np.maximum.reduce(shares))
        figures = [
            np.where(share >= least - 1e-12, figure(load.task), -np.inf)
            for share, load in zip(shares, self.tasks, strict=True)
        ]
        return np.asarray(np.maximum.reduce(figures))
