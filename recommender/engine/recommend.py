"""From a whole brief to an answer."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from typing import Any

from recommender import __version__
from recommender.engine import explain
from recommender.engine.candidates import MOST_OVERSAMPLING, TOTAL
from recommender.engine.ranking import Best, Field, best_of, makeable, survey
from recommender.engine.resolve import Resolved
from recommender.engine.uncertainty import redraw
from recommender.engine.whole_blade import whole_blade
from recommender.models.brief import Wishes
from recommender.models.proposal import Answer, FieldSource, PluginUsed, Points, Provenance
from recommender.packs.knowledge import Knowledge
from recommender.plugin.registry import Registry


def recommend(resolved: Resolved, knowledge: Knowledge, registry: Registry) -> Answer:
    """Survey every grind in question, refine the best of each, rank and explain."""
    wish = resolved.brief.wishes.grind
    fields = surveyed(resolved, knowledge, registry)
    bests = [b for f in fields if (b := best_of(f, resolved, knowledge, registry)) is not None]
    bests.sort(key=lambda b: -b.points)
    wished = [b for b in bests if wish in (None, b.grind.item.id)]
    if wished:
        bests.insert(0, bests.pop(bests.index(_simplest_of_the_best(wished))))
        explained = _chosen(fields, bests, resolved, knowledge, registry)
    else:
        asked = [f for f in fields if wish in (None, f.grind.item.id)]
        explained = _nothing_fits(asked, resolved, knowledge, registry)
    return Answer(
        brief=resolved.brief,
        brief_sources={key: FieldSource(source=s.kind, reason=s.reason) for key, s in sorted(resolved.sources.items())},
        **explained,
        # Last, as explaining computes every metric: what failed until then is part of the answer.
        provenance=_provenance(fields, knowledge, registry),
    )


TIE_POINTS = 0.25
"""Closer than this, points tell nothing apart; the grind with fewer knobs then leads."""


def _simplest_of_the_best(bests: list[Best]) -> Best:
    tied = [b for b in bests if b.points > bests[0].points - TIE_POINTS]
    return min(tied, key=lambda b: len(b.grind.item.parameters))


def _chosen(
    fields: list[Field], bests: list[Best], resolved: Resolved, knowledge: Knowledge, registry: Registry
) -> dict[str, Any]:
    winner, others = bests[0], bests[1:]
    found = {b.grind.item.id for b in bests}
    redrawn = redraw(bests, resolved, knowledge, registry)
    return {
        "proposal": explain.proposal(winner, resolved),
        "metrics": explain.metrics(winner, registry, redrawn.bands),
        "reasons": explain.reasons(winner, registry),
        "cautions": explain.words("caution", winner, resolved, knowledge),
        "advice": explain.words("advice", winner, resolved, knowledge),
        "alternatives": [
            *(explain.alternative(other, winner, resolved, registry) for other in others),
            *(explain.shut_out_alternative(f) for f in fields if f.grind.item.id not in found),
        ],
        "deciding": explain.deciding(fields, winner),
        "points": _points(winner),
        "blade": whole_blade(winner, resolved, registry),
        "task_fit": explain.task_fit(winner, resolved),
        "confidence": redrawn.confidence,
        "blocked": [],
        "relaxations": [],
    }


def _nothing_fits(fields: list[Field], resolved: Resolved, knowledge: Knowledge, registry: Registry) -> dict[str, Any]:
    return {
        "proposal": None,
        "metrics": {},
        "reasons": [],
        "cautions": explain.words("caution", None, resolved, knowledge),
        "advice": [],
        "alternatives": [],
        "deciding": [],
        "points": None,
        "blade": None,
        "task_fit": {},
        "confidence": None,
        "blocked": explain.blocked(fields),
        "relaxations": _relaxations(fields, resolved, knowledge, registry),
    }


def _provenance(fields: list[Field], knowledge: Knowledge, registry: Registry) -> Provenance:
    return Provenance(
        version=__version__,
        packs={pack.id: pack.version for pack in knowledge.packs},
        plugins=[PluginUsed(plugin=o.plugin, distribution=o.distribution, version=o.version) for o in registry.origins],
        failed=[str(failure) for failure in registry.failures],
        candidates=sum(f.tried for f in fields),
        made=sum(len(f.measured) for f in fields if f.measured is not None),
        feasible=sum(f.feasible for f in fields),
    )


def surveyed(resolved: Resolved, knowledge: Knowledge, registry: Registry) -> list[Field]:
    """Every grind with all its candidates: a wished one too is set against the others."""
    grinds = list(registry.grinds.values())
    n = -(-TOTAL // max(len(grinds), 1))
    made = sum(makeable(grind, resolved, registry, n) for grind in grinds)
    # Where much cannot be made, try more, so that enough is left to weigh.
    n = int(n * min(MOST_OVERSAMPLING, max(1.0, TOTAL / max(made, 1))))
    return [survey(grind, resolved, knowledge, registry, n) for grind in grinds]


def _points(best: Best) -> Points:
    scores = best.scores
    return Points(
        goals=round(float(scores.goal_points[0]), 2),
        leans=round(float(scores.lean_points[0]), 2),
        total=round(best.points, 2),
    )


def _relaxations(fields: list[Field], resolved: Resolved, knowledge: Knowledge, registry: Registry) -> list[str]:
    """The smallest changes that would let something fit: loosen one limit, or drop one wish."""
    found = []
    for words, changed in _single_changes(resolved):
        again = surveyed(changed, knowledge, registry)
        best = max(
            (
                b
                for f in again
                if changed.brief.wishes.grind in (None, f.grind.item.id)
                and (b := best_of(f, changed, knowledge, registry)) is not None
            ),
            key=lambda b: b.points,
            default=None,
        )
        if best is not None:
            design = explain.proposal(best, changed)
            found.append(
                f"{words}: {design.grind_label}, {design.edge_angle_per_side_deg:g}° per side "
                f"({design.edge_angle_included_deg:g}° included), {design.edge_thickness_mm:g} mm behind the edge, "
                f"grind line {design.grind_line_mm:.1f} mm above it"
            )
            if words.startswith("with stock"):
                break
    return found + explain.limit_relaxations(fields)


def _single_changes(resolved: Resolved) -> Iterator[tuple[str, Resolved]]:
    """Single things a person could change: drop a wish, add a platen or slack belt, take other stock."""
    brief = resolved.brief
    for name, value in brief.wishes.model_dump(exclude_none=True).items():
        freed = Wishes(**{**brief.wishes.model_dump(), name: None})
        shown = value if isinstance(value, str) else f"{value:g}"
        yield (
            f"without the wish {name} = {shown}",
            dataclasses.replace(resolved, brief=brief.model_copy(update={"wishes": freed})),
        )
    shop = resolved.workshop
    if not shop.platen:
        yield "with a platen", dataclasses.replace(resolved, workshop=dataclasses.replace(shop, platen=True))
    if not shop.slack_belt:
        yield "with a slack belt", dataclasses.replace(resolved, workshop=dataclasses.replace(shop, slack_belt=True))
    stock = brief.blade.stock_thickness_mm
    for by in (0.5, -0.5, 1.0, -1.0, 2.0) if stock is not None else ():
        if stock is not None and 0.5 <= stock + by <= 12:
            blade = brief.blade.model_copy(update={"stock_thickness_mm": stock + by})
            yield (
                f"with stock {stock + by:g} mm thick",
                dataclasses.replace(
                    resolved,
                    brief=brief.model_copy(update={"blade": blade}),
                    stock_range_mm=(stock + by, stock + by),
                ),
            )
