"""The facts of a brief that rules see, computed as they are declared."""

from __future__ import annotations

from typing import Any

from recommender.engine.intake.resolve import Resolved
from recommender.packs.facts import FACTS


def brief_facts(resolved: Resolved, *, weighty: bool) -> dict[str, Any]:
    """Facts that are the same for every candidate; `weighty` keeps only tasks whose limits hold."""
    facts = {name: fact.from_brief(resolved) for name, fact in FACTS.items() if fact.from_brief is not None}
    return facts | {"brief.tasks": resolved.weighty_task_ids} if weighty else facts
