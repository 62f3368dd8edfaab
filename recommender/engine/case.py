"""One brief, made whole, with everything that is loaded: what the engine answers from."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal

from recommender.engine.briefs import with_settings
from recommender.engine.conditions import ruled_out
from recommender.engine.facts import brief_facts
from recommender.engine.resolve import Resolved, resolve
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

    def asked_with(self, settings: Sequence[str]) -> Resolved:
        """The brief asked again with some settings, as `--set` takes them. Raises InputError."""
        grinds = {name: stamped.item for name, stamped in self.registry.grinds.items()}
        return resolve(with_settings(self.resolved.asked, settings), self.knowledge, grinds, "--set")

    @cached_property
    def rules(self) -> Rulebook:
        """The rules as this brief meets them."""
        return Rulebook(
            self.knowledge, brief_facts(self.resolved, weighty=False), brief_facts(self.resolved, weighty=True)
        )


@dataclass(frozen=True)
class Rulebook:
    """Rules with the facts of a brief: those that it rules out are put aside once, not for every batch."""

    knowledge: Knowledge
    facts: Mapping[str, Any]
    """Facts of the brief, every task named: what goals and leans go by. Values, or (n,) where rows differ."""
    weighty_facts: Mapping[str, Any]
    """The same with only the tasks whose limits hold: what limits, cautions and advice go by."""

    def only(self, wanted: Callable[[LoadedRule], bool]) -> Rulebook:
        """Some of the rules in question."""
        other = Rulebook(self.knowledge, self.facts, self.weighty_facts)
        other.__dict__.update(
            goals=[r for r in self.goals if wanted(r)],
            leans=[r for r in self.leans if wanted(r)],
            limits=[r for r in self.limits if wanted(r)],
        )
        return other

    def over(self, facts: Mapping[str, Any], weighty_facts: Mapping[str, Any]) -> Rulebook:
        """The same rules in question, over other facts: those of these briefs for some rows."""
        other = Rulebook(self.knowledge, facts, weighty_facts)
        other.__dict__.update(goals=self.goals, leans=self.leans, limits=self.limits)
        return other

    @cached_property
    def goals(self) -> list[LoadedRule]:
        """Goals in question."""
        return self._in_question("goal", self.facts)

    @cached_property
    def leans(self) -> list[LoadedRule]:
        """Leans in question."""
        return self._in_question("lean", self.facts)

    @cached_property
    def limits(self) -> list[LoadedRule]:
        """Limits in question."""
        return self._in_question("limit", self.weighty_facts)

    def _in_question(self, kind: Literal["goal", "lean", "limit"], facts: Mapping[str, Any]) -> list[LoadedRule]:
        return [r for r in self.knowledge.of_kind(kind) if not ruled_out(r.rule.when, facts.get)]
