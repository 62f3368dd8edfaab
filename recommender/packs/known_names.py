"""What a name means besides a rule: a task, steel, gear, material, grind or metric, with facts that follow from it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Protocol

from recommender.packs.facts import FACTS, Follows
from recommender.packs.facts.reading import GrindFamily
from recommender.packs.knowledge import Knowledge

_TABLES = {"tasks": "task", "steels": "steel", "gear": "gear", "materials": "material"}
_ASKED_BY = {"steel": "brief.steel.grade", "grind": "design.grind"}
"""Kinds from which facts follow -> the fact that names one."""

_KINDS_AT = {"tasks": ("task", ""), "task": ("task", ""), "metric": ("figure", ""), "field": ("figure", "metric.")}
"""Keys of rules that name things of one kind, with what stands before those names."""


class Labelled(Protocol):
    """What has an id and is called something."""

    @property
    def id(self) -> str:
        """By which rules name it."""

    @property
    def label(self) -> str:
        """How it is called."""


@dataclass(frozen=True)
class KnownName:
    """Something that is known by a name."""

    kind: str
    id: str
    label: str
    place: str
    """The table that states it; "" where a plug-in gives it."""
    follows: Mapping[str, Any]
    """Facts that rules may ask for instead of its name -> what they are for it."""


def called(
    name: str, knowledge: Knowledge, grinds: Mapping[str, GrindFamily], metrics: Mapping[str, Labelled]
) -> list[KnownName]:
    """Everything that a name means, by id, by label or by whatever else it is called."""
    sought = name.strip().casefold()
    found = []
    for kind, item, place in _everything(knowledge, grinds, metrics):
        also = (word for words in ("names", "words", "also") for word in getattr(item, words, ()))
        if sought in {word.casefold() for word in (item.id, item.label, *also)}:
            base = _ASKED_BY.get(kind, "")
            follows = {
                fact.name: fact.follows.values(knowledge, grinds)[item.id]
                for fact in FACTS.values()
                if isinstance(fact.follows, Follows) and fact.follows.base == base
            }
            found.append(KnownName(kind, item.id, item.label, place, follows))
    return found


def meant_at(
    key: str,
    name: str,
    knowledge: Knowledge,
    grinds: Mapping[str, GrindFamily],
    metrics: Mapping[str, Labelled],
) -> str | None:
    """Ids of what may be meant at a key of a rule by a name that is no id; None where nothing goes by it."""
    kind, scope = _KINDS_AT.get(key, (None, ""))
    sought = name.removeprefix(scope)
    ids = {known.id for known in called(sought, knowledge, grinds, metrics) if kind in (None, known.kind)}
    return ", ".join(scope + id_ for id_ in sorted(ids)) or None


def _everything(
    knowledge: Knowledge, grinds: Mapping[str, GrindFamily], metrics: Mapping[str, Labelled]
) -> Iterator[tuple[str, Any, str]]:
    for tables, kind in _TABLES.items():
        for id_, item in getattr(knowledge, tables).items():
            yield kind, item, f"{knowledge.pack_of[tables, id_]}/tables/{tables}/{id_}.toml"
    yield from (("grind", grind, "") for grind in grinds.values())
    yield from (("figure", metric, "") for metric in metrics.values())
