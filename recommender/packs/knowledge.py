"""What the packs say, loaded and checked together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Annotated, Any, Literal, NamedTuple

from pydantic import BeforeValidator, Field, WithJsonSchema

from recommender.models.base import Id, Model, NotNegative, Positive, RuleId, Text
from recommender.models.brief import Climate, Hand, Skill
from recommender.models.knowledge.rule import Rule, named_tasks
from recommender.models.knowledge.tables import Gear, Material, Steel, Task
from recommender.text import found_by, texts


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


class SwitchedOff(Model):
    """A rule that does not count any more, and why: of one that guards people that has to be said."""

    id: RuleId
    because: Text = ""


def _by_id(value: Any) -> Any:
    return {"id": value} if isinstance(value, str) else value


_Off = Annotated[
    SwitchedOff,
    BeforeValidator(_by_id),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "string"},
                {
                    "type": "object",
                    "properties": {"id": {"type": "string"}, "because": {"type": "string"}},
                    "required": ["id", "because"],
                    "additionalProperties": False,
                },
            ]
        }
    ),
]


class PackInfo(Model):
    """A pack's pack.toml."""

    id: Id
    title: Text
    version: Text
    defaults: Defaults | None = None
    usual_steels: Annotated[dict[Id, Id], Field(default_factory=dict)]
    """Task -> the steel it is answered for when the brief names none."""
    switch_off: tuple[_Off, ...] = ()
    """Rules of earlier packs that do not count any more: ids, or tables of id and because."""


@dataclass(frozen=True)
class LoadedRule:
    """A rule with the pack and file it came from."""

    rule: Rule
    pack: str
    file: str
    old_form: bool = False
    """Whether its file holds it alone, as in 0.1."""

    @cached_property
    def tasks(self) -> frozenset[str]:
        """The tasks the rule asks for by name."""
        return named_tasks(self.rule.when)

    @property
    def first_id(self) -> str:
        """The id that it had first. Rules stand by it, so that one that is renamed keeps its place."""
        return self.rule.formerly[0] if self.rule.formerly else self.rule.id

    @cached_property
    def words(self) -> str:
        """All that it says, to be searched: ids, texts, conditions, tasks, metric, source, pack."""
        said = self.rule.model_dump(exclude={"status", "examples", "history"})
        return " ".join((*texts(said), self.pack, self.file))


_ONE = {"rules": "rule", "tasks": "task", "materials": "material", "steels": "steel"}


class Overruled(NamedTuple):
    """Something of a pack that a later one replaces or switches off."""

    kind: str
    """rules, tasks, materials, gear or steels."""
    id: str
    pack: str
    by: str
    how: Literal["replaced", "switched off"]
    rule: Rule | None = None
    """The rule itself."""
    because: str = ""
    """Why it is switched off, where the pack says so."""

    def was(self, name: str) -> bool:
        """Whether it had that id, or had it formerly."""
        return name == self.id or (self.rule is not None and name in self.rule.formerly)

    @property
    def unguarded(self) -> bool:
        """Whether it is a rule that guards people, switched off."""
        return self.how == "switched off" and self.rule is not None and self.rule.safety

    def __str__(self) -> str:
        does = "replaces" if self.how == "replaced" else "switches off"
        guard = ", which guards people" if self.unguarded else ""
        why = f": {self.because}" if self.because else ""
        return f"{self.by} {does} {_ONE.get(self.kind, self.kind)} {self.id} of {self.pack}{guard}{why}"


@dataclass
class Knowledge:
    """All tables by id and all active rules."""

    packs: list[PackInfo] = field(default_factory=list)
    digests: dict[str, str] = field(default_factory=dict)
    """Pack -> digest of its files."""
    tasks: dict[str, Task] = field(default_factory=dict)
    materials: dict[str, Material] = field(default_factory=dict)
    gear: dict[str, Gear] = field(default_factory=dict)
    steels: dict[str, Steel] = field(default_factory=dict)
    rules: dict[str, LoadedRule] = field(default_factory=dict)
    pack_of: dict[tuple[str, str], str] = field(default_factory=dict)
    """(kind, id) of a table -> the pack it comes from."""
    renamed: dict[str, str] = field(default_factory=dict)
    """Former id of a rule -> its id."""
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

    def rules_called(self, id_: str) -> list[LoadedRule]:
        """The rule of an id or a former one, or all rows of one that has rows; none where there is no such rule."""
        for name in (id_, self.renamed.get(id_)):
            if name is not None:
                if name in self.rules:
                    return [self.rules[name]]
                if rows := [loaded for key, loaded in self.rules.items() if key.startswith(f"{name}/")]:
                    return rows
        return []

    def rules_named(self, name: str) -> list[LoadedRule]:
        """What a name may mean: the rule of an id, of today or formerly, or its rows; else by title, or a part of it.

        Of several that hold the part all are given; none where nothing does.
        """
        if found := self.rules_called(name):
            return sorted(found, key=lambda loaded: loaded.rule.id)
        sought, every = name.strip().casefold(), sorted(self.rules.items())
        if not sought:
            return []
        titled = [loaded for _, loaded in every if loaded.rule.title.casefold() == sought]
        return titled or [r for id_, r in every if sought in id_ or sought in r.rule.title.casefold()]

    def rules_saying(
        self, words: Sequence[str], metrics: Mapping[str, str]
    ) -> tuple[list[LoadedRule], list[LoadedRule]]:
        """Rules, by id, whose id or title says every one of the words, and those that say them elsewhere.

        `metrics` has by id what metrics are called.
        """

        def entry(loaded: LoadedRule) -> tuple[LoadedRule, str, str]:
            label = metrics.get(getattr(loaded.rule.effect, "metric", None) or "", "")
            return loaded, f"{loaded.rule.id} {loaded.rule.title}", f"{loaded.words} {label}"

        return found_by(words, (entry(loaded) for _, loaded in sorted(self.rules.items())))

    @property
    def of_old_form(self) -> list[str]:
        """Packs of which some rules stand one in a file: a form that is read for one release more."""
        return [pack.id for pack in self.packs if any(r.old_form and r.pack == pack.id for r in self.rules.values())]

    def of_kind(self, kind: str) -> list[LoadedRule]:
        """Active rules of one kind."""
        return [loaded for loaded in self.rules.values() if loaded.rule.kind == kind]
