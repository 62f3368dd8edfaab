"""A blade of one's own choosing, weighed under the same brief as the proposal."""

from __future__ import annotations

from pydantic import Field

from recommender.models.answer.proposal import BladeFigures, Cost, MetricValue, Points, Proposal, Reason
from recommender.models.base import Model


class Knob(Model):
    """A dimension of a blade that can be moved: by steps between low and high, or along its choices."""

    name: str
    label: str
    unit: str
    value: float | str | None
    proposed: float | str | None
    """What the blade it was tried from has there."""
    low: float
    """In `unit`, as value, high and step are."""
    high: float
    step: float
    choices: tuple[float | str, ...]


class Broken(Model):
    """A limit that a blade breaks."""

    rule: str
    title: str
    text: str


class Weighed(Model):
    """A blade with everything the rules say of it. Without figures where it cannot be ground."""

    proposal: Proposal
    refused: tuple[str, ...]
    """Why it cannot be ground, in this workshop or at all."""
    broken: tuple[Broken, ...]
    points: Points | None
    costs: list[Cost] = Field(default_factory=list)
    """Demands of tasks that it fails."""
    metrics: dict[str, MetricValue]
    reasons: list[Reason]
    blade: BladeFigures | None
