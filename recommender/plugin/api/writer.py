"""A writer of documents, as a plug-in declares it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

MOST_DOCUMENT_BYTES = 32_000_000
"""A writer that gives more has gone wrong."""


@dataclass(frozen=True)
class Writer:
    """Turns an answer into a document of one kind; `draw --write ID FILE` asks for it by id.

    `write` gets the answer as `recommend --json` prints it, plus `title`, `outline` and `tip_outline` (the
    proposal's section as a list of [x, y, bulge] in mm; the tip zone's where it differs, else None) and `sheet` (the
    workshop drawing as a `recommender.models.workshop.sheet.Sheet`: pages of views of paths and labels, for any
    format; None where nothing fits), and gives the file's bytes.
    """

    id: str
    label: str
    write: Callable[[Mapping[str, Any]], bytes]
