"""Bands of the dimensions: what the proposed grind would be made to by whoever knew the numbers of a draw.

Each draw has a walk of its own, from the proposal in shop steps along one dimension at a time, while its points rise.
All walks of a round are one batch.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from recommender.engine.intake.case import Case
from recommender.engine.search.measuring import Measured
from recommender.engine.search.ranking import REACH, Best, around, completed
from recommender.engine.search.scoring import score
from recommender.engine.search.usual_blade import UsualFigures
from recommender.engine.sensitivity.drawer import BAND_PERCENT, SEED, Drawer
from recommender.engine.sensitivity.drawn_context import drawn_coefficients, drawn_context
from recommender.models.answer.design_keys import DESIGN_KEYS
from recommender.models.answer.proposal import Band
from recommender.plugin.api import Designs

DRAWS = 48
"""Fewer than of the ranking, as each has some thirty blades a round."""
ROUNDS = 5
"""Steps of a walk at most: it comes as far as 20 shop steps from the proposal."""
WORTH_POINTS = 0.05
"""A step that gains less is not taken: a maker would not set the machine anew for it."""


def dimension_bands(best: Best, case: Case) -> dict[str, Band]:
    """Band of every dimension that applies, by its key in a proposal or the name of the grind's parameter.

    What the brief decides, or the grind, has a band without width. Empty where the grind's plug-in fails.
    """
    drawer = Drawer(np.random.default_rng(SEED), DRAWS)
    weights = {r.rule.id: drawer.weight(f"weight of “{r.rule.title}”") for r in case.rules.goals}
    made = best.measured.designs.taking(np.zeros(DRAWS, dtype=int))
    for _ in range(ROUNDS):
        better = _step(best, made, case, drawer, weights)
        if better is None:
            return {}
        made, moved = better
        if not moved.any():
            break
    return _bands(best, made)


def _step(
    best: Best, made: Designs, case: Case, drawer: Drawer, weights: dict[str, npt.NDArray[np.float64]]
) -> tuple[Designs, npt.NDArray[np.bool_]] | None:
    """The best of each draw's blade (draws,) and those a step beside it, and which draws have moved."""
    grind, resolved, registry = best.grind, case.resolved, case.registry
    found = completed(grind, around(grind.item, made, resolved, REACH, together=False), case)
    if found is None:
        return None
    whole, ok = found
    rows = np.arange(len(whole))
    rows = np.where(ok, rows, rows % DRAWS)  # what cannot be made is the blade as it was
    count = len(whole) // DRAWS
    contexts = [best.measured.context] * count
    measured = Measured.of(grind, whole.taking(rows), drawn_context(contexts, resolved, drawer), registry)
    if measured is None:
        return None
    usual = UsualFigures(case.knowledge, registry, drawn_coefficients(contexts[0], drawer, count))
    tiled = {rule: np.tile(weight, count) for rule, weight in weights.items()}
    points = score(measured, case.rules, tiled, usual).penalised_points.reshape(count, DRAWS)
    first = np.argmax(points, axis=0)
    moved = points.max(axis=0) > points[0] + WORTH_POINTS
    chosen = np.where(moved, first, 0)
    return measured.designs.taking(chosen * DRAWS + np.arange(DRAWS)), moved


def _bands(best: Best, made: Designs) -> dict[str, Band]:
    """Of every column of numbers that applies in all draws."""
    named = {name: DESIGN_KEYS.get(name, name) for name in made.columns}
    values = {key: made[name] for name, key in named.items() if made[name].dtype.kind == "f"}
    values["edge_angle_included_deg"] = made.edge_angle_included_deg
    values["blade_length_mm"] = np.full(DRAWS, float(best.measured.context.length_mm))
    return {
        key: Band(low=round(float(low), 4), high=round(float(high), 4))
        for key, column in values.items()
        if not np.isnan(column).any()
        for low, high in [np.percentile(column, BAND_PERCENT, method="inverted_cdf")]
    }
