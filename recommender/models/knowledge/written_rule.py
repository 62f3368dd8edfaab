"""Rules as a file states them: a topic of several, and one want of many tasks as a table with a row a task."""

from __future__ import annotations

from typing import Annotated, Any, Literal, TypeVar

from pydantic import ConfigDict, Field, ValidationInfo, field_validator, model_validator

from recommender.models.base import Basis, Finite, Id, Model, Positive, RuleId, Text
from recommender.models.knowledge.rule import (
    Condition,
    Example,
    Forbidden,
    LeanPoints,
    Revision,
    Scalar,
    Short,
    check_window,
)

Schema = dict[str, Any]
_BOTH_EXAMPLES: Schema = {
    "required": ["examples"],
    "properties": {
        "examples": {"allOf": [{"contains": {"properties": {"fires": {"const": b}}}} for b in (True, False)]}
    },
}


def _needs(*keys: str) -> Schema:
    return {"required": list(keys)}


def _not_both(one: str, other: str) -> Schema:
    return {"not": _needs(one, other)}


_WHEN_WITH_EXAMPLES: Schema = {"if": _needs("when"), "then": _BOTH_EXAMPLES}
_CONDITION: Schema = {"anyOf": [_needs("tasks"), _needs("always"), _needs("when")], "allOf": [
    _not_both("always", "tasks"), _not_both("always", "when"), _WHEN_WITH_EXAMPLES,
]}  # fmt: skip
_SAFETY: Schema = {"if": {**_needs("safety"), "properties": {"safety": {"const": True}}}, "then": _needs("short"),
           "dependentRequired": {"short": ["safety"]}}  # fmt: skip


_NOT_BESIDE_ROWS = ("tasks", "always", "when", "examples", "formerly", "from", "to", "weight", "min", "max", "in")


def _of_bounds(bounds: Schema) -> Schema:
    """What a JSON Schema says of a rule that has either a condition and its numbers, or rows."""
    return {"if": _needs("row"), "then": {"not": {"anyOf": [_needs(key) for key in _NOT_BESIDE_ROWS]}},
            "else": {"allOf": [_CONDITION, bounds]}}  # fmt: skip


def _both_examples(examples: tuple[Example, ...], info: ValidationInfo) -> tuple[Example, ...]:
    if info.data.get("when") is not None and {example.fires for example in examples} != {True, False}:
        raise ValueError("beside when an example that fires and one that does not")
    return examples


class _Row(Model):
    """What a rule says of one task; what is left open is that of the rule."""

    model_config = ConfigDict(json_schema_extra=_WHEN_WITH_EXAMPLES)

    task: Id
    title: Text | None = None
    because: Text | None = None
    when: Condition | None = None
    """What has to hold besides the task."""
    basis: Basis | None = None
    numbers: Basis | None = None
    history: tuple[Revision, ...] = ()
    formerly: tuple[RuleId, ...] = ()
    examples: tuple[Example, ...] = Field(default=(), validate_default=True)

    _examples = field_validator("examples")(_both_examples)


class GoalRow(_Row):
    """What one task wants of the rule's metric."""

    from_: Finite = Field(alias="from")
    """Worth nothing."""
    to: Finite
    """Worth all."""
    of_usual: bool | None = None
    """Whether they are ratios to the usual blade of the task; else as the rule says."""
    weight: Positive

    @model_validator(mode="after")
    def _has_a_window(self) -> GoalRow:
        check_window(self.from_, self.to, self.of_usual is True)
        return self


class LimitRow(_Row):
    """The bounds for one task."""

    min: Finite | None = None
    max: Finite | None = None

    @model_validator(mode="after")
    def _has_a_bound(self) -> LimitRow:
        if self.min is None and self.max is None:
            raise ValueError("min or max")
        return self


class _Written(Model):
    id: RuleId
    title: Text
    """What a reader sees beside the points."""
    status: Literal["active", "draft"] = "active"
    """A draft is checked and not loaded."""
    tasks: Annotated[tuple[Id, ...], Field(min_length=1)] | None = None
    """Fires where one of them is asked for; with `when`, where that holds too."""
    always: Literal[True] | None = None
    """Fires for every blade."""
    when: Condition | None = None
    """Fires where it holds."""
    because: Text
    """For a reader who knows nothing of rules."""
    basis: Basis
    """How what is claimed is known."""
    history: tuple[Revision, ...] = ()
    """Numbers that were others before."""
    formerly: tuple[RuleId, ...] = ()
    """Ids that it had before: packs and stored answers may still use them."""
    examples: tuple[Example, ...] = Field(default=(), validate_default=True)
    """Beside `when`: facts with which it fires, and with which it does not."""

    _examples = field_validator("examples")(_both_examples)

    @model_validator(mode="after")
    def _has_one_condition(self) -> _Written:
        stated = self.tasks is not None or self.when is not None
        if getattr(self, "row", ()):
            if stated or self.always or self.examples or self.formerly:
                raise ValueError("tasks, when, examples and formerly in its rows")
            if "/" in self.id:
                raise ValueError("an id without a stroke for a rule with rows: theirs are rule/task")
        elif stated is bool(self.always):
            raise ValueError("either always = true, or tasks = [...], when = {...} or both")
        return self


class WrittenGoal(_Written):
    """Something wanted, by a window on a metric."""

    model_config = ConfigDict(json_schema_extra=_of_bounds(_needs("from", "to", "weight")))

    kind: Literal["goal"]
    metric: Text
    of_usual: bool = False
    """Whether from and to are ratios to what the usual blade of the task has."""
    from_: Finite | None = Field(default=None, alias="from")
    """Worth nothing."""
    to: Finite | None = None
    """Worth all."""
    weight: Positive | None = None
    numbers: Basis | None = None
    """How its numbers are known, where that is not how the claim is."""
    row: Annotated[tuple[GoalRow, ...], Field(min_length=1)] | None = None

    @model_validator(mode="after")
    def _has_a_window(self) -> WrittenGoal:
        own = (self.from_, self.to, self.weight)
        if self.row is None and None in own:
            raise ValueError("from, to and weight, or rows that have them")
        if self.row is not None and own != (None, None, None):
            raise ValueError("from, to and weight in its rows")
        if self.from_ is not None and self.to is not None:
            check_window(self.from_, self.to, self.of_usual)
        for row in self.row or ():
            check_window(row.from_, row.to, self.of_usual if row.of_usual is None else row.of_usual)
        if self.of_usual and self.row is None and self.tasks is None:
            raise ValueError("tasks, whose usual blades it is of, beside of_usual")
        return self


class WrittenLimit(_Written):
    """A bound that shuts candidates out."""

    model_config = ConfigDict(
        json_schema_extra={
            "oneOf": [_needs("metric"), _needs("field")],
            "allOf": [
                _of_bounds({"anyOf": [_needs("min"), _needs("max"), _needs("in")]}),
                _SAFETY,
            ],
        }
    )

    kind: Literal["limit"]
    metric: Text | None = None
    field: Text | None = None
    min: Finite | None = None
    max: Finite | None = None
    in_: tuple[Scalar, ...] | None = Field(default=None, alias="in")
    scale: Positive | None = None
    """Of limits on tasks: how far beyond a bound nothing is left of what is asked; else as far as it lies from 0."""
    instead: Text | None = None
    """Of limits on tasks: what to use for one that a blade is short of, after a semicolon."""
    safety: bool = False
    """Whether it guards people."""
    short: Short | None = None
    """What it keeps from people, in a line: said where it is switched off."""
    numbers: Basis | None = None
    """How its numbers are known, where that is not how the claim is."""
    row: Annotated[tuple[LimitRow, ...], Field(min_length=1)] | None = None

    @model_validator(mode="after")
    def _is_complete(self) -> WrittenLimit:
        own = (self.min, self.max, self.in_)
        if (self.metric is None) == (self.field is None):
            raise ValueError("either metric or field")
        if self.row is None and own == (None, None, None):
            raise ValueError("min, max or in")
        if self.row is not None and own != (None, None, None):
            raise ValueError("min and max in its rows")
        return _with_short(self)


class WrittenLean(_Written):
    """An opinion, as points."""

    model_config = ConfigDict(json_schema_extra=_CONDITION)

    kind: Literal["lean"]
    points: LeanPoints
    """For, or below 0 against, a blade where it fires."""
    numbers: Basis | None = None
    """How its points are known, where that is not how the claim is."""


class _WrittenWords(_Written):
    text: Text
    audience: Literal["everyone", "buyer", "maker"] = "everyone"


class WrittenCaution(_WrittenWords):
    """A warning that comes with the answer."""

    model_config = ConfigDict(json_schema_extra={**_CONDITION, "allOf": [*_CONDITION["allOf"], _SAFETY]})

    kind: Literal["caution"]
    safety: bool = False
    """Whether it guards a person from the blade and its use."""
    short: Short | None = None
    """The whole warning in one line, which every answer prints."""
    forbids: Forbidden | None = None
    """What the blade must not be used for, after “not for”."""

    @model_validator(mode="after")
    def _is_complete(self) -> WrittenCaution:
        return _with_short(self)


class WrittenAdvice(_WrittenWords):
    """Something worth knowing."""

    model_config = ConfigDict(json_schema_extra=_CONDITION)

    kind: Literal["advice"]
    choosing: bool = False
    """Whether it only helps to choose or order a blade: left out of the care sheet."""


_Guard = TypeVar("_Guard", WrittenLimit, WrittenCaution)


def _with_short(rule: _Guard) -> _Guard:
    if rule.safety is (rule.short is None):
        raise ValueError("safety = true and short = '...' together")
    return rule


WrittenRule = Annotated[
    WrittenGoal | WrittenLimit | WrittenLean | WrittenCaution | WrittenAdvice, Field(discriminator="kind")
]


class RuleFile(Model):
    """A file of rules: one topic."""

    rule: Annotated[tuple[WrittenRule, ...], Field(min_length=1)]
