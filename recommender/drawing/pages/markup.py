"""Parts of a page of Markdown (CommonMark with pipe tables); text from files and plug-ins is shown, never obeyed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from recommender.drawing.documents.document_markdown import escaped
from recommender.models.base import Basis

MARK = "<!-- written by bevelwright rules pages, and written over by it -->"
"""First line of every file that is ours."""


def page(title: str, blocks: Iterable[str]) -> bytes:
    """A whole page: our mark, its title and its blocks, empty ones left out."""
    return ("\n\n".join([MARK, f"# {escaped(title)}", *(block for block in blocks if block)]) + "\n").encode()


def heading(text: str) -> str:
    """The heading of a part."""
    return f"## {escaped(text)}"


def part(title: str, body: str) -> Sequence[str]:
    """A part with its heading, or nothing without a body."""
    return (heading(title), body) if body else ()


def bullets(items: Iterable[str]) -> str:
    """A list of what is Markdown already."""
    return "\n".join(f"- {item}" for item in items)


def table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table of what is Markdown already; nothing without rows."""
    lines = [" | ".join(row) for row in rows]
    if not lines:
        return ""
    return "\n".join(f"| {line} |" for line in (" | ".join(heads), " | ".join(["---"] * len(heads)), *lines))


def link(text: str, target: str) -> str:
    """A link to a page of ours."""
    return f"[{escaped(text)}]({target})"


def basis_words(basis: Basis) -> str:
    """Where a value comes from, and whether its source was read or remembered."""
    source = f": {basis.citation}, {'seen' if basis.known == 'seen' else 'from memory'}" if basis.citation else ""
    return escaped(basis.level + source)
