"""What can be asked of the engine. Of each group only the newest question counts."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from recommender.models.answer.proposal import Answer, Proposal
from recommender.models.base import Model
from recommender.models.brief import Brief
from recommender.models.workshop.quote import Order, Quote


class _Asking(Model):
    kind: str

    @property
    def group(self) -> str:
        """Its kind's own."""
        return self.kind


class CatalogueQuestion(_Asking):
    """What there is to choose from; told by a `Catalogue`."""

    kind: Literal["catalogue"] = "catalogue"


class AnswerQuestion(_Asking):
    """The answer to a form, in stages, each with what there is to draw of its blade, then the lives of its blades."""

    kind: Literal["answer"] = "answer"
    settings: tuple[str, ...]
    """As `--set` takes them."""
    flips: bool = True


class AlternativeQuestion(_Asking):
    """What there is to draw of another grind's best."""

    kind: Literal["alternative"] = "alternative"
    blade: Proposal


class TwoBladesQuestion(_Asking):
    """Two blades for a brief instead of one."""

    kind: Literal["two blades"] = "two blades"
    brief: Brief


class TrialQuestion(_Asking):
    """A blade moved away from one that was proposed, weighed beside the proposal, and blades side by side."""

    kind: Literal["trial"] = "trial"
    brief: Brief
    proposal: Proposal
    base: Proposal
    """What is moved."""
    values: dict[str, float | str]
    """Its dimensions that are moved, by the names of their knobs."""
    beside: tuple[tuple[str, Proposal | None], ...]
    """Labels with blades, for the page with blades side by side; None stands for the trial."""


class PriceQuestion(_Asking):
    """Set-up sheet and price of an answer, in the maker's own shop."""

    kind: Literal["price"] = "price"
    brief: Brief
    answer: Answer
    order: Order


class QuoteQuestion(_Asking):
    """The quote of an answer under the number and revision that it is to have."""

    kind: Literal["quote"] = "quote"
    brief: Brief
    answer: Answer
    order: Order
    made: date
    inches: bool
    number: int
    revision: int


class DocumentQuestion(_Asking):
    """An answer as a writer's document."""

    kind: Literal["document"] = "document"
    answer: Answer
    writer: str
    inches: bool

    @property
    def group(self) -> str:
        """One for each writer: a drawing asked for after a PDF does not replace it."""
        return f"document {self.writer}"


class FreshQuestion(_Asking):
    """What asking a quote again would change."""

    kind: Literal["fresh"] = "fresh"
    quote: Quote


class RulebookQuestion(_Asking):
    """What every rule says of an answer, and what there is to tell of plug-ins."""

    kind: Literal["rulebook"] = "rulebook"
    brief: Brief
    answer: Answer


class GlossaryQuestion(_Asking):
    """Every grind with its words and its drawing."""

    kind: Literal["glossary"] = "glossary"


Question = Annotated[
    CatalogueQuestion
    | AnswerQuestion
    | AlternativeQuestion
    | TwoBladesQuestion
    | TrialQuestion
    | PriceQuestion
    | QuoteQuestion
    | DocumentQuestion
    | FreshQuestion
    | RulebookQuestion
    | GlossaryQuestion,
    Field(discriminator="kind"),
]
