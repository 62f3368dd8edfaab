"""What a declaration reads a fact's value from: a brief made whole, and blades measured under it.

The engine has both. As packs know no engine, what facts read of them is named here.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, Protocol

from recommender.models.brief import Brief, Skill
from recommender.models.knowledge.tables import Gear, Steel


class WholeBrief(Protocol):
    """A brief with every open field filled."""

    @property
    def brief(self) -> Brief:
        """Its fields."""

    @property
    def tasks(self) -> Sequence[Any]:
        """Each with `task`, its table, and `share`; shares add up to 1."""

    @property
    def task_ids(self) -> frozenset[str]:
        """Every task."""

    @property
    def weighty_task_ids(self) -> frozenset[str]:
        """Tasks whose limits and cautions hold."""

    @property
    def steel_named(self) -> bool:
        """Whether the brief itself names the steel."""

    @property
    def steel(self) -> Steel:
        """Its table."""

    @property
    def hardness_hrc(self) -> float:
        """As hardened and tempered."""

    @property
    def skill(self) -> Skill:
        """Of the hand that sharpens."""

    @property
    def gear(self) -> tuple[Gear, ...]:
        """What is at hand."""

    @property
    def workshop(self) -> Any:
        """With `platen` and `slack_belt`."""


class GrindFamily(Protocol):
    """A grind, as far as facts follow from it."""

    @property
    def id(self) -> str:
        """Its name."""

    @property
    def label(self) -> str:
        """How it is called."""

    @property
    def parent(self) -> str:
        """Its parent grind."""

    @property
    def tip_outlines(self) -> Callable[..., Any] | None:
        """How its tip zone is drawn, where that has a section of its own."""


class Blades(Protocol):
    """A batch of n blades; what is read is one value for all, an array (n,), or None where it is not known."""

    @property
    def designs(self) -> Any:
        """Columns by name, and what follows from them."""

    @property
    def sections(self) -> Any:
        """With `zoned` and `apex_included_rad`."""

    @property
    def sharpening(self) -> Any:
        """With `able` and `angle_wander_deg`."""

    def of_grind(self, get: Callable[[GrindFamily], str]) -> Any:
        """A word about the grind."""

    def shared(self, name: str) -> Any:
        """A fact of the brief."""
