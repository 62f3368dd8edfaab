"""The fields that rules may speak about: declared facts and metrics, with the names that are loaded."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from recommender.packs.facts import FACTS, Fact
from recommender.packs.knowledge import Knowledge

TESTS = {
    "number": frozenset({"eq", "ne", "lt", "le", "gt", "ge", "in"}),
    "flag": frozenset({"eq", "ne"}),
    "category": frozenset({"eq", "ne", "in"}),
    "set": frozenset({"has", "in"}),
}
"""Kind of fact -> the comparisons that suit it."""


def fields(knowledge: Knowledge, grinds: Iterable[str], metrics: Iterable[str]) -> dict[str, Fact]:
    """Every field by its dotted name, with all the values that it can have."""
    known = [replace(fact, values=fact.names(knowledge, grinds)) for fact in FACTS.values()]
    known += [Fact(f"metric.{name}", "metric", "number", may_be_unknown=True) for name in metrics]
    return {fact.name: fact for fact in known}
