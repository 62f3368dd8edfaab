"""The best design of each grind: from thousands of candidates down to shop steps."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from recommender.engine.intake.case import Case
from recommender.engine.intake.resolve import Resolved, parameter_range
from recommender.engine.search.candidates import (
    MICRO_BEVEL,
    Blocked,
    choices,
    complete_designs,
    filter_feasible,
    fixed_columns,
    sample,
    step_of,
)
from recommender.engine.search.measuring import Measured
from recommender.engine.search.scoring import Scores, score
from recommender.geometry.arcs import Scalars
from recommender.plugin.api import Context, Designs, Grind, Parameter
from recommender.plugin.guard import Registered

TIE_POINTS = 0.25
"""Closer than this, points tell nothing apart; the grind with fewer knobs then leads."""
REACH = np.array([-4, -2, -1, 1, 2, 4])
"""Shop steps along a knob that a walk tries."""
NEAR = np.array([-1, 1])
"""Shop steps along a knob that are tried where nothing at shop steps passes."""
_FINER_DEG = np.arange(0.0, 11.0, 0.5)
"""By how much the bevel behind a micro-bevel may be finer than the edge without one; the most that it stands steeper
and a step."""
ROUNDS = 12
"""Steps of a walk uphill at most."""
_STARTS = 48
SECOND_LOOK_POINTS = 2.0
"""Grinds this close to the first are looked at again from other places: others hardly ever come to lead."""
WORTH_POINTS = 0.1
"""A step that gains less ends a second walk."""
FAR = 0.25
"""Of a knob's range: from so far away a walk may end on another hill."""


@dataclass
class Field:
    """All candidates of one grind, measured and scored."""

    grind: Registered[Grind]
    tried: int
    blocked: list[Blocked]
    measured: Measured | None = None
    scores: Scores | None = None
    feasible: int = 0


@dataclass
class Best:
    """The best design of one grind at shop steps: a batch of one, measured and scored."""

    grind: Registered[Grind]
    measured: Measured
    scores: Scores
    points: float = field(init=False)

    def __post_init__(self) -> None:
        self.points = float(self.scores.points[0])


def count_feasible(grind: Registered[Grind], case: Case, n: int) -> int:
    """How many of n designs of a grind can be made: sampling and sieving only."""

    def count() -> int:
        return int(filter_feasible(grind.item, sample(grind.item, case.resolved, n), case.resolved)[0].sum())

    return case.registry.call(grind.origin, f"checking {grind.item.id}", count) or 0


def survey(grinds: Sequence[Registered[Grind]], case: Case, n: int) -> list[Field]:
    """Sample, sieve, measure and score grinds, n candidates each.

    Those of grinds with two alike faces are one batch, all others another: half of a symmetric section is measured.
    """
    fields = [Field(grind, n, []) for grind in grinds]
    alike: list[tuple[Field, Measured]] = []
    others: list[tuple[Field, Measured]] = []
    for found in fields:
        measured = _sampled(found, case)
        if measured is not None:
            (alike if measured.sections.sides.right_face is not None else others).append((found, measured))
    for batch in filter(None, (alike, others)):
        joined = Measured.joined([measured for _, measured in batch])
        scores, start = score(joined, case.rules), 0
        for found, measured in batch:
            rows = np.arange(start, start + len(measured))
            start += len(measured)
            measured.take_over(joined, rows)
            found.measured, found.scores = measured, scores.alone(rows)
            found.feasible = int((found.scores.broken_count == 0).sum())
    return fields


def _sampled(found: Field, case: Case) -> Measured | None:
    """The candidates of a grind that can be made; what becomes of the others stands in the field."""
    grind, resolved, registry = found.grind, case.resolved, case.registry
    family = grind.item
    designs = registry.call(grind.origin, f"sampling {family.id}", sample, family, resolved, found.tried)
    if designs is None:
        found.tried, found.blocked = 0, [Blocked("its plug-in failed", found.tried)]
        return None
    outcome = registry.call(grind.origin, f"checking {family.id}", filter_feasible, family, designs, resolved)
    if outcome is None:
        found.blocked = [Blocked("its plug-in failed", found.tried)]
        return None
    ok, found.blocked = outcome
    return Measured.of(grind, designs.taking(ok), resolved.context(family), registry) if ok.any() else None


def bests_of(fields: list[Field], case: Case) -> list[Best]:
    """Refine each grind's best candidates to shop steps; grinds of which nothing there passes every limit are left out.

    Snaps the best few candidates, then walks along one or two knobs at a time while points rise; of the grinds that may
    lead again from far away. All grinds walk side by side, so that a round costs one batch.
    """
    climbs = [_Climb(f, designs) for f in fields if (designs := starts(f)) is not None]
    _evaluate(climbs, [snapped(c.family, c.starts, case.resolved) for c in climbs], case)
    missed = [c for c in climbs if c.best is None]
    _evaluate(missed, [around(c.family, c.starts, case.resolved, NEAR) for c in missed], case)
    _walk_up([c for c in climbs if c.best is not None], case)
    _look_again([c for c in climbs if c.best is not None], case)
    climbing = [c for c in climbs if c.best is not None and takes_micro_bevel(c.family, case.resolved)]
    before = [c.points for c in climbing]
    batches = [other_apex(c.best.measured.designs) for c in climbing if c.best]
    _evaluate(climbing, batches, case, by=TIE_POINTS)
    _walk_up([c for c, points in zip(climbing, before, strict=True) if c.points > points], case)
    return [c.best for c in climbs if c.best is not None]


def _walk_up(climbing: list[_Climb], case: Case, *, worth: float = 1e-9) -> None:
    """Walk side by side along one or two knobs at a time while points rise by what is worth a step."""
    for _ in range(ROUNDS):
        if not climbing:
            break
        before = [c.points for c in climbing]
        batches = [around(c.family, c.best.measured.designs, case.resolved, REACH) for c in climbing if c.best]
        _evaluate(climbing, batches, case)
        climbing = [c for c, points in zip(climbing, before, strict=True) if c.points > points + worth]


def _look_again(climbs: list[_Climb], case: Case) -> None:
    """Walk up from another place in the grinds that may lead: points have several hills, as of thick and thin bars.

    A blade from elsewhere is taken where it is better by what tells two apart.
    """
    ahead, wish = max((c.points for c in climbs), default=-np.inf), case.resolved.brief.wishes.grind
    close = [c for c in climbs if c.points > ahead - SECOND_LOOK_POINTS or c.family.id == wish]
    far = [(climb, designs) for climb in close if (designs := _far_start(climb, case.resolved)) is not None]
    again = [_Climb(climb.field, designs) for climb, designs in far]
    _evaluate(again, [snapped(c.family, c.starts, case.resolved) for c in again], case)
    _walk_up([c for c in again if c.best is not None], case, worth=WORTH_POINTS)
    for (climb, _), other in zip(far, again, strict=True):
        if other.points > climb.points + TIE_POINTS:
            climb.best = other.best


def _far_start(climb: _Climb, resolved: Resolved) -> Designs | None:
    """The best candidate far from where a walk ended; None where none passes every limit."""
    found, scores = climb.field.measured, climb.field.scores
    assert climb.best is not None
    assert found is not None
    assert scores is not None
    far = _is_far(climb.family, found.designs, climb.best.measured.designs, resolved)
    points = np.where(far & (scores.broken_count == 0), scores.points, -np.inf)
    row = int(np.argmax(points))
    return found.designs.taking(np.array([row])) if np.isfinite(points[row]) else None


def _is_far(grind: Grind, designs: Designs, near: Designs, resolved: Resolved) -> npt.NDArray[np.bool_]:
    """Which designs differ from one by FAR of a knob's range or more, (n,)."""
    far = np.zeros(len(designs), dtype=bool)
    for parameter in grind.parameters:
        if step_of(parameter, resolved) and not choices(parameter, resolved):
            low, high = parameter_range(parameter, grind, resolved)
            far |= np.abs(designs[parameter.name] - near[parameter.name][0]) > FAR * (high - low) + 1e-9
    return far


def other_apex(designs: Designs) -> Designs:
    """One design with a micro-bevel where it has none, or without: the bevel behind it that much finer, or steeper.

    A micro-bevel put on an edge makes its apex steeper; what it may win is a finer bevel behind as steep an apex.
    """
    has = designs[MICRO_BEVEL][0] == "yes"
    angle = designs["edge_angle_per_side_deg"] + (_FINER_DEG if has else -_FINER_DEG)
    one = designs.taking(np.zeros(len(_FINER_DEG), dtype=int))
    return one.changed(**{MICRO_BEVEL: "no" if has else "yes", "edge_angle_per_side_deg": np.maximum(angle, 1.0)})


def takes_micro_bevel(grind: Grind, resolved: Resolved) -> bool:
    """Whether a micro-bevel may be put on a grind or left off."""
    return MICRO_BEVEL not in fixed_columns(resolved) and grind.parameter(MICRO_BEVEL) is not None


def starts(found: Field) -> Designs | None:
    """The best candidates that pass every limit, of which a search goes on; None where none does."""
    if found.measured is None or found.scores is None or not found.feasible:
        return None
    allowed = np.where(found.scores.broken_count == 0, found.scores.points, -np.inf)
    order = np.argsort(-allowed, kind="stable")[:_STARTS]
    return found.measured.designs.taking(order[np.isfinite(allowed[order])])


class _Climb:
    """One grind on its way up."""

    def __init__(self, found: Field, designs: Designs) -> None:
        assert found.measured is not None
        self.field = found
        self.grind = found.grind
        self.family = found.grind.item
        self.context = found.measured.context
        self.starts = designs
        self.best: Best | None = None

    @property
    def points(self) -> float:
        return self.best.points if self.best is not None else -np.inf


def _evaluate(climbs: list[_Climb], batches: list[Designs], case: Case, *, by: float = 0.0) -> None:
    """Give each climb the best of its designs that can be made and passes every limit, where it beats its best.

    `by` so many points at least.
    """
    drawn = []
    for climb, designs in zip(climbs, batches, strict=True):
        measured = _makeable_of(climb.grind, designs, climb.context, case)
        if measured is not None:
            drawn.append((climb, measured))
    if not drawn:
        return
    joined = Measured.joined([m for _, m in drawn])
    scores = score(joined, case.rules)
    points = np.where(scores.broken_count == 0, scores.points, -np.inf)
    start = 0
    for climb, part in drawn:
        row = start + int(np.argmax(points[start : start + len(part)]))
        start += len(part)
        if points[row] > climb.points + by:
            climb.best = Best(climb.grind, joined.taking(np.array([row]), climb.context), scores.of(row))


def completed(grind: Registered[Grind], designs: Designs, case: Case) -> tuple[Designs, npt.NDArray[np.bool_]] | None:
    """Designs as brief and grind complete them, and which of them can be made, (n,); None when the plug-in fails."""
    family, resolved, call = grind.item, case.resolved, case.registry.call
    doing, origin = f"checking {family.id}", grind.origin
    whole = call(origin, doing, complete_designs, family, designs, fixed_columns(resolved))
    outcome = None if whole is None else call(origin, doing, filter_feasible, family, whole, resolved)
    return None if whole is None or outcome is None else (whole, outcome[0])


def _makeable_of(grind: Registered[Grind], designs: Designs, context: Context, case: Case) -> Measured | None:
    made = completed(grind, designs, case)
    if made is None or not made[1].any():
        return None
    return Measured.of(grind, made[0].taking(made[1]), context, case.registry)


def neighbours(best: Best, case: Case) -> Measured | None:
    """A best design, first, and those a shop step or two beside it that can be made; None when its plug-in fails."""
    designs = around(best.grind.item, best.measured.designs, case.resolved, REACH)
    return _makeable_of(best.grind, designs, best.measured.context, case)


def _snap(values: np.ndarray, step: float, low: Scalars, high: Scalars) -> np.ndarray:
    first, last = np.ceil(low / step - 1e-9) * step, np.floor(high / step + 1e-9) * step
    return np.clip(np.round(values / step) * step, first, np.maximum(last, first))


def snapped(
    grind: Grind, designs: Designs, resolved: Resolved, stock_mm: tuple[Scalars, Scalars] | None = None
) -> Designs:
    """The nearest designs at shop steps."""
    fixed = fixed_columns(resolved)
    columns = {}
    for parameter in grind.parameters:
        step = step_of(parameter, resolved)
        if parameter.name in fixed or choices(parameter, resolved) or not step:
            continue
        low, high = _range(parameter, grind, resolved, stock_mm)
        columns[parameter.name] = _snap(designs[parameter.name], step, low, high)
    return designs.changed(**columns)


def around(
    grind: Grind,
    designs: Designs,
    resolved: Resolved,
    reach: np.ndarray,
    stock_mm: tuple[Scalars, Scalars] | None = None,
    *,
    together: bool = True,
) -> Designs:
    """Designs (n,) as they are, then all moved along one knob, then along every two `together`, in shop steps.

    One move after the other, n designs each. `stock_mm` is the range of stock where it differs from row to row, each
    (n,).
    """
    base = snapped(grind, designs, resolved, stock_mm)
    fixed = fixed_columns(resolved)
    chosen: list[tuple[str, str | float]] = []
    steps: dict[str, tuple[Parameter, float]] = {}
    for parameter in grind.parameters:
        if parameter.name not in fixed and not parameter.refined_only:
            options = choices(parameter, resolved)
            chosen += [(parameter.name, option) for option in options]
            step = step_of(parameter, resolved)
            if step and not options:
                steps[parameter.name] = parameter, step
    single = [{name: int(k)} for name in steps for k in reach]
    twos = itertools.combinations(steps, 2) if together else ()
    pairs = [{a: k, b: m} for a, b in twos for k in (-1, 1) for m in (-1, 1)]
    moves: list[dict[str, int]] = [{}, *({} for _ in chosen), *single, *pairs]
    n, count = len(base), len(moves)
    columns: dict[str, np.ndarray] = {}
    for name, (parameter, step) in steps.items():
        by = np.array([move.get(name, 0) for move in moves])
        low, high = (np.broadcast_to(bound, (n,)) for bound in _range(parameter, grind, resolved, stock_mm))
        column = np.tile(base[name], (count, 1))
        some = by != 0
        column[some] = _snap(base[name] + step * by[some, None], step, low, high)
        columns[name] = column.ravel()
    for name in dict.fromkeys(name for name, _ in chosen):
        rows = [np.full(n, option) if of == name else base[name] for of, option in chosen]
        columns[name] = np.concatenate([base[name], *rows, *[base[name]] * (count - 1 - len(chosen))])
    return base.taking(np.tile(np.arange(n), count)).changed(**columns)


def _range(
    parameter: Parameter, grind: Grind, resolved: Resolved, stock_mm: tuple[Scalars, Scalars] | None
) -> tuple[Scalars, Scalars]:
    if stock_mm is not None and parameter.name == "stock_thickness_mm":
        return stock_mm
    return parameter_range(parameter, grind, resolved)


def joined_designs(parts: Iterable[Designs]) -> Designs:
    """One batch from several of the same grind."""
    batches = list(parts)
    return Designs({name: np.concatenate([b[name] for b in batches]) for name in batches[0].columns})
