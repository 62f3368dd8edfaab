"""What the trade says against a wished grind, whether or not the shop could make it."""

from __future__ import annotations

from typing import Any

from recommender.engine.intake.case import Case
from recommender.engine.intake.conditions import fires
from recommender.models.answer.proposal import Objection
from recommender.models.knowledge.rule import LeanEffect
from recommender.packs.facts import FACTS
from recommender.packs.facts.fact import Follows


def against_the_wish(case: Case) -> list[Objection]:
    """Leans against the wished grind that need to know no more of the blade than its grind, the heaviest first.

    Whoever is refused a grind for want of a wheel would otherwise buy the wheel.
    """
    wished = case.resolved.brief.wishes.grind
    if wished is None:
        return []
    facts: dict[str, Any] = {**case.rules.facts, "design.grind": wished}
    grinds = {id_: stamped.item for id_, stamped in case.registry.grinds.items()}
    for name, fact in FACTS.items():
        if isinstance(fact.follows, Follows) and fact.follows.base == "design.grind":
            facts[name] = fact.follows.values(case.knowledge, grinds)[wished]
    out = []
    for loaded in case.rules.leans:
        effect = loaded.rule.effect
        if isinstance(effect, LeanEffect) and effect.points < 0 and bool(fires(loaded.rule.when, facts.get).all()):
            out.append(
                Objection(
                    rule=loaded.rule.id,
                    title=loaded.rule.title,
                    text=loaded.rule.because,
                    points=effect.points,
                    pack=loaded.pack,
                )
            )
    return sorted(out, key=lambda objection: objection.points)
