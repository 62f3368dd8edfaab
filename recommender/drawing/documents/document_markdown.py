"""A document as Markdown (CommonMark, with pipe tables)."""

from __future__ import annotations

import re

from recommender.models.workshop.document import Block, Bullets, Document, Heading, Paragraph, Picture, Table
from recommender.text import clean

_SPECIAL = re.compile(r"([\\`*_\[\]<>|#~])")
_BLOCK_START = re.compile(r"^(\d+)([.)])(?=\s|$)|^([-+=])")
"""Lists, and rules of strokes."""


def document_markdown(document: Document) -> str:
    """Write a document as Markdown; what its text holds is shown, never obeyed."""
    return "\n\n".join([*map(_block, document.blocks), "---", escaped(document.foot)]) + "\n"


def _block(block: Block) -> str:
    match block:
        case Heading():
            return f"{'#' * block.level} {escaped(block.text)}"
        case Paragraph():
            return escaped(block.text)
        case Bullets():
            return "\n".join(f"- {escaped(item)}" for item in block.items)
        case Table():
            return _table(block)
        case Picture():
            return f"*{escaped(block.caption)}: drawn in the PDF.*"


def _table(table: Table) -> str:
    columns = len(table.rows[0]) if table.rows else 1
    rule = ["---"] * (columns - 1) + ["---:" if table.figures else "---"]
    plain = len(table.rows) - table.totals
    rows = [[_cell(cell, strong=k >= plain) for cell in row] for k, row in enumerate(table.rows)]
    return "\n".join(f"| {' | '.join(row)} |" for row in ([""] * columns, rule, *rows))


def _cell(text: str, *, strong: bool) -> str:
    shown = escaped(text)
    return f"**{shown}**" if strong and shown else shown


def escaped(text: str) -> str:
    """Text on one line that no reader of Markdown takes for markup.

    >>> escaped("1. <b> *x* | [a](b)")
    '1\\\\. \\\\<b\\\\> \\\\*x\\\\* \\\\| \\\\[a\\\\](b)'
    """
    plain = _SPECIAL.sub(r"\\\1", clean(text, one_line=True).strip()).replace("&", "&amp;")
    return _BLOCK_START.sub(lambda m: f"{m[1]}\\{m[2]}" if m[1] else f"\\{m[3]}", plain)
