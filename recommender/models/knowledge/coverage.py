"""Which rules matter over many briefs: what `rules coverage --json` prints."""

from __future__ import annotations

from typing import Any, Literal

from recommender.models.base import Model

SCHEMA: Literal["bevelwright.coverage/1"] = "bevelwright.coverage/1"
Matters = Literal["never fires", "never decides", "decides"]


class RuleCoverage(Model):
    """One rule over all briefs; fired, silent and blocked add up to the briefs."""

    rule: str
    kind: str
    title: str
    pack: str
    matters: Matters
    fired: int
    """Briefs whose proposal it holds for."""
    silent: int
    blocked: int
    elsewhere: int
    """Of those where it has not fired: it holds for a blade that was not proposed."""
    decided: int
    """Briefs whose answer would have been another but for it, in grind, dimensions or form; words that were said."""
    decided_grind: int
    """Of these, where another grind would have won, or something would have fitted."""
    most: float
    """The most points it brought or cost a proposal; for a limit, the most candidates it shut out of a grind or all."""


class Coverage(Model):
    """Every active rule over the briefs asked, what matters least first."""

    schema_: Literal["bevelwright.coverage/1"] = SCHEMA
    briefs: int
    answered: int
    """The others fit nothing."""
    packs: dict[str, str]
    failed: tuple[str, ...]
    """Plug-ins and packs that took no part, and why."""
    rules: tuple[RuleCoverage, ...]

    def as_json(self) -> dict[str, Any]:
        """The object as JSON data, `schema` first."""
        data = self.model_dump(mode="json")
        return {"schema": data.pop("schema_"), **data}
