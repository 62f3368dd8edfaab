"""One brief of many answered, as one object: what `sweep` writes a row."""

from __future__ import annotations

from typing import Any, Literal

from recommender.models.answer.proposal import Cost, Proposal
from recommender.models.base import Model

SCHEMA: Literal["bevelwright.sweep/1"] = "bevelwright.sweep/1"

Outcome = Literal["answered", "nothing fits", "bad input"]


class RunnerUp(Model):
    """The best of the other grinds."""

    grind: str
    grind_label: str
    points_behind: float
    """Below 0 where the wished grind is not the best, or one with fewer knobs leads as good as level."""


class Swept(Model):
    """The answer to a row in short; what does not apply is None or empty."""

    schema_: Literal["bevelwright.sweep/1"] = SCHEMA
    row: int
    line: int
    id: str | None
    outcome: Outcome
    error: str | None = None
    proposal: Proposal | None = None
    points: float | None = None
    """Of 100."""
    confidence: float | None = None
    """Share of the draws from all uncertain numbers in which the proposed grind wins."""
    runner_up: RunnerUp | None = None
    blocked: tuple[str, ...] = ()
    """What shuts out every blade."""
    cautions: tuple[str, ...] = ()
    costs: tuple[Cost, ...] = ()
    """Demands of tasks that the blade fails."""
    failed: tuple[str, ...] = ()
    """Plug-ins that failed, so that the answer came without them."""
    plugins_blocked: tuple[str, ...] = ()
    """Plug-ins that were shut out."""

    def as_json(self) -> dict[str, Any]:
        """The object as JSON data, `schema` first."""
        data = self.model_dump(mode="json", by_alias=True)
        return {"schema": data.pop("schema_"), **data}
