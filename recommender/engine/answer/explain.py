"""Why this blade and not another: reasons, alternatives, deciding limits, cautions, what shuts everything out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Literal

import numpy as np

from recommender.engine.intake.case import Case
from recommender.engine.intake.conditions import fires
from recommender.engine.intake.resolve import Resolved
from recommender.engine.search.blade_form import BladeForm, Chosen
from recommender.engine.search.candidate_facts import CandidateFacts
from recommender.engine.search.ranking import Best, Field
from recommender.engine.search.scoring import LimitScore, Scores, own_goals
from recommender.geometry.ground_face import is_one_bevel
from recommender.geometry.outline import Outline
from recommender.models.answer.proposal import (
    DESIGN_KEYS,
    EQUAL_POINTS,
    Alternative,
    Cost,
    Form,
    LeanGap,
    Lost,
    MayBreak,
    MetricValue,
    ParameterValue,
    Proposal,
    Reason,
    ShutOut,
    Words,
)
from recommender.models.answer.served import AS_GOOD_AS_MET, Served, verdict
from recommender.models.knowledge.rule import (
    MOST_SHORT,
    AdviceEffect,
    CautionEffect,
    GoalEffect,
    Limit,
    LimitEffect,
    WordsEffect,
    fields_of,
    is_always,
)
from recommender.packs.knowledge import Overruled
from recommender.plugin.api import Designs, Grind
from recommender.plugin.registry import Registry
from recommender.units import Unit, show


def _value(number: float) -> float | None:
    return None if not np.isfinite(number) else round(float(number), 6)


def proposal(best: Best, resolved: Resolved, form: BladeForm | None = None) -> Proposal:
    """The design of a best candidate as a proposal, in the form chosen."""
    return proposal_of(best.grind.item, best.measured.designs, resolved, form, best.measured.sections.outlines)


def proposal_of(
    grind: Grind, designs: Designs, resolved: Resolved, form: BladeForm | None, outline: Outline | None
) -> Proposal:
    """One complete design of a grind as a proposal, in a form; `outline` (1, v, 3), None where it cannot be drawn."""
    row = designs.row(0)
    blade = resolved.brief.blade
    line, height = row["grind_line_mm"], row["height_mm"]
    return Proposal(
        grind=grind.id,
        grind_label=grind.label,
        edge_angle_per_side_deg=round(row["edge_angle_per_side_deg"], 4),
        edge_angle_included_deg=round(float(designs.edge_angle_included_deg[0]), 4),
        edge_thickness_mm=round(row["edge_thickness_mm"], 4),
        stock_thickness_mm=round(row["stock_thickness_mm"], 4),
        blade_height_mm=height,
        blade_length_mm=float(blade.length_mm or 0.0),
        grind_line_mm=round(line, 4),
        grind_line_share=round(line / height, 4),
        grind_line_below_spine_mm=round(height - line, 4),
        wheel_diameter_mm=row["wheel_diameter_mm"],
        wheel_hardness_shore_a=None if row["wheel_diameter_mm"] is None else row.get("wheel_shore_a"),
        side=row["side"],
        micro_bevel_per_side_deg=row["micro_bevel_per_side_deg"],
        micro_bevel_thickness_mm=row["micro_bevel_thickness_mm"],
        one_bevel_mm=round(line, 4) if outline is not None and is_one_bevel(outline)[0] else None,
        tip=form.tip if form else blade.profile,
        swedge=form.bevel if form else None,
        distal_taper=form.taper_mm_per_mm if form else blade.distal_taper_mm_per_mm,
        parameters={
            p.name: ParameterValue(
                value=round(row[p.name], 6) if isinstance(row[p.name], float) else row[p.name],
                unit=p.unit.value,
                label=p.label,
            )
            for p in grind.parameters
            if p.name in designs
        },
        columns={
            name: value for name, value in row.items() if name not in DESIGN_KEYS and grind.parameter(name) is None
        },
    )


def behind_edge_words(edge_thickness_mm: float, one_bevel_mm: float | None) -> str:
    """What stands behind an edge, within a sentence.

    >>> behind_edge_words(0.3, None), behind_edge_words(1.5, 12.0), behind_edge_words(0.0, None)
    ('0.3 mm behind the edge', 'one bevel 12 mm high', 'ground to zero')
    """
    if one_bevel_mm is not None:
        return f"one bevel {one_bevel_mm:.3g} mm high"
    return f"{edge_thickness_mm:.2g} mm behind the edge" if edge_thickness_mm else "ground to zero"


def designs_of(proposal: Proposal) -> Designs:
    """A proposal as a batch of one design."""
    own = {name: knob.value for name, knob in proposal.parameters.items()}
    values = {**proposal.columns, **own, **{name: getattr(proposal, key) for name, key in DESIGN_KEYS.items()}}
    return Designs.of(1, **{name: np.nan if value is None else value for name, value in values.items()})


def metrics(
    best: Best, registry: Registry, bands: Mapping[str, tuple[float, float]], form: Chosen | None
) -> dict[str, MetricValue]:
    """Every metric of a best candidate, with its band; those of the whole blade in the form chosen."""
    out = {}
    for name, stamped in registry.metrics.items():
        measured = form.measured if stamped.item.of == "blade" and form is not None else best.measured
        value = measured.metric(name)
        by_task = {}
        if stamped.item.compute_for_task is not None:
            by_task = {task: _value(v[0]) for task, v in measured.by_task(name).items()}
        shown = None if value is None else _value(value[0])
        low, high = bands.get(name, (None, None))
        out[name] = MetricValue(
            label=stamped.item.label,
            value=shown,
            low=low,
            high=high,
            unit=stamped.item.unit.value,
            by_task=by_task,
            estimate=stamped.item.estimate,
        )
    return out


def reasons(scores: Scores, registry: Registry) -> list[Reason]:
    """Goals and leans by the points they brought to one candidate, most first."""
    out = []
    for goal in scores.goals:
        effect = goal.rule.rule.effect
        assert isinstance(effect, GoalEffect)
        metric = registry.metrics[effect.metric].item
        out.append(
            Reason(
                rule=goal.rule.rule.id,
                kind="goal",
                title=goal.rule.rule.title,
                text=goal.rule.rule.because,
                points=round(float(scores.points_of(goal)[0]), 2),
                most_points=round(float(scores.most_of(goal)[0]), 2),
                metric=metric.id,
                value=_value(goal.value[0]),
                unit=metric.unit.value,
                of_usual=None if goal.of_usual is None else _value(goal.of_usual[0]),
                basis=goal.rule.rule.basis,
                pack=goal.rule.pack,
            )
        )
    for lean in scores.leans:
        points = float(lean.points[0])
        if points:
            out.append(
                Reason(
                    rule=lean.rule.rule.id,
                    kind="lean",
                    title=lean.rule.rule.title,
                    text=lean.rule.rule.because,
                    points=round(points, 2),
                    most_points=round(max(points, 0.0), 2),
                    metric=None,
                    value=None,
                    unit=None,
                    basis=lean.rule.rule.basis,
                    pack=lean.rule.pack,
                )
            )
    return sorted(out, key=lambda r: (-r.points, -r.most_points))


def form(chosen: Chosen, registry: Registry) -> Form:
    """Why tip, swedge and taper are as they are."""
    points = chosen.scores.points
    others = [k for k, f in enumerate(chosen.forms) if k != chosen.row and not chosen.scores.broken_count[k]]
    best = max(others, key=lambda k: float(points[k]), default=None)
    behind = None if best is None else f"{chosen.forms[best]} ({points[chosen.row] - points[best]:.1f} points behind)"
    return Form(
        tried=len(chosen.forms),
        points=round(float(points[chosen.row]), 2),
        reasons=reasons(chosen.scores.of(chosen.row), registry),
        next=behind,
    )


def served(best: Best, case: Case, found: Sequence[Cost]) -> dict[str, Served]:
    """How well each task is served by what its own goals ask, its share of the work apart; `found` by `costs`."""
    out = {}
    for task in sorted(case.resolved.task_ids):
        goals = own_goals(best.measured, case.rules, task)
        weight = sum(float(goal.weight[0]) for goal in goals)
        if weight <= 0:
            continue
        met = sum(float(goal.weight[0] * goal.reached[0]) for goal in goals) / weight
        essentials = case.knowledge.tasks[task].essentials
        needed = [
            (goal.rule.rule.title, float(goal.reached[0]))
            for goal in goals
            if isinstance(goal.rule.rule.effect, GoalEffect) and goal.rule.rule.effect.metric in essentials
        ]
        failed = [cost.title for cost in found if cost.task == task and cost.met < AS_GOOD_AS_MET]
        out[task] = verdict(max(met, 0.0), needed, failed)
    return out


def words(
    kind: Literal["caution", "advice"], best: Best | None, case: Case, chosen: Chosen | None = None
) -> list[Words]:
    """Cautions or advice that fire: for a proposal, or for the brief alone when nothing fits."""
    shared = {**case.rules.weighty_facts, **(chosen.facts if chosen else {})}
    facts: Any = shared.get if best is None else CandidateFacts(shared, best.measured)
    out = [_unguarded(gone) for gone in case.knowledge.overruled if gone.unguarded] if kind == "caution" else []
    for loaded in case.knowledge.of_kind(kind):
        effect = loaded.rule.effect
        if best is None and is_always(loaded.rule.when):  # what holds for every blade is said of a blade
            continue
        if isinstance(effect, WordsEffect) and bool(np.all(fires(loaded.rule.when, facts))):
            specific = bool(fields_of(loaded.rule.when) - _GENERAL)
            own = {"id": loaded.rule.id, "text": effect.text, "audience": effect.audience, "specific": specific}
            if isinstance(effect, CautionEffect):
                own |= {"short": effect.short, "forbids": effect.forbids}
            if isinstance(effect, AdviceEffect):
                own |= {"choosing": effect.choosing}
            out.append(Words.model_validate({**own, "pack": loaded.pack}))
    return sorted(out, key=lambda w: not w.specific)


def _unguarded(gone: Overruled) -> Words:
    """That a rule which guards people is switched off: said with every answer."""
    rule = gone.rule
    assert rule is not None
    lost = rule.short if isinstance(rule, Limit) else getattr(rule.effect, "short", None)
    why = f" Its reason: {gone.because}" if gone.because else " It gives no reason."
    return Words(
        id=gone.id,
        pack=gone.by,
        text=f"Pack {gone.by} switches off “{rule.title}”, which guards people.{why} {lost or ''}".rstrip(),
        audience="everyone",
        specific=True,
        short=f"Pack {gone.by} switches off a rule that guards people: {gone.id}."[:MOST_SHORT],
    )


def costs(scores: Scores, case: Case) -> list[Cost]:
    """Demands of tasks that one blade fails, and what each costs, the dearest first."""
    labels = {load.task.id: load.task.label for load in case.resolved.tasks}
    out = []
    for limit, cost in zip(scores.limits, scores.costs, strict=True):
        effect = limit.rule.rule.effect
        assert isinstance(effect, LimitEffect)
        together = sum(float(part[0]) for part in limit.short.values())
        metric = case.registry.metrics[effect.metric].item if effect.metric else None
        for task, part in limit.short.items():
            share, failed = float(scores.shares[task][0]), float(part[0])
            if failed <= 0:
                continue
            value = limit.value[0] if limit.value.dtype.kind == "f" and np.isfinite(limit.value[0]) else None
            out.append(
                Cost(
                    rule=limit.rule.rule.id,
                    title=limit.rule.rule.title,
                    task=task,
                    task_label=labels[task],
                    share=round(share, 4),
                    met=round(1 - failed / share, 3),
                    value=None if value is None else round(float(value), 6),
                    bound=effect.min if effect.min is not None else effect.max,
                    unit=metric.unit.value if metric else "",
                    points=-round(float(cost[0]) * failed / together, 2),
                    instead=effect.instead or "",
                    pack=limit.rule.pack,
                )
            )
    return sorted(out, key=lambda each: each.points)


def failed_demands(found: Iterable[Cost]) -> list[Words]:
    """A caution for each task of which a blade fails a demand, by the demand that it meets least."""
    by_task: dict[str, list[Cost]] = {}
    for cost in found:
        if cost.met < AS_GOOD_AS_MET:
            by_task.setdefault(cost.task, []).append(cost)
    out = []
    for failed in by_task.values():
        cost = min(failed, key=lambda each: each.met)
        words = next((each.instead for each in failed if each.instead), "")
        instead = f"; {words}" if words else ""
        short = f"Not for {cost.task_label}: it meets {100 * cost.met:.0f} % of what that asks{instead}."
        text = f"{short} It falls short of “{cost.title}”; {cost.task_label} is {100 * cost.share:.0f} % of the work."
        out.append(Words(id=cost.rule, text=text, audience="everyone", specific=True, short=short, pack=cost.pack))
    return out


def limits_that_may_break(found: Iterable[MayBreak], case: Case) -> list[Words]:
    """A caution for each limit that guards people and that a blade breaks in a good part of the draws."""
    out = []
    for each in found:
        if not each.safety:
            continue
        short = f"May fail, by numbers that cannot be ruled out: “{each.title}”."
        some = 0 < len(each.tasks) < len(case.resolved.tasks)
        of_tasks = f" It is asked for {' and '.join(each.tasks)}." if some else ""
        text = f"{short}{of_tasks} {case.knowledge.rules[each.rule].rule.because}"
        out.append(
            Words(
                id=each.rule,
                text=text,
                audience="everyone",
                specific=True,
                short=short,
                in_draws=each.share,
                pack=each.pack,
            )
        )
    return out


_GENERAL = frozenset({"brief.tasks", "brief.owner.gear", "design.apex_included_deg"})
"""Fields that hold for any blade of a task or gear; a rule on others speaks of this blade, steel or owner."""


DECIDING = 2
"""Things that are told of why another grind falls behind: the heaviest."""


def alternative(other: Best, winner: Best, case: Case, form: BladeForm | None) -> Alternative:
    """The best of another grind against the proposal: goals lost, goals gained, and a sentence."""
    design = proposal(other, case.resolved, form)
    lost = _differences(winner, other, case.registry)
    gained = [g for g in lost if g.points < -0.05]
    lost = [g for g in lost if g.points > 0.05]
    behind = winner.points - other.points
    leans = _lean_gaps(winner, other)
    counts = [
        (g.points, f"{g.title.lower()} ({_shown(g.alternative, g.unit)} against {_shown(g.proposal, g.unit)})")
        for g in lost
    ]
    counts += [(-gap.points, gap.title.lower()) for gap in leans if gap.points < -0.05]
    parts = [words for _, words in sorted(counts, key=lambda count: -count[0])[:DECIDING]]
    if behind < -EQUAL_POINTS:
        why = f"{-behind:.1f} points ahead, but the brief wishes for {winner.grind.item.label}"
    elif behind < EQUAL_POINTS:
        why = "just as good within half a point: the maker may choose"
    else:
        why = f"{behind:.1f} points behind" + (": " + "; ".join(parts) if parts else "")
    return Alternative(
        grind=design.grind,
        grind_label=design.grind_label,
        points=round(other.points, 2),
        behind=round(behind, 2),
        proposal=design,
        lost=lost,
        gained=gained,
        leans=leans,
        shut_out=[],
        why_not=why,
    )


def _lean_gaps(winner: Best, other: Best) -> list[LeanGap]:
    """Leans that speak differently of two blades; a lean that only helps the winner counts against the other."""
    ours = {lean.rule.rule.id: lean for lean in winner.scores.leans}
    theirs = {lean.rule.rule.id: lean for lean in other.scores.leans}
    out = []
    for key in {**ours, **theirs}:
        gap = float(theirs[key].points[0] if key in theirs else 0.0) - float(
            ours[key].points[0] if key in ours else 0.0
        )
        if gap:
            rule = (theirs.get(key) or ours[key]).rule.rule
            title = rule.title if key in theirs and theirs[key].points[0] else f"not “{rule.title.lower()}”"
            out.append(LeanGap(rule=key, title=title, points=round(gap, 2)))
    return sorted(out, key=lambda gap: gap.points)


def _shown(value: float | None, unit: str) -> str:
    return "does not get there" if value is None else show(value, Unit(unit))


def _differences(winner: Best, other: Best, registry: Registry) -> list[Lost]:
    theirs = {g.rule.rule.id: g for g in other.scores.goals}
    out = []
    for goal in winner.scores.goals:
        effect = goal.rule.rule.effect
        assert isinstance(effect, GoalEffect)
        match = theirs.get(goal.rule.rule.id)
        points = float(winner.scores.points_of(goal)[0])
        if match is not None:
            points -= float(other.scores.points_of(match)[0])
        out.append(
            Lost(
                rule=goal.rule.rule.id,
                title=goal.rule.rule.title,
                points=round(points, 2),
                metric=effect.metric,
                unit=registry.metrics[effect.metric].item.unit.value,
                proposal=_value(goal.value[0]),
                alternative=None if match is None else _value(match.value[0]),
            )
        )
    return sorted(out, key=lambda g: -g.points)


def shut_out_alternative(found: Field) -> Alternative:
    """A grind of which nothing passes: what shuts it out."""
    shut = _shut_out(found)
    return Alternative(
        grind=found.grind.item.id,
        grind_label=found.grind.item.label,
        points=None,
        behind=None,
        proposal=None,
        lost=[],
        gained=[],
        leans=[],
        shut_out=shut,
        why_not=_shut_out_words(shut) if shut else "nothing of it passes at shop steps",
    )


def _shut_out_words(shut: list[ShutOut]) -> str:
    first = shut[:2]
    if first[0].kind == "limit":
        return "shut out by " + " and ".join(f"the limit “{s.reason}”" for s in first if s.kind == "limit")
    return "cannot be made: " + "; ".join(s.reason for s in first)


def _shut_out(found: Field) -> list[ShutOut]:
    out = [
        ShutOut(
            kind="workshop or wish", rule=None, reason=b.reason, candidates=b.count, alone=0, nearest=None, excess=None
        )
        for b in found.blocked
    ]
    if found.scores is not None:
        for limit in found.scores.limits:
            if not limit.broken.any():
                continue
            alone = limit.broken & (found.scores.broken_count == 1)
            out.append(
                ShutOut(
                    kind="limit",
                    rule=limit.rule.rule.id,
                    pack=limit.rule.pack,
                    reason=limit.rule.rule.title,
                    candidates=int(limit.broken.sum()),
                    alone=int(alone.sum()),
                    **_nearest(limit, alone, found),
                )
            )
        # Once some candidates can be made, what shut those out says more than what shut the rest out.
        measured = [s for s in out if s.kind == "limit"]
        if measured:
            return sorted(measured, key=lambda s: (-s.alone, -s.candidates))
    return sorted(out, key=lambda s: -s.candidates)


def _nearest(limit: LimitScore, alone: Any, found: Field) -> dict[str, Any]:
    """The candidate that only this limit shuts out and that breaks it least: in words, and by how much."""
    nothing = {"nearest": None, "excess": None}
    effect = limit.rule.rule.effect
    assert isinstance(effect, LimitEffect)
    rows = np.flatnonzero(alone & np.isfinite(limit.excess))
    if not rows.size or effect.in_ is not None:
        return nothing
    row = rows[np.argmin(limit.excess[rows])]
    value = float(limit.value[row])
    bound = effect.min if effect.min is not None and value < effect.min else effect.max
    name = str(effect.field).removeprefix("derived.").replace("_", " ")
    if effect.metric and found.measured is not None:
        name = found.measured.registry.metrics[effect.metric].item.label
    return {"nearest": f"{name} {value:.3g} instead of {bound:g}", "excess": float(limit.excess[row])}


def _nearer(one: ShutOut, other: ShutOut) -> dict[str, Any]:
    both = [s for s in (one, other) if s.excess is not None]
    best = min(both, key=lambda s: s.excess or 0.0, default=one)
    return {"nearest": best.nearest, "excess": best.excess}


def blocked(fields: list[Field]) -> list[ShutOut]:
    """What shuts every candidate out, merged over the grinds in question; what acts alone first."""
    merged: dict[str, ShutOut] = {}
    for found in fields:
        for shut in _shut_out(found):
            key = shut.rule or shut.reason
            if key in merged:
                old = merged[key]
                shut = shut.model_copy(
                    update={
                        "candidates": old.candidates + shut.candidates,
                        "alone": old.alone + shut.alone,
                        **_nearer(old, shut),
                    }
                )
            merged[key] = shut
    return sorted(merged.values(), key=lambda s: (-s.alone, -s.candidates))


def limit_relaxations(fields: list[Field]) -> list[str]:
    """For each limit that alone shuts candidates out: how far it would have to give."""
    return [
        f"the limit “{s.reason}”: " + (f"it would take {s.nearest}" if s.nearest else "it would have to be given up")
        for s in blocked(fields)
        if s.kind == "limit" and s.alone
    ]
