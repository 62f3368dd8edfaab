"""A document for a customer as blocks, from which every format is written."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from recommender.models.base import Model
from recommender.models.workshop.sheet import Layer


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


class Stroke(Model):
    """Lines and arcs of a picture: points x, y, bulge in mm on paper, as in `models.sheet.Path`."""

    points: tuple[tuple[float, float, float], ...]
    layer: Layer
    closed: bool
    filled: bool
    dashed: bool


class Lettering(Model):
    """A line of text in a picture, mm on paper, as in `models.sheet.Label`."""

    x: float
    y: float
    text: str
    size_mm: float
    layer: Layer
    anchor: Literal["start", "middle", "end"]
    turned_deg: float
    bold: bool


class Picture(Model):
    """A drawing, as it was when the document was made."""

    kind: Literal["picture"] = "picture"
    caption: str
    strokes: tuple[Stroke, ...]
    letters: tuple[Lettering, ...]


Block = Annotated[Heading | Paragraph | Bullets | Table | Picture, Field(discriminator="kind")]


class Document(Model):
    """A document: what it is called, what stands at the foot of each page, and its blocks in order."""

    title: str
    foot: str
    blocks: tuple[Block, ...]
    pages: int | None = None
    """As many as it should fit on as a PDF: what is longer is set smaller, as far as it stays readable."""
