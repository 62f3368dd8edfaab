"""An answer in one breath."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from recommender.models.base import Model


class Named(Model):
    """What a blade is called by somebody who knows nothing of grinds."""

    blade: str = "knife"
    """As a shop calls it, by its main task: kitchen knife."""
    steel: Literal["stainless", "carbon-steel", "tool-steel"] = "carbon-steel"
    """What its family is called there."""
    grinds: dict[str, str] = Field(default_factory=dict)
    """Grind -> how it looks, after “ground”: flat from back to edge."""


class Summary(Model):
    """Sentences for a person; "" where there is nothing to say. Lengths are in mm and cm."""

    first: str = ""
    """What has to be known before all else: nothing fits, or nothing serves well."""
    ask_for: str = ""
    """What to ask for in a shop."""
    grind: str = ""
    """The same for a maker."""
    why: str = ""
    sure: str = ""
    """How often it is the best when uncertain numbers are drawn; "" until that is known."""
    next_best: str = ""
    not_for: str = ""
    named: Named | None = None
    """None where nothing fits."""
