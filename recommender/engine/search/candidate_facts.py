"""The facts of candidates that rules see, computed as they are declared."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from recommender.engine.intake.conditions import Grouped
from recommender.engine.search.measuring import Measured
from recommender.packs.facts import FACTS
from recommender.plugin.api import Designs, Grind, Sections, SharpeningState


class CandidateFacts:
    """Looks a field up for one batch of candidates."""

    def __init__(self, shared: Mapping[str, Any], measured: Measured, tasks: frozenset[str] = frozenset()) -> None:
        self.known, self.measured, self.tasks = shared, measured, tasks

    def __call__(self, name: str) -> Any:
        """The value of a field: one for all, (n,) by candidate, or None when unknown."""
        if name in self.known:
            return self.known[name]
        scope, _, field = name.partition(".")
        if scope == "metric":
            return self.measured.metric(field, self.tasks)
        fact = FACTS[name]
        return self.designs.columns.get(field) if fact.from_blades is None else fact.from_blades(self)

    @property
    def designs(self) -> Designs:
        """The candidates' columns."""
        return self.measured.designs

    @property
    def sections(self) -> Sections:
        """The candidates' sections."""
        return self.measured.sections

    @property
    def sharpening(self) -> SharpeningState:
        """How the owner would sharpen the candidates."""
        return self.measured.context.sharpening

    def of_grind(self, get: Callable[[Grind], str]) -> Any:
        """A word about the grind: one for all, or (n,)."""
        return self.measured.of_grind(get)

    def shared(self, name: str) -> Any:
        """A fact of the brief: one for all, (n,) where candidates are of several briefs, or None when unknown."""
        fact = self.known.get(name)
        return fact.rows if isinstance(fact, Grouped) else fact
