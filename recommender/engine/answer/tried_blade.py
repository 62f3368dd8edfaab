"""Blades of one's own beside the proposal: a dimension moved by hand, measured and scored under the same brief."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from recommender.engine.answer import explain
from recommender.engine.answer.blade_figures import whole_blade
from recommender.engine.answer.explain import designs_of
from recommender.engine.intake.case import Case
from recommender.engine.search.blade_form import BladeForm, Chosen, followed, in_form
from recommender.engine.search.candidates import LINE_SHARE, choices, step_of
from recommender.engine.search.measuring import Measured
from recommender.engine.search.ranking import Best
from recommender.engine.search.scoring import LimitScore, score
from recommender.errors import GeometryError
from recommender.geometry.blade import Blade
from recommender.geometry.outline import Outline, as_batch
from recommender.models.answer.proposal import Points, Proposal
from recommender.models.answer.trial import Broken, Knob, Weighed
from recommender.models.knowledge.rule import LimitEffect
from recommender.plugin.api import Designs, Grind, Parameter
from recommender.plugin.guard import Registered
from recommender.units import SIZE_STEP_MM, STOCK_MM, Unit, show

LINE = "grind_line_mm"


def knobs(case: Case, proposal: Proposal, base: Proposal) -> tuple[Knob, ...]:
    """Everything that can be moved on a blade of this grind; `base` is the blade that it is tried from."""
    grind = case.registry.grinds[proposal.grind].item
    return tuple(_knob(p, case, proposal, base) for p in grind.parameters if p.name != "side")


def _knob(parameter: Parameter, case: Case, proposal: Proposal, base: Proposal) -> Knob:
    if parameter.name == LINE_SHARE:
        height = proposal.blade_height_mm
        return Knob(
            name=LINE,
            label=parameter.label,
            unit=Unit.MM.value,
            value=proposal.grind_line_mm,
            proposed=base.grind_line_mm,
            low=round(parameter.low * height / SIZE_STEP_MM) * SIZE_STEP_MM,
            high=round(parameter.high * height / SIZE_STEP_MM) * SIZE_STEP_MM,
            step=SIZE_STEP_MM,
            choices=(),
        )
    options = tuple(c for c in choices(parameter, case.resolved) if c == c)
    low, high = STOCK_MM if parameter.name == "stock_thickness_mm" else (parameter.low, parameter.high)
    return Knob(
        name=parameter.name,
        label=parameter.label,
        unit=parameter.unit.value,
        value=_value(proposal, parameter.name),
        proposed=_value(base, parameter.name) if base.grind == proposal.grind else None,
        low=low,
        high=high,
        step=0.0 if options else step_of(parameter, case.resolved),
        choices=options,
    )


def _value(proposal: Proposal, name: str) -> float | str | None:
    return proposal.parameters[name].value if name in proposal.parameters else None


def changed(case: Case, base: Proposal, values: Mapping[str, float | str]) -> Proposal:
    """A blade with some dimensions (by the names of its knobs) moved; what follows from them follows."""
    grind = case.registry.grinds[base.grind]
    designs = designs_of(base)
    for name, value in values.items():
        if name == LINE:
            designs = designs.changed(**{LINE_SHARE: float(value) / designs["height_mm"]})
        else:
            designs = designs.changed(**{name: value})
    whole = case.registry.call(grind.origin, f"trying {base.grind}", grind.item.complete, designs)
    made = designs if whole is None else whole
    outline = case.registry.call(grind.origin, f"drawing {base.grind}", lambda: _drawn(grind.item, made))
    return explain.proposal_of(grind.item, made, case.resolved, form_of(base), outline)


def _drawn(grind: Grind, designs: Designs) -> Outline | None:
    """The section, None where the design cannot be drawn: it is refused then."""
    try:
        return as_batch(grind.outlines(designs))
    except GeometryError:
        return None


def form_of(proposal: Proposal) -> BladeForm | None:
    """The form of a proposal; None for one that has none."""
    if proposal.tip is None:
        return None
    taper, swedge = proposal.distal_taper or 0.0, proposal.swedge
    stock = proposal.stock_thickness_mm
    if swedge is not None:
        swedge = swedge.model_copy(update={"spine_mm": min(swedge.spine_mm, stock)})
    return BladeForm(proposal.tip, swedge, taper, stock - taper * proposal.blade_length_mm)


def followed_blade(grind: Grind, proposal: Proposal) -> Blade:
    """A proposal as a whole blade. Raises GeometryError where its section cannot be followed to the tip."""
    form = form_of(proposal)
    if form is None:
        raise GeometryError(f"a {proposal.grind_label} of this size has no form that can be followed to the tip")
    designs = designs_of(proposal)
    tip = None if grind.tip_outlines is None else np.asarray(grind.tip_outlines(designs))
    return followed(grind, np.asarray(grind.outlines(designs)), tip, proposal.blade_length_mm, [form])


def weigh(case: Case, proposal: Proposal) -> Weighed:
    """Measure and score any blade under a brief; one that cannot be ground comes with the reasons instead."""
    grind = case.registry.grinds[proposal.grind]
    designs = designs_of(proposal)
    refused = refusals(case, grind, designs)
    best = None if refused else sized(case, grind, designs)
    if best is None:
        return _refused(proposal, refused or ("its plug-in cannot draw it",))
    form = form_of(proposal)
    chosen = None
    if form is not None:
        try:
            chosen = in_form(best, case, form)
        except GeometryError as cause:
            return _refused(proposal, (str(cause),))
    return _weighed(proposal, best, chosen, case)


def _weighed(proposal: Proposal, best: Best, chosen: Chosen | None, case: Case) -> Weighed:
    scores = best.scores
    limits = [*scores.limits, *(chosen.scores.limits if chosen is not None else [])]
    return Weighed(
        proposal=proposal,
        refused=(),
        broken=tuple(_broken(limit, case) for limit in limits if limit.broken[0]),
        points=Points(
            goals=round(float(scores.goal_points[0]), 2),
            leans=round(float(scores.lean_points[0]), 2),
            costs=round(float(scores.cost_points[0]), 2) + 0.0,
            total=round(best.points, 2),
        ),
        costs=explain.costs(scores, case),
        metrics=explain.metrics(best, case.registry, {}, chosen),
        reasons=explain.reasons(scores, case.registry),
        blade=None if chosen is None else whole_blade(chosen),
    )


def _refused(proposal: Proposal, why: tuple[str, ...]) -> Weighed:
    return Weighed(proposal=proposal, refused=why, broken=(), points=None, metrics={}, reasons=[], blade=None)


def refusals(case: Case, grind: Registered[Grind], designs: Designs) -> tuple[str, ...]:
    """Why one design cannot be ground in the case's workshop; () where it can."""
    doing = f"checking {grind.item.id}"
    found = case.registry.call(grind.origin, doing, grind.item.refusals, designs, case.resolved.workshop)
    if found is None:
        return ("its plug-in failed",)
    return tuple(dict.fromkeys(r.reason for r in found if np.any(r.rows)))


def sized(case: Case, grind: Registered[Grind], designs: Designs) -> Best | None:
    """One design that can be ground, measured and scored; None when its plug-in fails."""
    measured = Measured.of(grind, designs, case.resolved.context(grind.item), case.registry)
    return None if measured is None else Best(grind, measured, score(measured, case.rules).of(0))


def _broken(limit: LimitScore, case: Case) -> Broken:
    rule = limit.rule.rule
    effect = rule.effect
    assert isinstance(effect, LimitEffect)
    return Broken(rule=rule.id, title=rule.title, text=_beyond(effect, limit.value[0], case))


def _beyond(effect: LimitEffect, value: Any, case: Case) -> str:
    metric = case.registry.metrics[effect.metric].item if effect.metric else None
    name = metric.label if metric else str(effect.field).rpartition(".")[2].replace("_", " ")

    def words(number: Any) -> str:
        return show(float(number), metric.unit) if metric else f"{number:g}"

    if effect.in_ is not None:
        return f"{name} {value}, must be one of {', '.join(str(v) for v in effect.in_)}"
    if not np.isfinite(value):
        return f"{name}: does not get there"
    if effect.min is not None and value < effect.min:
        return f"{name} {words(value)}, must be at least {words(effect.min)}"
    return f"{name} {words(value)}, must be at most {words(effect.max)}"
