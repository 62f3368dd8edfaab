"""From a whole brief to an answer."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from typing import Any

from recommender import __version__
from recommender.engine.answer import explain
from recommender.engine.answer.ablation import limits_that_decide
from recommender.engine.answer.blade_figures import shop_figures, whole_blade
from recommender.engine.answer.wished_grind import against_the_wish
from recommender.engine.intake.case import Case
from recommender.engine.search.blade_form import Chosen, choose
from recommender.engine.search.candidates import (
    MOST_OVERSAMPLING,
    TOTAL,
    edge_is_wished,
    fixed_columns,
    wish_label,
    wish_words,
)
from recommender.engine.search.ranking import TIE_POINTS, Best, Field, bests_of, count_feasible, survey
from recommender.errors import GeometryError
from recommender.models.answer.proposal import (
    Answer,
    BladeFigures,
    FieldSource,
    PluginUsed,
    Points,
    Provenance,
    ShopFigures,
)
from recommender.models.brief import Wishes
from recommender.plugin.content_digest import content_digest
from recommender.units import STOCK_MM

STAGES = 3
"""Steps in which an answer gets firm."""


def answers(case: Case) -> Iterator[Answer]:
    """Survey every grind in question, refine the best of each, rank and explain: the answer as soon as it stands.

    For a proposal, again with how sure it is, and again with what would flip it, which takes about half the time.
    """
    resolved = case.resolved
    wish = resolved.brief.wishes.grind
    fields = surveyed(case)
    bests = bests_of(fields, case)
    bests.sort(key=lambda b: -b.points)
    wished = [b for b in bests if wish in (None, b.grind.item.id)]
    form: Chosen | None = None
    if wished:
        bests.insert(0, bests.pop(bests.index(_simplest_of_the_best(wished))))
        form, explained = _chosen(fields, bests, case)
    else:
        asked = [f for f in fields if wish in (None, f.grind.item.id)]
        explained = _nothing_fits(asked, case)
    answer = Answer(
        brief=resolved.brief,
        brief_sources={key: FieldSource(source=s.kind, reason=s.reason) for key, s in sorted(resolved.sources.items())},
        **explained,
        # Last, as explaining computes every metric: what failed until then is part of the answer.
        provenance=_provenance(fields, case, bests[0] if wished else None),
    )
    yield answer
    if not wished:
        return
    sure = _sure(bests, fields, form, case)
    at_risk = explain.limits_that_may_break(sure["confidence"].may_break, case)
    sure["cautions"] = sorted([*answer.cautions, *at_risk], key=lambda w: not w.specific)
    answer = answer.model_copy(update={**sure, "provenance": _provenance(fields, case, bests[0])})
    yield answer
    from recommender.engine.sensitivity.counterfactuals import flips

    firm = flips(fields, bests, case)
    known = {"flips": firm.flips, "tried": firm.tried, "provenance": _provenance(fields, case, bests[0])}
    yield answer.model_copy(update=known)


def _sure(bests: list[Best], fields: list[Field], form: Chosen | None, case: Case) -> dict[str, Any]:
    """Bands, how often each grind wins, and what the shop's errors do."""
    # These come after the answer stands: it does not wait for their import.
    from recommender.engine.sensitivity.dimension_bands import dimension_bands
    from recommender.engine.sensitivity.tolerance import tolerances
    from recommender.engine.sensitivity.uncertainty import blade_bands, resample

    winner, redrawn = bests[0], resample(bests, fields, case)
    bands = dict(redrawn.bands) if form is None else {**redrawn.bands, **blade_bands(form, winner, case)}
    return {
        "metrics": explain.metrics(winner, case.registry, bands, form),
        "confidence": redrawn.confidence.model_copy(update={"dimensions": dimension_bands(winner, case)}),
        "tolerances": tolerances(winner, case),
    }


def _simplest_of_the_best(bests: list[Best]) -> Best:
    tied = [b for b in bests if b.points > bests[0].points - TIE_POINTS]
    return min(tied, key=lambda b: b.grind.item.knobs)


def _chosen(fields: list[Field], bests: list[Best], case: Case) -> tuple[Chosen | None, dict[str, Any]]:
    resolved, registry = case.resolved, case.registry
    winner, others = bests[0], bests[1:]
    found = {b.grind.item.id for b in bests}
    form, blade, shop = _formed(winner, case)
    costs = explain.costs(winner.scores, case)
    served = explain.served(winner, case, costs)
    return form, {
        "costs": costs,
        "proposal": explain.proposal(winner, resolved, form.form if form else None),
        "metrics": explain.metrics(winner, registry, {}, form),
        "reasons": explain.reasons(winner.scores, registry),
        "cautions": [*explain.failed_demands(costs), *explain.words("caution", winner, case, form)],
        "advice": explain.words("advice", winner, case, form),
        "alternatives": [
            *(explain.alternative(other, winner, case, form.form if form else None) for other in others),
            *(explain.shut_out_alternative(f) for f in fields if f.grind.item.id not in found),
        ],
        # Where a grind is wished for, no limit decided for it against another.
        "deciding": limits_that_decide(
            fields if resolved.brief.wishes.grind is None else [f for f in fields if f.grind is winner.grind], winner
        ),
        "points": _points(winner),
        "blade": blade,
        "shop": shop,
        "form": None if form is None else explain.form(form, registry),
        "served": served,
        "task_fit": {task: each.met for task, each in served.items()},
    }


def _formed(winner: Best, case: Case) -> tuple[Chosen | None, BladeFigures | None, ShopFigures | None]:
    """The winner as a whole blade in the form chosen; nothing where its section cannot be followed along the blade."""
    try:
        form = choose(winner, case)
        return form, whole_blade(form), shop_figures(form, case.resolved.bench.skin_per_side_mm)
    except GeometryError as cause:
        grind = winner.grind
        case.registry.failed(grind.origin, f"being followed along the blade ({grind.item.id})", cause)
        return None, None, None


def _nothing_fits(fields: list[Field], case: Case) -> dict[str, Any]:
    return {
        "cautions": explain.words("caution", None, case),
        "blocked": explain.blocked(fields),
        "relaxations": _relaxations(fields, case),
        "against": against_the_wish(case),
    }


def _provenance(fields: list[Field], case: Case, winner: Best | None) -> Provenance:
    knowledge, registry = case.knowledge, case.registry
    return Provenance(
        version=__version__,
        packs={pack.id: pack.version for pack in knowledge.packs},
        pack_digests=dict(knowledge.digests),
        plugins=[
            PluginUsed(plugin=o.plugin, distribution=o.distribution, version=o.version, digest=content_digest(plugin))
            for o, plugin in registry.plugins.items()
        ],
        grind_from="" if winner is None else winner.grind.origin.plugin,
        failed=[*(str(failure) for failure in registry.failures), *knowledge.left_out],
        blocked=[str(origin) for origin in registry.blocked],
        overruled=[str(overruled) for overruled in knowledge.overruled],
        candidates=sum(f.tried for f in fields),
        made=sum(len(f.measured) for f in fields if f.measured is not None),
        feasible=sum(f.feasible for f in fields),
    )


def surveyed(case: Case) -> list[Field]:
    """Every grind with all its candidates: a wished one too is set against the others."""
    grinds = list(case.registry.grinds.values())
    n = -(-TOTAL // max(len(grinds), 1))
    made = sum(count_feasible(grind, case, n) for grind in grinds)
    # Where much cannot be made, try more, so that enough is left to weigh.
    n = int(n * min(MOST_OVERSAMPLING, max(1.0, TOTAL / max(made, 1))))
    return survey(grinds, case, n)


def _points(best: Best) -> Points:
    scores = best.scores
    return Points(
        goals=round(float(scores.goal_points[0]), 2),
        leans=round(float(scores.lean_points[0]), 2),
        costs=round(float(scores.cost_points[0]), 2) + 0.0,
        total=round(best.points, 2),
    )


def _relaxations(fields: list[Field], case: Case) -> list[str]:
    """The smallest changes that would let something fit: loosen one limit, or drop one wish."""
    found = []
    for words, changed in _single_changes(case):
        again = surveyed(changed)
        wish = changed.resolved.brief.wishes.grind
        asked = [f for f in again if wish in (None, f.grind.item.id)]
        best = max(bests_of(asked, changed), key=lambda b: b.points, default=None)
        if best is not None:
            design = explain.proposal(best, changed.resolved)
            micro = ""
            if design.micro_bevel_per_side_deg is not None:
                included = design.micro_bevel_included_deg
                micro = f"micro-bevel {design.micro_bevel_per_side_deg:g}° per side ({included:g}° included), "
            found.append(
                f"{words}: {design.grind_label}, {design.edge_angle_per_side_deg:g}° per side "
                f"({design.edge_angle_included_deg:g}° included), {micro}"
                f"{explain.behind_edge_words(design.edge_thickness_mm, design.one_bevel_mm)}, "
                f"grind line {design.grind_line_mm:.1f} mm above the edge"
            )
            if words.startswith("with stock"):
                break
    return found + explain.limit_relaxations(fields)


def _single_changes(case: Case) -> Iterator[tuple[str, Case]]:
    """Single things a person could change: take a micro-bevel, drop a wish, add a platen or slack belt, other stock."""
    brief = case.resolved.brief
    if brief.wishes.micro_bevel is None and edge_is_wished(fixed_columns(case.resolved)):
        wishes = brief.wishes.model_copy(update={"micro_bevel": "yes"})
        yield "with a micro-bevel", case.but(brief=brief.model_copy(update={"wishes": wishes}))
    for name, value in brief.wishes.model_dump(exclude_none=True).items():
        freed = Wishes(**{**brief.wishes.model_dump(), name: None})
        shown = value if isinstance(value, str) else wish_words(name, value)
        yield (
            f"without the wish for {wish_label(name)} {shown}",
            case.but(brief=brief.model_copy(update={"wishes": freed})),
        )
    shop = case.resolved.workshop
    if not shop.platen:
        yield "with a platen", case.but(workshop=dataclasses.replace(shop, platen=True))
    if not shop.slack_belt:
        yield "with a slack belt", case.but(workshop=dataclasses.replace(shop, slack_belt=True))
    stock = brief.blade.stock_thickness_mm
    for by in (0.5, -0.5, 1.0, -1.0, 2.0) if stock is not None else ():
        if stock is not None and STOCK_MM[0] <= stock + by <= STOCK_MM[1]:
            blade = brief.blade.model_copy(update={"stock_thickness_mm": stock + by})
            bar = (stock + by, stock + by)
            yield (
                f"with stock {stock + by:g} mm thick",
                case.but(
                    brief=brief.model_copy(update={"blade": blade}), stock_range_mm=bar, one_sided_stock_range_mm=bar
                ),
            )
