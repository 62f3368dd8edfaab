"""Rules: knowledge as data. `when` decides firing; an effect never does.

These are rules as the engine meets them, one for every row; `written_rule` has them as files state them.
"""

from __future__ import annotations

import datetime
from functools import cached_property
from typing import Annotated, Any, Literal, Union

from pydantic import (
    BeforeValidator,
    ConfigDict,
    Discriminator,
    Field,
    Tag,
    ValidationInfo,
    field_validator,
    model_validator,
)

from recommender.models.base import Basis, Finite, Id, Model, Positive, RuleId, Text

Scalar = bool | int | float | str
MOST_SHORT = 76
"""Characters of a caution's line."""
Short = Annotated[Text, Field(max_length=MOST_SHORT)]
"""A whole warning in one line."""
Forbidden = Annotated[Text, Field(max_length=60)]
"""What a blade must not be used for, after “not for”."""
LeanPoints = Annotated[float, Field(ge=-12.5, le=12.5)]
COMPARISONS = ("eq", "ne", "lt", "le", "gt", "ge", "in", "has")


def _one_of(*keys: str) -> dict[str, Any]:
    """What a JSON Schema says of keys of which there must be one."""
    return {"anyOf": [{"required": [key]} for key in keys]}


class Comparison(Model):
    """One field against one value: eq ne lt le gt ge in has."""

    model_config = ConfigDict(json_schema_extra=_one_of(*COMPARISONS))

    field: Text
    eq: Scalar | None = None
    ne: Scalar | None = None
    lt: Finite | None = None
    le: Finite | None = None
    gt: Finite | None = None
    ge: Finite | None = None
    in_: tuple[Scalar, ...] | None = Field(default=None, alias="in")
    has: Text | None = None

    @model_validator(mode="after")
    def _one_comparison(self) -> Comparison:
        if len(self.tests) == 0:
            raise ValueError(f"one of {', '.join(COMPARISONS)} beside field")
        return self

    @cached_property
    def tests(self) -> list[tuple[str, Any]]:
        """The comparisons given, as (name, value); all must hold."""
        pairs = ((name, getattr(self, "in_" if name == "in" else name)) for name in COMPARISONS)
        return [(name, value) for name, value in pairs if value is not None]


class All(Model):
    """Every condition holds; an empty list always does."""

    all: tuple[Condition, ...]


class AnyOf(Model):
    """At least one condition holds."""

    any: tuple[Condition, ...] = Field(min_length=1)


class Not(Model):
    """The condition does not hold."""

    not_: Condition = Field(alias="not")


def _condition_kind(value: Any) -> str:
    keys = set(value) if isinstance(value, dict) else set()
    if isinstance(value, All) or "all" in keys:
        return "all"
    if isinstance(value, AnyOf) or "any" in keys:
        return "any"
    if isinstance(value, Not) or "not" in keys:
        return "not"
    return "comparison"


Condition = Annotated[
    Union[  # noqa: UP007 - a recursive alias needs the call form
        Annotated[All, Tag("all")],
        Annotated[AnyOf, Tag("any")],
        Annotated[Not, Tag("not")],
        Annotated[Comparison, Tag("comparison")],
    ],
    Discriminator(_condition_kind),
]


class LimitEffect(Model):
    """A value that must lie within bounds."""

    model_config = ConfigDict(
        json_schema_extra={
            "oneOf": [{"required": ["metric"]}, {"required": ["field"]}],
            **_one_of("min", "max", "in"),
        }
    )

    metric: Text | None = None
    field: Text | None = None
    min: Finite | None = None
    max: Finite | None = None
    in_: tuple[Scalar, ...] | None = Field(default=None, alias="in")
    scale: Positive | None = None
    """How far beyond a bound nothing is left of what is asked, in the value's unit; None: as far as it lies from 0."""
    instead: Text | None = None
    """What to use for a task that the blade falls short of."""

    @model_validator(mode="after")
    def _complete(self) -> LimitEffect:
        if (self.metric is None) == (self.field is None):
            raise ValueError("either metric or field")
        if self.min is None and self.max is None and self.in_ is None:
            raise ValueError("min, max or in")
        return self


def check_window(from_: float, to: float, of_usual: bool) -> None:
    """Raises ValueError for a window without width, or one of ratios in which the usual blade is best or worst."""
    if from_ == to:
        raise ValueError("from and to that differ")
    if of_usual and not 0 < min(from_, to) < 1 < max(from_, to):
        raise ValueError("of_usual: one of from and to between 0 and 1, the other above 1")


class GoalEffect(Model):
    """A metric mapped onto 0..1 from `from` (worth nothing) to `to` (worth all); below 0 where it is worse still.

    Beyond `to` nothing is gained; beyond `from` up to 0.1 is lost, the further the more.
    """

    metric: Text
    of_usual: bool = False
    """Whether from and to are ratios to the metric of the task's usual blade; then in their logarithm."""
    from_: Finite = Field(alias="from")
    to: Finite
    weight: Positive

    @model_validator(mode="after")
    def _has_a_window(self) -> GoalEffect:
        check_window(self.from_, self.to, self.of_usual)
        return self


class LeanEffect(Model):
    """Points for or against, an opinion that may tip but not decide."""

    points: LeanPoints


class WordsEffect(Model):
    """Words for a reader."""

    text: Text
    audience: Literal["everyone", "buyer", "maker"] = "everyone"


class CautionEffect(WordsEffect):
    """A warning for a reader."""

    short: Short | None = None
    """The whole warning in one line, of every caution that guards a person from the blade and its use."""
    forbids: Forbidden | None = None
    """What the blade must not be used for, after “not for”."""


class AdviceEffect(WordsEffect):
    """Something worth knowing."""

    choosing: bool = False
    """Whether it only helps to choose or order a blade: no matter of the care of one that is there."""


class Example(Model):
    """Facts with which a rule fires, or does not."""

    facts: dict[str, Any]
    fires: bool


def _iso_date(value: Any) -> Any:
    # A date of TOML's own; JSON, in which checked files are kept, has none.
    return value.isoformat() if type(value) is datetime.date else value


class Revision(Model):
    """A number of a rule that was another before."""

    date: Annotated[str, Field(pattern=r"^\d{4}-\d{2}-\d{2}$"), BeforeValidator(_iso_date)]
    key: Text = ""
    """Which one, such as weight."""
    from_: Scalar = Field(alias="from")
    to: Scalar
    why: Text


class _Rule(Model):
    id: RuleId
    title: Text
    status: Literal["active", "draft"]
    when: Condition
    tasks: tuple[Id, ...] = ()
    """Those that its file names beside `when`, of which they are a part here."""
    because: Text
    basis: Basis
    """Of what the rule claims."""
    numbers: Basis | None = None
    """Of its numbers, where that is another."""
    examples: tuple[Example, ...] = Field(default=(), validate_default=True)
    history: tuple[Revision, ...] = ()
    safety: bool = False
    """Whether it guards people: who switches it off has to say why, and every answer says so."""
    formerly: tuple[RuleId, ...] = ()
    """Ids that it had before."""

    @field_validator("examples")
    @classmethod
    def _fires_and_not(cls, examples: tuple[Example, ...], info: ValidationInfo) -> tuple[Example, ...]:
        when = info.data.get("when")
        if when is not None and not is_simple(when) and {example.fires for example in examples} != {True, False}:
            raise ValueError("an example that fires and one that does not")
        return examples


class Limit(_Rule):
    """A bound that shuts candidates out."""

    kind: Literal["limit"]
    effect: LimitEffect
    short: Short | None = None
    """What it keeps from people, in a line: said where it is switched off."""


class Goal(_Rule):
    """Something wanted, by a window on a metric."""

    kind: Literal["goal"]
    effect: GoalEffect


class Lean(_Rule):
    """An opinion, as points."""

    kind: Literal["lean"]
    effect: LeanEffect


class Caution(_Rule):
    """A warning that comes with the answer."""

    kind: Literal["caution"]
    effect: CautionEffect


class Advice(_Rule):
    """Something worth knowing."""

    kind: Literal["advice"]
    effect: AdviceEffect


Rule = Annotated[Limit | Goal | Lean | Caution | Advice, Field(discriminator="kind")]
KINDS = ("limit", "goal", "lean", "caution", "advice")


TASKS = "brief.tasks"


def is_always(condition: All | AnyOf | Not | Comparison) -> bool:
    """Whether it holds for every blade, whatever is asked."""
    return isinstance(condition, All) and not condition.all


def is_simple(condition: All | AnyOf | Not | Comparison) -> bool:
    """Whether it asks for nothing but tasks, any of which will do: its examples follow by themselves."""
    match condition:
        case All(all=parts):
            return len(parts) <= 1 and all(is_simple(part) for part in parts)
        case AnyOf(any=parts):
            return all(is_simple(part) for part in parts)
        case Comparison(field=field):
            return field == TASKS
        case _:
            return False


def fields_of(condition: All | AnyOf | Not | Comparison) -> frozenset[str]:
    """Every field that a condition looks at."""
    match condition:
        case All(all=parts) | AnyOf(any=parts):
            return frozenset().union(*(fields_of(part) for part in parts))
        case Not(not_=part):
            return fields_of(part)
        case Comparison():
            return frozenset({condition.field})


def named_tasks(condition: All | AnyOf | Not | Comparison) -> frozenset[str]:
    """The tasks a condition asks for by name, outside any `not`.

    >>> named_tasks(Comparison(field="brief.tasks", has="prying"))
    frozenset({'prying'})
    """
    match condition:
        case All(all=parts) | AnyOf(any=parts):
            return frozenset().union(*(named_tasks(part) for part in parts))
        case Comparison(field="brief.tasks", has=str(task)):
            return frozenset({task})
        case Comparison(field="brief.tasks", in_=tuple(tasks)):
            return frozenset(str(task) for task in tasks)
        case _:
            return frozenset()
