"""The usual blade of each task, measured: what goals that are `of_usual` are ratios to.

It has a section, a steel, a hardness and gear of its own, by the task's table, and is measured with the same
coefficients of model and material as the candidates. So these cancel in the ratio, and all that is the blade's own
goes on counting.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from recommender.engine.intake.resolve import practised_context, steel_state
from recommender.engine.search.candidates import LINE_SHARE
from recommender.engine.search.measuring import Measured
from recommender.geometry.arcs import Scalars
from recommender.mechanics import steel as steel_mechanics
from recommender.models.base import Quantity
from recommender.models.knowledge.tables import UsualBlade
from recommender.packs.knowledge import Knowledge
from recommender.plugin.api import RIGHT, Designs, Grind, SteelState, TaskLoad
from recommender.plugin.registry import Registry

_WHEEL = "wheel_diameter_mm"


@dataclass(frozen=True)
class Coefficients:
    """Uncertain coefficients of model and material, as candidates are measured with them: (m,) each for m draws."""

    loads: Mapping[str, TaskLoad]
    """Of the tasks that are drawn; the likely ones of all others."""
    between_sharpenings: Mapping[str, Any] = field(default_factory=dict)
    """Fields of the state of sharpening that are drawn: wear, strokes, steel ground back."""
    yield_share: Scalars = steel_mechanics.YIELD_SHARE
    draws: int = 1
    blades: int = 1
    """How many blades have these draws, one after the other."""


LIKELY = Coefficients({})


class UsualFigures:
    """Metrics of usual blades, computed when a goal first asks for one."""

    def __init__(
        self,
        knowledge: Knowledge,
        registry: Registry,
        coefficients: Coefficients = LIKELY,
        known: dict[tuple[str, str], Any] | None = None,
    ) -> None:
        """`known` holds what was asked for before, and what is asked for now."""
        self._knowledge, self._registry, self._coefficients = knowledge, registry, coefficients
        self._measured: dict[str, Measured | None] = {}
        self._figures = {} if known is None else known

    def figure(self, task: str, metric: str) -> Any:
        """A metric of the usual blade of a task in the metric's unit: a number, or (draws x blades,) where drawn.

        None where the task has no usual blade, its grind is not loaded, or the metric has no meaning for it.
        """
        key = task, metric
        if key not in self._figures:
            self._figures[key] = self._figure(task, metric)
        return self._figures[key]

    def _figure(self, task: str, metric: str) -> Any:
        if task not in self._measured:
            self._measured[task] = self._measure(task)
        measured = self._measured[task]
        value = None if measured is None else measured.metric(metric)
        if value is None:
            return None
        if self._coefficients.draws == 1:
            return float(value[0])
        return np.tile(value, self._coefficients.blades)

    def _measure(self, task: str) -> Measured | None:
        usual = self._knowledge.tasks[task].usual_blade
        grind = None if usual is None else self._registry.grinds.get(usual.grind)
        if usual is None or grind is None:
            return None
        doing = f"drawing the usual blade of {task}"
        designs = self._registry.call(grind.origin, doing, usual_designs, grind.item, usual, self._knowledge)
        if designs is None:
            return None
        with_them, table = self._coefficients, self._knowledge.tasks[task]
        load = with_them.loads.get(task) or TaskLoad(table, 1.0, self._knowledge.materials[table.material])
        context = practised_context(
            dataclasses.replace(load, share=1.0),
            self._steel(usual),
            tuple(self._knowledge.gear[g] for g in usual.gear),
            grind.item,
            table.envelope.length_mm if usual.length_mm is None else usual.length_mm.likely,
        )
        sharpening = dataclasses.replace(context.sharpening, **with_them.between_sharpenings)
        rows = None if with_them.draws == 1 else np.zeros(with_them.draws, dtype=np.intp)
        return Measured.of(grind, designs, dataclasses.replace(context, sharpening=sharpening), self._registry, rows)

    def _steel(self, usual: UsualBlade) -> SteelState:
        nick, hardness = self._knowledge.defaults.nick_um, usual.hardness_hrc.likely
        state = steel_state(self._knowledge.steels[usual.steel], hardness, nick)
        yields = steel_mechanics.yield_strength_mpa(hardness, self._coefficients.yield_share)
        body = steel_mechanics.failure_stress_mpa(yields, state.k_ic_mpa_sqrt_m, nick)
        return dataclasses.replace(state, yield_mpa=yields, body_failure_mpa=body)


def usual_designs(grind: Grind, usual: UsualBlade, knowledge: Knowledge) -> Designs:
    """A usual blade as a batch of one design."""
    told: dict[str, Quantity | None] = {
        "stock_thickness_mm": usual.stock_thickness_mm,
        "height_mm": usual.height_mm,
        "edge_angle_per_side_deg": usual.edge_angle_per_side_deg,
        "edge_thickness_mm": usual.edge_thickness_mm,
        LINE_SHARE: usual.grind_line_share,
    }
    columns: dict[str, Any] = {name: q.likely for name, q in told.items() if q is not None}
    for knob in grind.parameters:
        if knob.name not in columns:
            columns[knob.name] = _middle(knob, knowledge)
    return grind.complete(Designs.of(1, **{"wheel_shore_a": np.nan, **columns}))


def _middle(knob: Any, knowledge: Knowledge) -> str | float:
    if knob.name == "side":
        return RIGHT
    if knob.name == _WHEEL:
        wheels = sorted(knowledge.defaults.wheels_mm)
        return float(wheels[len(wheels) // 2]) if wheels else np.nan
    if knob.choices:
        first: str | float = knob.choices[0]
        return first
    return float((knob.low + knob.high) / 2)
