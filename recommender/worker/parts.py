"""What the engine tells on a question, part by part."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import ConfigDict, Field

from recommender.models.answer.proposal import Answer
from recommender.models.answer.sharpening_life import Life
from recommender.models.answer.trial import Knob, Weighed
from recommender.models.base import Model
from recommender.models.brief import Brief
from recommender.models.workshop.book import Difference
from recommender.models.workshop.quote import Price, Quote
from recommender.models.workshop.shop import Shop
from recommender.models.workshop.worksheet import Worksheet
from recommender.units import Unit
from recommender.worker.drawn_blade import ArrayField, DrawnBlade

if TYPE_CHECKING:
    from recommender.engine.answer.rule_trace import RuleTrace
    from recommender.plugin.plugin_status import PluginStatus


class Choice(Model):
    """Something that can be chosen."""

    id: str
    label: str
    meaning: str = ""


class Catalogue(Model):
    """What there is to choose from, with what is loaded."""

    kind: Literal["catalogue"] = "catalogue"
    tasks: tuple[Choice, ...]
    gear: tuple[Choice, ...]
    steels: tuple[Choice, ...]
    grinds: tuple[Choice, ...]
    writers: tuple[str, ...]
    foreign: tuple[str, ...] = ()
    """Plug-ins that are loaded besides those shipped."""

    def task_label(self, task: str) -> str:
        """What a task is called."""
        return next((choice.label for choice in self.tasks if choice.id == task), task)

    def title(self, answer: Answer) -> str:
        """What an answer is about: the brief's title, else its tasks."""
        return answer.brief.title or ", ".join(self.task_label(task) for task in answer.brief.tasks)


class AnswerPart(Model):
    """The answer as it stands."""

    kind: Literal["answer"] = "answer"
    brief: Brief
    """As it was asked."""
    answer: Answer
    drawn: DrawnBlade
    """Of its proposal."""


class TwoBladesPart(Model):
    """The answer for the first of two blades, which has that for the second."""

    kind: Literal["two blades"] = "two blades"
    answer: Answer


class LifePart(Model):
    """The lives of an answer's blades."""

    kind: Literal["life"] = "life"
    life: Life


class AlternativePart(Model):
    """What there is to draw of another grind's best."""

    kind: Literal["alternative"] = "alternative"
    grind: str
    drawn: DrawnBlade


class TrialPart(Model):
    """The blade that is moved, weighed beside the proposal, and what can be moved on it."""

    kind: Literal["trial"] = "trial"
    proposal: Weighed
    trial: Weighed
    knobs: tuple[Knob, ...]
    drawn: DrawnBlade
    """Of the trial."""


class ComparisonPart(Model):
    """Blades weighed side by side."""

    kind: Literal["comparison"] = "comparison"
    blades: tuple[tuple[str, Weighed], ...]


class PricePart(Model):
    """Set-up sheet and price; words instead where they cannot be had."""

    kind: Literal["price"] = "price"
    shop: Shop | None
    sheet: Worksheet | None
    price: Price | None
    words: str


class QuotePart(Model):
    """A quote under its number."""

    kind: Literal["quote"] = "quote"
    quote: Quote


class DocumentPart(Model):
    """A document's bytes."""

    model_config = ConfigDict(ser_json_bytes="base64", val_json_bytes="base64")

    kind: Literal["document"] = "document"
    data: bytes


class FreshPart(Model):
    """What asking a quote again would change."""

    kind: Literal["fresh"] = "fresh"
    differences: tuple[Difference, ...]


class Measure(Model):
    """What a rule goes by."""

    label: str
    unit: Unit


class RulebookPart(Model):
    """Every rule before an answer, and the plug-ins."""

    kind: Literal["rulebook"] = "rulebook"
    traces: list[Any]
    """Of `RuleTrace`, as plain data: `read_traces` makes them again."""
    measures: dict[str, Measure]
    plugins: list[Any]
    """Of `PluginStatus`."""


class GrindWords(Model):
    """A grind in words and its section on an ordinary bar."""

    label: str
    about: str
    made: str
    sharpened: str
    outline: ArrayField | None
    line_mm: float


class GlossaryPart(Model):
    """Every grind."""

    kind: Literal["glossary"] = "glossary"
    grinds: tuple[GrindWords, ...]


Part = Annotated[
    Catalogue
    | AnswerPart
    | LifePart
    | TwoBladesPart
    | AlternativePart
    | TrialPart
    | ComparisonPart
    | PricePart
    | QuotePart
    | DocumentPart
    | FreshPart
    | RulebookPart
    | GlossaryPart,
    Field(discriminator="kind"),
]


def written(kind: Any, values: Any) -> list[Any]:
    """Dataclasses of a kind as plain data."""
    from pydantic import TypeAdapter

    plain: list[Any] = TypeAdapter(list[kind]).dump_python(values, mode="json", by_alias=True)
    return plain


def read_traces(part: RulebookPart) -> list[RuleTrace]:
    """The rules of a part, as the engine has them; imported when they are read."""
    from pydantic import TypeAdapter

    from recommender.engine.answer.rule_trace import RuleTrace

    return TypeAdapter(list[RuleTrace]).validate_python(part.traces)


def read_plugins(part: RulebookPart) -> list[PluginStatus]:
    """The plug-ins of a part."""
    from pydantic import TypeAdapter

    from recommender.plugin.plugin_status import PluginStatus

    return TypeAdapter(list[PluginStatus]).validate_python(part.plugins)
