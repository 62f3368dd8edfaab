"""What other rules would change: what `rules diff --json` prints."""

from __future__ import annotations

from typing import Any, Literal

from recommender.models.base import Model

SCHEMA: Literal["bevelwright.rules-diff/1"] = "bevelwright.rules-diff/1"


class Change(Model):
    """A rule, a table or the defaults that two sets of packs do not have alike."""

    kind: Literal["rule", "task", "material", "gear", "steel", "defaults"]
    id: str
    how: Literal["added", "removed", "changed"]
    moves: bool
    """Whether it can move a blade: words that are said cannot."""


class Stand(Model):
    """How a brief comes out: a grind and its points, None where nothing fits; or why it cannot be asked."""

    grind: str | None
    grind_label: str | None
    points: float | None
    """Of 100; None where nothing fits."""
    error: str | None = None


class DimensionChanged(Model):
    """A dimension, or a word of the blade's form, then and now; the name carries the unit."""

    name: str
    then: float | str | None
    now: float | str | None


class Through(Model):
    """A change and, for a rule, what it said of each answer: its state and its points, None where it gives none."""

    change: Change
    then_state: str | None
    now_state: str | None
    then_points: float | None
    now_points: float | None


class BriefChanged(Model):
    """A brief that comes out otherwise, and through which change."""

    brief: str
    then: Stand
    now: Stand
    dimensions: tuple[DimensionChanged, ...]
    alone: bool
    """Whether each of `through` alone, taken back, brings the old answer again; else they do it together."""
    through: tuple[Through, ...]
    untried: int
    """Changes that were not taken back one by one, being too many."""


class Reach(Model):
    """In how many of the briefs a change could move a blade, and did."""

    change: Change
    concerned: int
    """Briefs that do not rule it out: its condition can hold for some blade, or they use its table."""
    found: int | None
    """Of those, briefs whose recommended blade its condition holds for, before or now; None of what is no rule."""
    changed: int
    """Briefs that come out otherwise through it, alone or with others."""


class RulesDiff(Model):
    """Two sets of packs over many briefs."""

    schema_: Literal["bevelwright.rules-diff/1"] = SCHEMA
    old: str
    new: str
    changes: tuple[Change, ...]
    briefs: int
    unchanged: int
    changed: tuple[BriefChanged, ...]
    reaches: tuple[Reach, ...] = ()
    """How far each change reaches that can move a blade."""

    def as_json(self) -> dict[str, Any]:
        """The object as JSON data, `schema` first."""
        data = self.model_dump(mode="json")
        return {"schema": data.pop("schema_"), **data}
