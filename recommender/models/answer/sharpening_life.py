"""A blade's life, as one object: what `life --json` prints."""

from __future__ import annotations

from typing import Any, Literal

from recommender.models.answer.proposal import Provenance
from recommender.models.base import Model
from recommender.models.brief import Brief

SCHEMA: Literal["bevelwright.life/1"] = "bevelwright.life/1"


class Band(Model):
    """An estimate: the likely value and the ends of its band."""

    likely: float
    low: float
    high: float


class Milestone(Model):
    """A point in the blade's life."""

    sharpenings: int
    """Full sharpenings by then, of `back_per_sharpening_mm` likely."""
    sharpened_back_mm: float
    blade_height_mm: float
    """What is left of it."""
    edge_thickness_mm: float
    """At the shoulder, by then."""
    years: Band | None
    """None where nothing at hand sharpens the blade, or it is not used."""


class ThinnedBack(Model):
    """The blade thinned back to its drawing at `thinning`: edge and faces as new, lower by what is sharpened away."""

    steel_g: float
    """Ground off both faces over the blade's length."""
    gear: str | None
    """The quickest at hand that thins; None where nothing can, and for hollows, which take their own wheel."""
    minutes: Band | None
    edge_thickness_mm: float
    """Then; before, it is that of `thinning`."""
    cut_force_n_per_mm: tuple[float, float] | None
    """Before and after, weighted by share; None where no task cuts."""
    edge_strength_n: tuple[float, float]
    """Before and after. Compares shapes, licences no load."""
    times: int
    """How often before the end: it wants thinning again after as many sharpenings."""


class Course(Model):
    """The blade after 0, 1, 2, ... sharpenings: entry k after k of them, nothing thinned between."""

    blade_height_mm: tuple[float, ...]
    edge_thickness_mm: tuple[float, ...]
    bevel_width_mm: tuple[float, ...]
    """From apex to shoulder along the face."""
    cut_force_n_per_mm: tuple[float, ...] | None
    """Weighted by share over the tasks that cut; None where none does."""
    cut_force_by_task_n_per_mm: dict[str, tuple[float, ...]]
    edge_strength_n: tuple[float, ...]
    """Local: the least sideways load on a 2 mm stretch. Compares shapes, licences no load."""
    sharpening_minutes: tuple[float, ...] | None
    """For the next sharpening; None where nothing at hand can do it."""


class BladeLife(Model):
    """The life of the proposal or of an alternative."""

    grind: str
    grind_label: str
    points: float
    """Of 100, as proposed."""
    edge_angle_per_side_deg: float
    edge_angle_included_deg: float
    wheel_diameter_mm: float | None
    ground_to_zero: bool
    """The bevel reaches the full stock: sharpening moves the section up and changes nothing else."""
    one_bevel: bool = False
    """When new, edge bevel and primary grind are one; what is then sharpened at the edge's angle ends in a shoulder."""
    hollow: bool
    """The shoulder first thickens slower than that of a flat of the same shoulder, stock and line."""
    hours_between_sharpenings: Band | None
    sharpenings_per_year: Band | None
    thinning: Milestone | None
    """The first sharpening after which the shoulder is thicker than the tasks' thickest edge; None: not until `end`."""
    upper_curve: Milestone | None
    """The first sharpening after which a hollow thickens faster than that flat; None: not until `end`."""
    thinned: ThinnedBack | None = None
    """What thinning it back then takes and gives; None where it does not want thinning, or does from the start."""
    end: Milestone
    """Half its height left, or 400 sharpenings, whichever comes first."""
    half_height: bool
    """Which of the two `end` is."""
    course: Course


class Life(Model):
    """The lives of the proposal (first) and the alternatives; no blades where nothing fits the brief."""

    schema_: Literal["bevelwright.life/1"] = SCHEMA
    brief: Brief
    thickest_edge_mm: float
    """Behind the edge; beyond it the brief's tasks go badly (share-weighted)."""
    back_per_sharpening_mm: Band
    touched_up_with: tuple[str, ...]
    """Gear that keeps an edge going between sharpenings."""
    thinned_with: tuple[str, ...]
    """Gear at hand that can thin a blade."""
    blades: tuple[BladeLife, ...]
    provenance: Provenance

    def as_json(self) -> dict[str, Any]:
        """The object as JSON data, `schema` first."""
        data = self.model_dump(mode="json", by_alias=True)
        return {"schema": data.pop("schema_"), **data}
