"""What a fact is declared by: everything that any reader of it needs to know."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from recommender.packs.condition_boxes import Formula, Numbers
from recommender.packs.facts.reading import Blades, GrindFamily, WholeBrief
from recommender.packs.knowledge import Defaults, Knowledge

Kind = Literal["number", "flag", "category", "set"]
Table = Literal["tasks", "gear", "steels", "grinds"]
ANY_NUMBER = Numbers()
HARDLY = 0.001
MORE_THAN_0 = Numbers(HARDLY)
"""An edge has an angle, a blade a length."""
NO_LESS_THAN_0 = Numbers(0.0)


@dataclass(frozen=True)
class FormRow:
    """How the interface asks for a field of a brief: in which group of the form, by which words."""

    group: str
    label: str = ""
    """"" where each thing that it may name has a row of its own."""
    about: str = ""
    options: tuple[str, ...] = ()
    """Its values in another order than the model's."""


@dataclass(frozen=True)
class Default:
    """What an open field of a brief is taken for, and why."""

    value: Callable[[Defaults], Any]
    """Of what the packs say."""
    reason: str


@dataclass(frozen=True)
class Levels:
    """What designed briefs say of a field, beside nothing at all."""

    place: int
    """Where it stands among what they may say: pairs are made from the first on. Fields of one place are never said
    together."""
    values: tuple[object, ...] = ()
    """None stated: every value that it can have."""


@dataclass(frozen=True)
class Follows:
    """The fact follows from another alone: each value of that has one of this."""

    base: str
    values: Callable[[Knowledge, Mapping[str, GrindFamily]], Mapping[str, Any]]


@dataclass(frozen=True)
class HoldsWhere:
    """The fact is a flag, set exactly where a condition on other facts holds."""

    condition: Callable[[Knowledge], Formula]


_UNITS = {
    "_mm_per_mm": "mm/mm",
    "_mm": "mm",
    "_deg": "deg",
    "_hrc": "HRC",
    "_shore_a": "Shore A",
    "_hours_per_week": "h/week",
}
"""How names end -> unit, the longer ending first."""


@dataclass(frozen=True)
class Fact:
    """A fact of a brief, of a blade, or one that follows from both.

    Its value comes from the brief or from blades; one that states neither is a column of the designs.
    """

    name: str
    """Dotted: brief, design, derived or metric comes first."""
    about: str | None
    """In words; None where rules may not name it."""
    kind: Kind
    values: tuple[str, ...] = ()
    """All that it can be, where that is fixed."""
    table: Table | None = None
    """What it names an entry of, or several."""
    from_brief: Callable[[WholeBrief], Any] | None = None
    from_blades: Callable[[Blades], Any] | None = None
    range: Numbers | Callable[[Knowledge], Numbers] = ANY_NUMBER
    """What a number can be."""
    may_be_unknown: bool = False
    """Not every blade of every brief has it."""
    follows: Follows | HoldsWhere | None = None
    of_form: bool = False
    """It belongs to tip, swedge and taper, which are chosen once the section is."""
    row: FormRow | None = None
    default: Default | None = None
    levels: Levels | None = None
    brought_about_by: tuple[str, ...] = ()
    """Settings of a brief, of which each may bring about what is asked of a derived fact."""
    tell_apart: bool = False
    """`rules check` tells of a value that no rule tells from the others."""

    @property
    def key(self) -> str:
        """A fact of the brief as `--set` states it."""
        return self.name.removeprefix("brief.")

    @property
    def unit(self) -> str:
        """The unit that its name ends with; "1" for a ratio, a count or a level, "" for what is no number."""
        if self.kind != "number":
            return ""
        return next((unit for ending, unit in _UNITS.items() if self.name.endswith(ending)), "1")

    def names(self, knowledge: Knowledge, grinds: Iterable[str]) -> tuple[str, ...]:
        """All that a category can be, or that a set can hold."""
        match self.table:
            case None:
                return self.values
            case "grinds":
                return tuple(grinds)
            case table:
                return tuple(getattr(knowledge, table))
