"""One brief, made whole, with everything that is loaded: what the engine answers from."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from recommender.engine.intake.brief_facts import brief_facts
from recommender.engine.intake.brief_text import with_settings
from recommender.engine.intake.conditions import ruled_out
from recommender.engine.intake.resolve import Resolved, resolve
from recommender.packs.knowledge import Knowledge, LoadedRule
from recommender.plugin.registry import Registry


@dataclass(frozen=True)
class Case:
    """A brief before the engine: its whole form, the knowledge and the plug-ins."""

    resolved: Resolved
    knowledge: Knowledge
    registry: Registry
    """Of this case alone: what fails in it is told with its answer and forgotten with it."""

    @classmethod
    def of(cls, resolved: Resolved, knowledge: Knowledge, loaded: Registry) -> Case:
        """A question of its own to the plug-ins that are loaded."""
        return cls(resolved, knowledge, loaded.for_answer())

    def but(self, **changes: Any) -> Case:
        """The same case with parts of its brief changed: fields of `Resolved`."""
        return dataclasses.replace(self, resolved=dataclasses.replace(self.resolved, **changes))

    def asked_with(self, settings: Sequence[str]) -> Resolved:
        """The brief asked again with some settings, as `--set` takes them. Raises InputError."""
        brief = with_settings(self.resolved.asked, settings)
        return resolve(brief, self.knowledge, self.registry.grinds, "--set", self.resolved.bench)

    @cached_property
    def rules(self) -> Rulebook:
        """The rules as this brief meets them."""
        return Rulebook.of(
            self.knowledge, brief_facts(self.resolved, weighty=False), brief_facts(self.resolved, weighty=True)
        )


@dataclass(frozen=True)
class Rulebook:
    """Rules with the facts of a brief: those that it rules out are put aside once, not for every batch."""

    facts: Mapping[str, Any]
    """Facts of the brief, every task named: what goals, leans and limits go by. Values, or (n,) where rows differ."""
    weighty_facts: Mapping[str, Any]
    """The same with only the tasks whose cautions hold: what cautions and advice go by."""
    goals: list[LoadedRule]
    leans: list[LoadedRule]
    limits: list[LoadedRule]
    knowledge: Knowledge
    usual: dict[tuple[str, str], Any] = field(default_factory=dict)
    """(task, metric) -> the figure of its usual blade, as it was asked for; the same for all facts."""

    @classmethod
    def of(cls, knowledge: Knowledge, facts: Mapping[str, Any], weighty_facts: Mapping[str, Any]) -> Rulebook:
        """The rules that the facts leave in question."""

        def left(kind: str, known: Mapping[str, Any]) -> list[LoadedRule]:
            return [r for r in knowledge.of_kind(kind) if not ruled_out(r.rule.when, known.get)]

        return cls(facts, weighty_facts, left("goal", facts), left("lean", facts), left("limit", facts), knowledge)

    def only(self, wanted: Callable[[LoadedRule], bool]) -> Rulebook:
        """Some of the rules in question."""
        goals, leans, limits = ([r for r in rules if wanted(r)] for rules in (self.goals, self.leans, self.limits))
        return dataclasses.replace(self, goals=goals, leans=leans, limits=limits)

    def over(self, facts: Mapping[str, Any], weighty_facts: Mapping[str, Any]) -> Rulebook:
        """The same rules in question, over other facts: those of these briefs for some rows."""
        return dataclasses.replace(self, facts=facts, weighty_facts=weighty_facts)
