"""What can be asked of the engine. Of each group only the newest question counts."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from recommender.models.answer.proposal import Answer, Proposal
from recommender.models.base import Model
from recommender.models.brief import Brief
from recommender.models.workshop.quote import Order, Quote


class CatalogueQuestion(Model):
    """What there is to choose from; told by a `Catalogue`."""

    kind: Literal["catalogue"] = "catalogue"

    @property
    def group(self) -> str:
        """Its own."""
        return "catalogue"


class AnswerQuestion(Model):
    """The answer to a form, in stages, then the lives of its blades and what there is to draw of them."""

    kind: Literal["answer"] = "answer"
    settings: tuple[str, ...]
    """As `--set` takes them."""
    flips: bool = True

    @property
    def group(self) -> str:
        """Its own."""
        return "answer"


class TrialQuestion(Model):
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

    @property
    def group(self) -> str:
        """Its own."""
        return "trial"


class PriceQuestion(Model):
    """Set-up sheet and price of an answer, in the maker's own shop."""

    kind: Literal["price"] = "price"
    brief: Brief
    answer: Answer
    order: Order

    @property
    def group(self) -> str:
        """Its own."""
        return "price"


class QuoteQuestion(Model):
    """The quote of an answer under the number and revision that it is to have."""

    kind: Literal["quote"] = "quote"
    brief: Brief
    answer: Answer
    order: Order
    made: date
    inches: bool
    number: int
    revision: int

    @property
    def group(self) -> str:
        """Its own."""
        return "quote"


class DocumentQuestion(Model):
    """An answer as a writer's document."""

    kind: Literal["document"] = "document"
    answer: Answer
    writer: str
    inches: bool

    @property
    def group(self) -> str:
        """One for each writer: a drawing asked for after a PDF does not replace it."""
        return f"document {self.writer}"


class FreshQuestion(Model):
    """What asking a quote again would change."""

    kind: Literal["fresh"] = "fresh"
    quote: Quote

    @property
    def group(self) -> str:
        """Its own."""
        return "fresh"


class RulebookQuestion(Model):
    """What every rule says of an answer, and what there is to tell of plug-ins."""

    kind: Literal["rulebook"] = "rulebook"
    brief: Brief
    answer: Answer

    @property
    def group(self) -> str:
        """Its own."""
        return "rulebook"


class GlossaryQuestion(Model):
    """Every grind with its words and its drawing."""

    kind: Literal["glossary"] = "glossary"

    @property
    def group(self) -> str:
        """Its own."""
        return "glossary"


Question = Annotated[
    CatalogueQuestion
    | AnswerQuestion
    | TrialQuestion
    | PriceQuestion
    | QuoteQuestion
    | DocumentQuestion
    | FreshQuestion
    | RulebookQuestion
    | GlossaryQuestion,
    Field(discriminator="kind"),
]
