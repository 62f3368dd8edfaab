"""The best design of each grind: from thousands of candidates down to shop steps."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from recommender.engine.candidates import Blocked, choices, fixed_columns, sample, settled, sieve, step_of
from recommender.engine.measuring import Measured
from recommender.engine.resolve import Resolved, parameter_range
from recommender.engine.scoring import Scores, score
from recommender.packs.knowledge import Knowledge
from recommender.plugin.api import Context, Designs, Grind, Parameter
from recommender.plugin.registry import Registry, Stamped

_REACH = (-4, -2, -1, 0, 1, 2, 4)
_ROUNDS = 12


@dataclass
class Field:
    """All candidates of one grind, measured and scored."""

    grind: Stamped[Grind]
    tried: int
    blocked: list[Blocked]
    measured: Measured | None = None
    scores: Scores | None = None
    feasible: int = 0


@dataclass
class Best:
    """The best design of one grind at shop steps: a batch of one, measured and scored."""

    grind: Stamped[Grind]
    measured: Measured
    scores: Scores
    points: float = field(init=False)

    def __post_init__(self) -> None:
        self.points = float(self.scores.points[0])


def makeable(grind: Stamped[Grind], resolved: Resolved, registry: Registry, n: int) -> int:
    """How many of n designs of a grind can be made: sampling and sieving only."""

    def count() -> int:
        return int(sieve(grind.item, sample(grind.item, resolved, n), resolved)[0].sum())

    return registry.call(grind.origin, f"checking {grind.item.id}", count) or 0


def survey(grind: Stamped[Grind], resolved: Resolved, knowledge: Knowledge, registry: Registry, n: int) -> Field:
    """Sample, sieve, measure and score one grind."""
    family = grind.item
    designs = registry.call(grind.origin, f"sampling {family.id}", sample, family, resolved, n)
    if designs is None:
        return Field(grind, 0, [Blocked("its plug-in failed", n)])
    outcome = registry.call(grind.origin, f"checking {family.id}", sieve, family, designs, resolved)
    if outcome is None:
        return Field(grind, n, [Blocked("its plug-in failed", n)])
    ok, blocked = outcome
    found = Field(grind, n, blocked)
    if ok.any():
        measured = Measured.of(grind, designs.taking(ok), resolved.context(family), registry)
        if measured is not None:
            found.measured = measured
            found.scores = score(measured, resolved, knowledge)
            found.feasible = int((found.scores.broken_count == 0).sum())
    return found


def best_of(found: Field, resolved: Resolved, knowledge: Knowledge, registry: Registry) -> Best | None:
    """Refine a grind's best candidates to shop steps; None when nothing at shop steps passes every limit.

    Snaps the best few candidates, then walks along one or two knobs at a time while points rise.
    """
    if found.measured is None or found.scores is None or not found.feasible:
        return None
    family, context = found.grind.item, found.measured.context
    allowed = np.where(found.scores.broken_count == 0, found.scores.points, -np.inf)
    order = np.argsort(-allowed, kind="stable")[:48]
    order = order[np.isfinite(allowed[order])]
    starts = found.measured.designs.taking(order)
    evaluate = _Evaluator(found.grind, resolved, knowledge, registry, context)
    best = evaluate.best(_snapped(family, starts, resolved))
    if best is None:
        best = evaluate.best(_joined(_around(family, starts, resolved, np.array([-1, 0, 1]))))
    if best is None:
        return None
    design, points = best
    for _ in range(_ROUNDS):
        moved = evaluate.best(_joined(_around(family, design, resolved, np.array(_REACH))))
        if moved is None or moved[1] <= points + 1e-9:
            break
        design, points = moved
    return evaluate.measured(design)


@dataclass
class _Evaluator:
    grind: Stamped[Grind]
    resolved: Resolved
    knowledge: Knowledge
    registry: Registry
    context: Context

    def best(self, designs: Designs) -> tuple[Designs, float] | None:
        """The best of some designs that can be made and passes every limit, with its points."""
        family = self.grind.item
        doing = f"checking {family.id}"
        origin = self.grind.origin
        whole = self.registry.call(origin, doing, settled, family, designs, fixed_columns(self.resolved))
        outcome = None if whole is None else self.registry.call(origin, doing, sieve, family, whole, self.resolved)
        if whole is None or outcome is None or not outcome[0].any():
            return None
        designs, ok = whole, outcome[0]
        measured = Measured.of(self.grind, designs.taking(ok), self.context, self.registry)
        if measured is None:
            return None
        scores = score(measured, self.resolved, self.knowledge)
        points = np.where(scores.broken_count == 0, scores.points, -np.inf)
        top = int(np.argmax(points))
        if not np.isfinite(points[top]):
            return None
        return measured.designs.taking(np.array([top])), float(points[top])

    def measured(self, designs: Designs) -> Best | None:
        """A design measured and scored."""
        measured = Measured.of(self.grind, designs, self.context, self.registry)
        return None if measured is None else Best(self.grind, measured, score(measured, self.resolved, self.knowledge))


def _snap(values: np.ndarray, step: float, low: float, high: float) -> np.ndarray:
    first, last = np.ceil(low / step - 1e-9) * step, np.floor(high / step + 1e-9) * step
    return np.clip(np.round(values / step) * step, first, max(last, first))


def _snapped(grind: Grind, designs: Designs, resolved: Resolved) -> Designs:
    fixed = fixed_columns(resolved)
    columns = {}
    for parameter in grind.parameters:
        step = step_of(parameter, resolved)
        if parameter.name in fixed or choices(parameter, resolved) or not step:
            continue
        low, high = parameter_range(parameter, resolved)
        columns[parameter.name] = _snap(designs[parameter.name], step, low, high)
    return designs.changed(**columns)


def _around(grind: Grind, designs: Designs, resolved: Resolved, reach: np.ndarray) -> Iterator[Designs]:
    """Each design as it is, moved along one knob, and along every two knobs together, in shop steps."""
    base = _snapped(grind, designs, resolved)
    yield base
    fixed = fixed_columns(resolved)
    moves = {}
    for parameter in grind.parameters:
        if parameter.name in fixed:
            continue
        options = choices(parameter, resolved)
        if options:
            for option in options:
                yield base.changed(**{parameter.name: np.asarray(option)})
            continue
        step = step_of(parameter, resolved)
        if step:
            moves[parameter.name] = (parameter, step)
    for parameter, step in moves.values():
        for k in reach:
            yield _moved(base, parameter, step * k, step, resolved)
    pairs = list(moves.values())
    for i, (first, first_step) in enumerate(pairs):
        for second, second_step in pairs[i + 1 :]:
            for k in (-1, 1):
                for m in (-1, 1):
                    once = _moved(base, first, first_step * k, first_step, resolved)
                    yield _moved(once, second, second_step * m, second_step, resolved)


def _moved(designs: Designs, parameter: Parameter, by: float, step: float, resolved: Resolved) -> Designs:
    low, high = parameter_range(parameter, resolved)
    return designs.changed(**{parameter.name: _snap(designs[parameter.name] + by, step, low, high)})


def _joined(parts: Iterator[Designs]) -> Designs:
    batches = list(parts)
    return Designs({name: np.concatenate([b[name] for b in batches]) for name in batches[0].columns})
