"""One brief, made whole, with everything that is loaded: what the engine answers from."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal

from recommender.engine.conditions import ruled_out
from recommender.engine.facts import brief_facts
from recommender.engine.resolve import Resolved
from recommender.packs.knowledge import Knowledge, LoadedRule
from recommender.plugin.registry import Registry


@dataclass(frozen=True)
class Case:
    """A brief before the engine: its whole form, the knowledge and the plug-ins."""

    resolved: Resolved
    knowledge: Knowledge
    registry: Registry

    def but(self, **changes: Any) -> Case:
        """The same case with parts of its brief changed: fields of `Resolved`."""
        return dataclasses.replace(self, resolved=dataclasses.replace(self.resolved, **changes))

    @cached_property
    def facts(self) -> dict[str, Any]:
        """Facts of the brief, every task named: what goals and leans go by."""
        return brief_facts(self.resolved, weighty=False)

    @cached_property
    def weighty_facts(self) -> dict[str, Any]:
        """Facts of the brief, only tasks named whose limits hold: what limits, cautions and advice go by."""
        return brief_facts(self.resolved, weighty=True)

    @cached_property
    def goals(self) -> list[LoadedRule]:
        """Goals that the brief does not rule out."""
        return self._in_question("goal", self.facts)

    @cached_property
    def leans(self) -> list[LoadedRule]:
        """Leans that the brief does not rule out."""
        return self._in_question("lean", self.facts)

    @cached_property
    def limits(self) -> list[LoadedRule]:
        """Limits that the brief does not rule out."""
        return self._in_question("limit", self.weighty_facts)

    def _in_question(self, kind: Literal["goal", "lean", "limit"], facts: dict[str, Any]) -> list[LoadedRule]:
        return [r for r in self.knowledge.of_kind(kind) if not ruled_out(r.rule.when, facts.get)]
