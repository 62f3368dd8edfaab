"""A blade on one page of plain text, for Bevelwright."""

from __future__ import annotations

from blade_card.card import card
from recommender.plugin.api import Writer
from recommender.plugin.hooks import hookimpl

BEVELWRIGHT_API = 1


@hookimpl
def writers() -> list[Writer]:
    """The card."""
    return [Writer(id="card", label="the blade on one page of plain text", write=card)]
