"""A document for a customer as blocks, from which every format is written."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from recommender.models.base import Model


class Heading(Model):
    """A heading; the first of a document is its title."""

    kind: Literal["heading"] = "heading"
    text: str
    level: Literal[1, 2] = 2


class Paragraph(Model):
    """Running text."""

    kind: Literal["paragraph"] = "paragraph"
    text: str


class Bullets(Model):
    """A list."""

    kind: Literal["bullets"] = "bullets"
    items: tuple[str, ...]


class Table(Model):
    """Rows of cells: the first column from the left, the last from the right; the last `totals` rows are sums."""

    kind: Literal["table"] = "table"
    rows: tuple[tuple[str, ...], ...]
    totals: int = 0
    figures: bool = False
    """The last column holds amounts."""


Block = Annotated[Heading | Paragraph | Bullets | Table, Field(discriminator="kind")]


class Document(Model):
    """A document: what it is called, what stands at the foot of each page, and its blocks in order."""

    title: str
    foot: str
    blocks: tuple[Block, ...]
