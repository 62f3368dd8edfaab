"""A grind family, as a plug-in declares it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from recommender.geometry.outline import Outline
from recommender.models.knowledge.tables import Surface
from recommender.plugin.api.designs import Designs, Parameter, Refusal, Workshop


def _as_is(designs: Designs) -> Designs:
    return designs


@dataclass(frozen=True)
class Grind:
    """A grind family: everything the engine needs to know of it.

    Its functions get n designs at a time, columns (n,), and are called for thousands and for one; what they raise is
    noted with the plug-in's name, and the grind is left out of that answer.
    """

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

    ground: str = ""
    """How it looks to somebody who knows nothing of grinds, after “ground”: “flat from back to edge”."""

    @property
    def knobs(self) -> int:
        """How many of its parameters a survey spreads designs over."""
        return sum(not p.refined_only for p in self.parameters)

    def parameter(self, name: str) -> Parameter | None:
        """The parameter of that name, or None."""
        return next((p for p in self.parameters if p.name == name), None)
