"""How sure the answer is: the ranking drawn again with every uncertain number drawn from its band.

Each grind keeps its best blade and a few of other dimensions (`other_dimensions`). What is redrawn (`drawn_context`) is
what is cut and how deep, hardness, toughness and carbides of the steel, the gear and how it is used, the loads and what
is hard in the work, constants of the cutting model, and how much each goal weighs. All draws of a blade are one batch,
so 512 draws cost about as much as 512 candidates.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from recommender.engine.intake.case import Case
from recommender.engine.search.blade_form import Chosen, blade_of
from recommender.engine.search.measuring import Measured
from recommender.engine.search.ranking import Best, Field
from recommender.engine.search.scoring import score
from recommender.engine.search.usual_blade import UsualFigures
from recommender.engine.sensitivity.drawer import BAND_PERCENT, SEED, Drawer, ranks
from recommender.engine.sensitivity.drawn_context import drawn_coefficients, drawn_context
from recommender.engine.sensitivity.limits_at_risk import limits_at_risk
from recommender.engine.sensitivity.other_dimensions import other_dimensions
from recommender.geometry.arcs import Array
from recommender.models.answer.proposal import Confidence, MainUncertainty
from recommender.plugin.api import Forms

DRAWS = 512
BLADE_DRAWS = 64
"""Draws of the whole blade: fewer, as each is some hundred sections."""


@dataclass(frozen=True)
class Resampled:
    """What the draws say: how firm the ranking is, and bands of the winner's figures."""

    confidence: Confidence
    bands: Mapping[str, tuple[float, float]]
    """Metric -> 5th and 95th percentile; metrics that do not vary or do not apply are left out."""


def resample(bests: list[Best], fields: Sequence[Field], case: Case) -> Resampled:
    """Redraw the ranking of the best blades, the first of which is the proposal.

    In each draw a grind counts with the best of its dimensions there: whoever knew those numbers would have made it so.
    """
    drawer = Drawer(np.random.default_rng(SEED), DRAWS)
    for r in case.rules.goals:
        drawer.weight(f"weight of “{r.rule.title}”")
    rows = np.zeros(DRAWS, dtype=int)
    drawn: list[tuple[int, Measured]] = []
    ahead = max(best.points for best in bests)
    for k, best in enumerate(bests):
        made = [best.measured.designs]
        if (others := other_dimensions(best, fields, ahead)) is not None:
            made += [others.taking(np.array([row])) for row in range(len(others))]
        for designs in made:
            if m := Measured.of(best.grind, designs, best.measured.context, case.registry, rows):
                drawn.append((k, m))
    if not drawn:
        return Resampled(Confidence(draws=DRAWS, seed=SEED, wins={}, main_uncertainty=None), {})
    contexts = [m.context for _, m in drawn]
    count = len(drawn)
    weights = {r.rule.id: np.tile(drawer.weight(f"weight of “{r.rule.title}”"), count) for r in case.rules.goals}
    measured = Measured.joined([m for _, m in drawn], drawn_context(contexts, case.resolved, drawer))
    usual = UsualFigures(case.knowledge, case.registry, drawn_coefficients(contexts[0], drawer, count))
    scores = score(measured, case.rules, weights, usual)
    points = np.full((len(bests), DRAWS), -np.inf)
    np.maximum.at(points, [k for k, _ in drawn], scores.penalised_points.reshape(count, DRAWS))
    winner = np.argmax(points, axis=0)
    wins = {
        best.grind.item.id: round(float((winner == k).mean()), 3) for k, best in enumerate(bests) if (winner == k).any()
    }
    return Resampled(
        Confidence(
            draws=DRAWS,
            seed=SEED,
            wins=dict(sorted(wins.items(), key=lambda item: -item[1])),
            main_uncertainty=_main_uncertainty(points, drawer.drawn),
            may_break=limits_at_risk(bests[0], scores, case, DRAWS) if drawn[0][0] == 0 else (),
        ),
        _bands(measured.taking(np.arange(DRAWS), drawn_context(contexts[:1], case.resolved, drawer)))
        if drawn[0][0] == 0
        else {},
    )


def blade_bands(chosen: Chosen, best: Best, case: Case) -> dict[str, tuple[float, float]]:
    """Bands of the estimated figures of the whole blade, from draws of their own."""
    drawer = Drawer(np.random.default_rng(SEED), BLADE_DRAWS)
    context = drawn_context([best.measured.context], case.resolved, drawer)
    measured = dataclasses.replace(
        best.measured.taking(np.zeros(BLADE_DRAWS, dtype=int), context),
        forms=Forms((blade_of(best, case, [chosen.form] * BLADE_DRAWS),), (chosen.form.tip,), repeated=True),
        _cache={},
        _weighted={},
        _of_tasks={},
    )
    return _bands(measured, "blade")


def _bands(measured: Measured, of: str = "section") -> dict[str, tuple[float, float]]:
    """Percentiles of a blade's draws, for every metric that it has."""
    out = {}
    for name, stamped in measured.registry.metrics.items():
        if stamped.item.of != of:
            continue
        value = measured.metric(name)
        if value is None or not np.isfinite(value).all():
            continue
        low, high = np.percentile(value, BAND_PERCENT)
        out[name] = (round(float(low), 6), round(float(high), 6))
    return out


def _main_uncertainty(points: npt.NDArray[np.float64], drawn: Mapping[str, Array]) -> MainUncertainty | None:
    """The input whose rank goes most with the proposal's lead over the best of the others (Spearman, squared)."""
    if len(points) < 2:
        return None
    lead = points[0] - points[1:].max(axis=0)
    if not np.isfinite(lead).all() or np.ptp(lead) == 0:
        return None
    ranked = ranks(lead)
    scores = {
        name: float(np.corrcoef(ranks(values), ranked)[0, 1]) for name, values in drawn.items() if np.ptp(values) > 0
    }
    name = max(scores, key=lambda n: scores[n] ** 2)
    return MainUncertainty(
        input=name, share=round(scores[name] ** 2, 3), favours_proposal_when="high" if scores[name] > 0 else "low"
    )
