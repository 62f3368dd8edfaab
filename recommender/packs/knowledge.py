"""What the packs say, loaded and checked together."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Annotated, Literal, NamedTuple

from pydantic import Field

from recommender.models.base import Id, Model, NotNegative, Positive, Text
from recommender.models.brief import Climate, Hand, Skill
from recommender.models.knowledge.rule import Rule, named_tasks
from recommender.models.knowledge.tables import Gear, Material, Steel, Task


class Defaults(Model):
    """What a brief that leaves a field open is answered for."""

    task: Id
    gear: tuple[Id, ...]
    skill: Skill
    hand: Hand
    climate: Climate
    use_hours_per_week: NotNegative
    wheels_mm: tuple[Positive, ...]
    nick_um: Positive
    """Depth of a nick of use, the flaw from which a blade breaks when pried with, um."""


class PackInfo(Model):
    """A pack's pack.toml."""

    id: Id
    title: Text
    version: Text
    defaults: Defaults | None = None
    usual_steels: Annotated[dict[Id, Id], Field(default_factory=dict)]
    """Task -> the steel it is answered for when the brief names none."""
    switch_off: tuple[Id, ...] = ()
    """Rules of earlier packs that do not count any more."""


@dataclass(frozen=True)
class LoadedRule:
    """A rule with the pack and file it came from."""

    rule: Rule
    pack: str
    file: str

    @cached_property
    def tasks(self) -> frozenset[str]:
        """The tasks the rule asks for by name."""
        return named_tasks(self.rule.when)


_ONE = {"rules": "rule", "tasks": "task", "materials": "material", "steels": "steel"}


class Overruled(NamedTuple):
    """Something of a pack that a later one replaces or switches off."""

    kind: str
    """rules, tasks, materials, gear or steels."""
    id: str
    pack: str
    by: str
    how: Literal["replaced", "switched off"]

    def __str__(self) -> str:
        does = "replaces" if self.how == "replaced" else "switches off"
        return f"{self.by} {does} {_ONE.get(self.kind, self.kind)} {self.id} of {self.pack}"


@dataclass
class Knowledge:
    """All tables by id and all active rules."""

    packs: list[PackInfo] = field(default_factory=list)
    tasks: dict[str, Task] = field(default_factory=dict)
    materials: dict[str, Material] = field(default_factory=dict)
    gear: dict[str, Gear] = field(default_factory=dict)
    steels: dict[str, Steel] = field(default_factory=dict)
    rules: dict[str, LoadedRule] = field(default_factory=dict)
    pack_of: dict[tuple[str, str], str] = field(default_factory=dict)
    """(kind, id) of a table -> the pack it comes from."""
    overruled: list[Overruled] = field(default_factory=list)
    left_out: list[str] = field(default_factory=list)
    """Packs of the user's that could not be loaded, and why."""

    @property
    def defaults(self) -> Defaults:
        """The defaults of the last pack that states them."""
        return next(pack.defaults for pack in reversed(self.packs) if pack.defaults is not None)

    def usual_steel(self, task: str) -> str | None:
        """The steel a task is answered for when the brief names none."""
        return next((p.usual_steels[task] for p in reversed(self.packs) if task in p.usual_steels), None)

    @property
    def tasks_to_choose(self) -> list[Task]:
        """Tasks in the order in which people look for them."""
        return sorted(self.tasks.values(), key=lambda task: (task.list_place, task.label))

    def of_kind(self, kind: str) -> list[LoadedRule]:
        """Active rules of one kind."""
        return [loaded for loaded in self.rules.values() if loaded.rule.kind == kind]
