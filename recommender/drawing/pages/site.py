"""Which pages there are, where they lie, and how they link to each other."""

from __future__ import annotations

import hashlib
import re
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from recommender.drawing.documents.document_markdown import escaped
from recommender.drawing.pages.markup import link
from recommender.drawing.text.rules.rule_text import effect_words
from recommender.engine.intake.tested_conditions import condition_lines
from recommender.geometry.outline import Outline
from recommender.models.answer.proposal import Proposal
from recommender.models.knowledge.rule import All, AnyOf, Comparison, GoalEffect, LimitEffect, Not, Rule
from recommender.packs.facts import FACTS
from recommender.packs.knowledge import Knowledge, LoadedRule
from recommender.plugin.api import Grind, Metric
from recommender.plugin.guard import Registered

FOLDERS = ("rules", "tasks", "steels", "gear", "materials", "grinds", "metrics", "findings")
Key = tuple[str, str]
"""A folder and an id."""
_OF_FIELD = {name: fact.table for name, fact in FACTS.items() if fact.table is not None}
_PLAIN = re.compile(r"[a-z0-9][a-z0-9._-]{0,59}")
_ROW = re.compile(rf"{_PLAIN.pattern}/{_PLAIN.pattern}")
"""Of a row of a rule; in a file's name a + stands for the stroke."""


@dataclass(frozen=True)
class DrawnSection:
    """A section to be drawn (v, 3), mm, and its grind line."""

    outline: Outline
    line_mm: float


Drawn = DrawnSection  # its name in 0.1


@dataclass(frozen=True)
class Site:
    """Everything that pages are made of."""

    knowledge: Knowledge
    grinds: Mapping[str, Registered[Grind]]
    metrics: Mapping[str, Registered[Metric]]
    drawn_grinds: Mapping[str, DrawnSection] = field(default_factory=dict)
    answers: Mapping[str, tuple[Proposal, DrawnSection]] = field(default_factory=dict)
    """Task -> what is proposed for it where all else is left open."""
    findings: Mapping[str, tuple[str, Sequence[str]]] = field(default_factory=dict)
    """Kind of finding of a rule check -> its title and the paragraphs that explain it."""

    @cached_property
    def labels(self) -> dict[Key, str]:
        """Every page that there is besides the index, with what it is called in a link."""
        known: dict[Key, str] = {("rules", id_): loaded.rule.title for id_, loaded in self.knowledge.rules.items()}
        for folder in ("tasks", "steels", "gear", "materials"):
            store: Mapping[str, Any] = getattr(self.knowledge, folder)
            known |= {(folder, id_): entry.label for id_, entry in store.items()}
        known |= {("grinds", id_): stamped.item.label for id_, stamped in self.grinds.items()}
        known |= {("metrics", id_): stamped.item.label for id_, stamped in self.metrics.items()}
        return known | {("findings", id_): title for id_, (title, _) in self.findings.items()}

    @cached_property
    def rules_on(self) -> Mapping[Key, list[LoadedRule]]:
        """Task, gear, steel, grind or metric -> the rules that speak of it, by id."""
        found: dict[Key, list[LoadedRule]] = defaultdict(list)
        for _, loaded in sorted(self.knowledge.rules.items()):
            for key in mentions(loaded.rule):
                found[key].append(loaded)
        return found

    @cached_property
    def plain_metrics(self) -> dict[str, Metric]:
        """Metrics by id."""
        return {id_: stamped.item for id_, stamped in self.metrics.items()}

    def link(self, folder: str, id_: str) -> str:
        """A link from a page of any folder to another; the bare id where there is no such page."""
        label = self.labels.get((folder, id_))
        return escaped(id_) if label is None else link(label, f"../{path(folder, id_)}")

    def rule_lines(self, folder: str, id_: str, wanted: Callable[[Rule], bool] = lambda rule: True) -> Iterator[str]:
        """The rules that speak of something, those wanted, each with what it does."""
        for loaded in self.rules_on.get((folder, id_), ()):
            if wanted(loaded.rule):
                words = escaped(effect_words(loaded.rule, self.plain_metrics))
                yield f"{self.link('rules', loaded.rule.id)} ({loaded.rule.kind}): {words}"


def path(folder: str, id_: str, ending: str = "md") -> str:
    """Where a page or picture lies in the folder of all pages; ids that are no names of files become some."""
    name = id_ if _PLAIN.fullmatch(id_) else ""
    if folder == "rules" and _ROW.fullmatch(id_):
        name = id_.replace("/", "+")
    if not name:
        mark = hashlib.sha256(id_.encode("utf-8", "surrogatepass")).hexdigest()[:12]
        name = f"{re.sub(r'[^a-z0-9]+', '-', id_.lower())[:40].strip('-')}--{mark}".lstrip("-")
    return f"{folder}/{name}.{ending}"


def mentions(rule: Rule) -> list[Key]:
    """What a rule names: in its condition, and the metric of its effect."""
    found = dict.fromkeys(_named(rule.when))
    effect = rule.effect
    if isinstance(effect, GoalEffect | LimitEffect) and effect.metric is not None:
        found["metrics", effect.metric] = None
    return list(found)


def _named(condition: All | AnyOf | Not | Comparison) -> Iterator[Key]:
    match condition:
        case All(all=parts) | AnyOf(any=parts):
            for part in parts:
                yield from _named(part)
        case Not(not_=part):
            yield from _named(part)
        case Comparison(field=name):
            if name.startswith("metric."):
                yield "metrics", name.removeprefix("metric.")
            elif name in _OF_FIELD:
                for _, wanted in condition.tests:
                    for value in wanted if isinstance(wanted, tuple) else (wanted,):
                        yield _OF_FIELD[name], str(value)


def condition_bullets(rule: Rule) -> str:
    """When a rule fires, line by line."""
    return "\n".join(f"{'  ' * depth}- {escaped(asks)}" for depth, asks in condition_lines(rule.when))
