"""How sure the answer is: the ranking drawn again with every uncertain number drawn from its band.

The best blade of each grind is kept; what is redrawn is friction, toughness, stiffness and strength of the materials,
hardness, toughness and carbides of the steel, the gear, the loads, and how much each goal weighs. All draws of a
blade are one batch, so 512 draws cost about as much as 512 candidates.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from recommender.engine.intake.case import Case
from recommender.engine.intake.resolve import Resolved
from recommender.engine.search.blade_form import Chosen, blade_of
from recommender.engine.search.measuring import Measured
from recommender.engine.search.ranking import Best
from recommender.engine.search.scoring import score
from recommender.engine.search.usual_blade import Coefficients, UsualFigures
from recommender.geometry.arcs import Array
from recommender.mechanics import steel as steel_mechanics
from recommender.mechanics.wear import RECESSION_BAND_MM, RECESSION_IN_USE_MM
from recommender.models.answer.proposal import Confidence, MainUncertainty
from recommender.models.base import Quantity
from recommender.plugin.api import Context, Forms, SharpeningState, TaskLoad

DRAWS = 512
SEED = 20261124
"""Fixed: the same brief gets the same answer."""
BLADE_DRAWS = 64
"""Draws of the whole blade: fewer, as each is some hundred sections."""
BAND_PERCENT = (5.0, 95.0)
WEIGHT_SPREAD = 0.3
"""Standard deviation of the logarithm of a goal's weight: people differ by about a third in what they want."""
HARDNESS_SPREAD_HRC = 1.0
"""Half-width of what a heat treatment hits and a tester reads; common practice, +-1 HRC."""
YIELD_BAND = (0.75, 0.90)
FINISHING_BAND = (0.5, 1.0, 2.0)
"""What finer grits and the burr take, over what the gear's table says: least, usual, most; estimate."""
_MATERIAL = {
    "toughness_j_per_m2": "toughness of",
    "foundation_n_per_mm3": "stiffness under the blade of",
    "plateau_mpa": "crushing pressure of",
    "friction": "friction of",
    "youngs_modulus_mpa": "Young's modulus of",
    "edge_recession_um": "wear of the edge by",
}
_SPLITTING = {
    "gc_j_per_m2": "splitting energy of",
    "along_over_shear": "shear stiffness of",
    "across_over_along": "stiffness across the grain of",
}
_LOADS = {
    "side_load_n_per_mm": "sideways load on the apex in",
    "side_load_n": "sideways load on the edge in",
    "pry_moment_n_m": "prying moment in",
    "edge_nick_um": "nicks in the edge from",
}


@dataclass
class _Drawer:
    """Draws each uncertain input once and remembers it by name."""

    rng: np.random.Generator
    drawn: dict[str, Array]
    count: int = DRAWS

    def quantity(self, name: str, q: Quantity) -> Array:
        """Triangular between low and high with its mode at likely, on a logarithmic scale where all are positive."""
        if name not in self.drawn:
            u = self.rng.random(self.count)
            if q.low > 0:
                low, mode, high = np.log(q.low), np.log(q.likely), np.log(q.high)
                self.drawn[name] = np.exp(_triangular(u, low, mode, high))
            else:
                self.drawn[name] = _triangular(u, q.low, q.likely, q.high)
        return self.drawn[name]

    def between(self, name: str, low: float, mode: float, high: float) -> Array:
        """Triangular."""
        if name not in self.drawn:
            self.drawn[name] = _triangular(self.rng.random(self.count), low, mode, high)
        return self.drawn[name]

    def weight(self, name: str) -> Array:
        """Log-normal about 1."""
        if name not in self.drawn:
            self.drawn[name] = np.exp(WEIGHT_SPREAD * self.rng.standard_normal(self.count))
        return self.drawn[name]


def _triangular(u: Array, low: float, mode: float, high: float) -> Array:
    if high <= low:
        return np.full(u.shape, mode)
    split = (mode - low) / (high - low)
    rising = low + np.sqrt(u * (high - low) * (mode - low))
    falling = high - np.sqrt((1 - u) * (high - low) * (high - mode))
    return np.asarray(np.where(u < split, rising, falling))


@dataclass(frozen=True)
class Resampled:
    """What the draws say: how firm the ranking is, and bands of the winner's figures."""

    confidence: Confidence
    bands: Mapping[str, tuple[float, float]]
    """Metric -> 5th and 95th percentile; metrics that do not vary or do not apply are left out."""


def resample(bests: list[Best], case: Case) -> Resampled:
    """Redraw the ranking of the best blades, the first of which is the proposal."""
    drawer = _Drawer(np.random.default_rng(SEED), {})
    for r in case.rules.goals:
        drawer.weight(f"weight of “{r.rule.title}”")
    rows = np.zeros(DRAWS, dtype=int)
    drawn = [
        (k, m)
        for k, best in enumerate(bests)
        if (m := Measured.of(best.grind, best.measured.designs, best.measured.context, case.registry, rows))
    ]
    if not drawn:
        return Resampled(Confidence(draws=DRAWS, seed=SEED, wins={}, main_uncertainty=None), {})
    contexts = [m.context for _, m in drawn]
    count = len(drawn)
    weights = {r.rule.id: np.tile(drawer.weight(f"weight of “{r.rule.title}”"), count) for r in case.rules.goals}
    measured = Measured.joined([m for _, m in drawn], _drawn_context(contexts, case.resolved, drawer))
    usual = UsualFigures(case.knowledge, case.registry, _shared(case.resolved, drawer, count))
    scores = score(measured, case.rules, weights, usual)
    points = np.full((len(bests), DRAWS), -np.inf)
    points[[k for k, _ in drawn]] = (scores.penalised_points).reshape(count, DRAWS)
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
        ),
        _bands(measured.taking(np.arange(DRAWS), _drawn_context(contexts[:1], case.resolved, drawer)))
        if drawn[0][0] == 0
        else {},
    )


def _shared(resolved: Resolved, drawer: _Drawer, blades: int) -> Coefficients:
    """What usual blades share with the blades drawn: coefficients of model and material, none of steel and gear."""
    return Coefficients(
        {load.task.id: _drawn_task(load, drawer, 1) for load in resolved.tasks},
        _recession_mm(resolved.tasks, drawer),
        _yield_share(drawer),
        drawer.count,
        blades,
    )


def _yield_share(drawer: _Drawer) -> Array:
    return drawer.between("yield over tensile strength", YIELD_BAND[0], steel_mechanics.YIELD_SHARE, YIELD_BAND[1])


def _recession_mm(tasks: tuple[TaskLoad, ...], drawer: _Drawer) -> Any:
    if all(load.material.edge_recession_um is not None for load in tasks):
        return RECESSION_IN_USE_MM
    low, high = np.log(RECESSION_BAND_MM)
    return np.exp(drawer.between("wear of the edge between sharpenings", low, np.log(RECESSION_IN_USE_MM), high))


def _drawn_context(contexts: list[Context], resolved: Resolved, drawer: _Drawer) -> Context:
    """One context for all draws of all blades, blade by blade: arrays (blades x DRAWS,) for what is uncertain."""
    # Each input is drawn where it is first asked for: the order here is the order of the draws.
    tasks = tuple(_drawn_task(load, drawer, len(contexts)) for load in contexts[0].tasks)
    steel, state = resolved.steel, contexts[0].steel
    likely, spread = resolved.hardness_hrc, HARDNESS_SPREAD_HRC
    hardness = drawer.between("hardness of the steel", likely - spread, likely, likely + spread)
    yields = steel_mechanics.yield_strength_mpa(hardness, _yield_share(drawer))
    usual = drawer.quantity("toughness of the steel", steel.toughness.k_ic_mpa_sqrt_m)
    k_ic = steel_mechanics.fracture_toughness(
        usual, steel.toughness.k_ic_slope_per_hrc, steel.hardness.usual_hrc, hardness
    )
    band = steel.carbides.relative_band
    carbide = drawer.between("carbides of the steel", 1 - band, 1.0, 1 + band)
    drawn_steel = dataclasses.replace(
        state,
        hardness_hrc=hardness,
        yield_mpa=yields,
        k_ic_mpa_sqrt_m=k_ic,
        carbides={name: volume * carbide for name, volume in state.carbides.items()},
        body_failure_mpa=steel_mechanics.failure_stress_mpa(yields, k_ic, resolved.nick_um),
    )
    flaws = [_flaw(each, resolved, drawer) for each in contexts]
    sharpened = [_drawn_gear(each, resolved, drawer) for each in contexts]
    worn = _recession_mm(contexts[0].tasks, drawer)
    drawn = [
        dataclasses.replace(
            each,
            steel=dataclasses.replace(
                drawn_steel,
                edge_failure_mpa=steel_mechanics.failure_stress_mpa(yields, k_ic, flaw),
                edge_flaw_um=flaw,
                edge_scratch_um=scratch,
            ),
            sharpening=dataclasses.replace(sharpening, recession_mm=worn),
        )
        for each, (scratch, flaw), sharpening in zip(contexts, flaws, sharpened, strict=True)
    ]
    return dataclasses.replace(Context.joined(drawn, [drawer.count] * len(drawn)), tasks=tasks)


def _flaw(context: Context, resolved: Resolved, drawer: _Drawer) -> tuple[Any, Any]:
    """Scratches of sharpening, and with them the nicks of use by the shares of the work."""
    used = [g for g in resolved.gear if g.id in context.sharpening.gear]
    # What nothing at hand sharpens keeps the roughest scratches there are, as in `Resolved.scratch_um`.
    finest = (min if used else max)(used or list(resolved.gear), key=lambda g: g.scratch_um.likely)
    scratch = drawer.quantity(f"scratches of the {finest.label}", finest.scratch_um)
    flaw: Any = 0.0
    for load in context.tasks:
        nick: Any = 0.0
        if load.task.edge_nick_um is not None:
            nick = drawer.quantity(f"{_LOADS['edge_nick_um']} {load.task.label}", load.task.edge_nick_um)
        flaw = flaw + load.share * np.maximum(scratch, nick)
    return scratch, flaw


def _drawn_gear(context: Context, resolved: Resolved, drawer: _Drawer) -> SharpeningState:
    state = context.sharpening
    used = [g for g in resolved.gear if g.id in state.gear]
    if not used:
        return state
    fine = min(used, key=lambda g: g.apex_radius_um.likely)
    quick = max(used, key=lambda g: g.removal_mm3_per_min.likely if g.removal_mm3_per_min else 0.0)
    assert quick.removal_mm3_per_min is not None  # chosen so
    pace = state.removal_mm3_per_min / quick.removal_mm3_per_min.likely
    return dataclasses.replace(
        state,
        apex_radius_mm=drawer.quantity(f"apex from the {fine.label}", fine.apex_radius_um) / 1000,
        removal_mm3_per_min=pace * drawer.quantity(f"speed of the {quick.label}", quick.removal_mm3_per_min),
        finishing_minutes=state.finishing_minutes * drawer.between("time for finer grits and burr", *FINISHING_BAND),
    )


def _drawn_task(load: TaskLoad, drawer: _Drawer, count: int) -> TaskLoad:
    """A task with its draws repeated for each of `count` blades."""

    def repeated(values: Array) -> Quantity:
        return _as_quantity(np.tile(values, count))

    material, task = load.material, load.task
    drawn: dict[str, Any] = {}
    for name, what in _MATERIAL.items():
        q = getattr(material, name)
        if q is not None:
            drawn[name] = repeated(drawer.quantity(f"{what} {material.label.lower()}", q))
    if material.splits is not None:
        told = [(name, q) for name in _SPLITTING if (q := getattr(material.splits, name)) is not None]
        parts = {name: repeated(drawer.quantity(f"{_SPLITTING[name]} {material.label.lower()}", q)) for name, q in told}
        drawn["splits"] = material.splits.model_copy(update=parts)
    loads = {}
    for name in _LOADS:
        q = getattr(task, name)
        if q is not None:
            loads[name] = repeated(drawer.quantity(f"{_LOADS[name]} {task.label}", q))
    if task.slice_push_ratio is not None:
        ratio = drawer.quantity(f"slicing stroke in {task.label}", task.slice_push_ratio)
        loads["slice_push_ratio"] = repeated(ratio)
    return TaskLoad(task.model_copy(update=loads), load.share, material.model_copy(update=drawn))


def _as_quantity(values: Array) -> Quantity:
    """A quantity whose likely value is one draw a row; metrics read `likely` and take arrays as well as numbers."""
    return Quantity.model_construct(likely=values)


def blade_bands(chosen: Chosen, best: Best, case: Case) -> dict[str, tuple[float, float]]:
    """Bands of the estimated figures of the whole blade, from draws of their own."""
    drawer = _Drawer(np.random.default_rng(SEED), {}, BLADE_DRAWS)
    context = _drawn_context([best.measured.context], case.resolved, drawer)
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
    ranked = _ranks(lead)
    scores = {
        name: float(np.corrcoef(_ranks(values), ranked)[0, 1]) for name, values in drawn.items() if np.ptp(values) > 0
    }
    name = max(scores, key=lambda n: scores[n] ** 2)
    return MainUncertainty(
        input=name, share=round(scores[name] ** 2, 3), favours_proposal_when="high" if scores[name] > 0 else "low"
    )


def _ranks(values: Array) -> Array:
    ranks = np.empty(len(values))
    ranks[np.argsort(values, kind="stable")] = np.arange(len(values))
    return ranks
