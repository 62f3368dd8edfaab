"""A blade that is already there: what it suits, and which regrind would bring the most."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from recommender.engine.answer.explain import costs, proposal, served
from recommender.engine.answer.recommend import surveyed
from recommender.engine.intake.case import Case
from recommender.engine.search.candidates import LINE_SHARE, can_be_made, complete_designs, fixed_columns
from recommender.engine.search.measuring import Measured
from recommender.engine.search.ranking import Best, Field, joined_designs, snapped
from recommender.engine.search.scoring import score
from recommender.geometry.arcs import Array
from recommender.geometry.outline import Outline, Sides
from recommender.geometry.profile import faces_at
from recommender.models.answer.proposal import Cost, Proposal
from recommender.models.answer.served import Served, verdict
from recommender.plugin.api import Designs, Grind, Workshop
from recommender.plugin.guard import Registered

BACKS_MM = (0.0, 1.0, 2.0, 3.0)
"""How far a regrind may set the edge back to gain steel to work with."""
INSIDE_MM = 0.02
"""A new face may lie so far outside the old one: no caliper sees it."""
LEVELS = 24
_TOP = 64
_ANGLES = np.arange(8.0, 31.0)
_EDGES = np.arange(0.1, 1.55, 0.05)


@dataclass(frozen=True)
class Suit:
    """How a blade serves one task: as in an answer, and the limits it breaks there, by title."""

    task: str
    label: str
    served: Served
    breaks: tuple[str, ...]

    @property
    def fit(self) -> float:
        """How much of what the task asks is met, 0..1."""
        return self.served.met

    @property
    def verdict(self) -> str:
        """well, fairly or poorly."""
        return "poorly" if self.breaks else self.served.verdict


@dataclass(frozen=True)
class Regrind:
    """A blade that could be ground from the one in hand, and what it brings."""

    proposal: Proposal
    back_mm: float
    """How far the edge is set back first."""
    points: float
    gain: float
    """Points more than the blade has as it is."""


@dataclass(frozen=True)
class Regrinds:
    """What the blade is worth for some tasks, and what regrinding it would bring; the best of each grind first,
    with and without setting the edge back."""

    tasks: dict[str, float]
    points: float
    breaks: tuple[str, ...]
    costs: tuple[Cost, ...]
    """Demands of tasks of less than half of the work that the blade fails as it is, and what they cost."""
    options: tuple[Regrind, ...]


def suits(
    case_for: Callable[[str], Case], tasks: Sequence[str], grind: Registered[Grind], designs: Designs
) -> list[Suit]:
    """How a design serves each task alone, best first; `case_for` gives the case of a task for this blade."""
    out = []
    for task in tasks:
        case = case_for(task)
        best = _as_it_is(case, grind, designs)
        if best is None:
            continue
        of_task = served(best, case, costs(best.scores, case)).get(task, verdict(0.0))
        out.append(Suit(task, case.knowledge.tasks[task].label, of_task, _broken(best)))
    return sorted(out, key=lambda s: (s.verdict == "poorly", bool(s.breaks), -s.fit))


def _as_it_is(case: Case, grind: Registered[Grind], designs: Designs) -> Best | None:
    measured = Measured.of(grind, designs, case.resolved.context(grind.item), case.registry)
    return None if measured is None else Best(grind, measured, score(measured, case.rules))


def _broken(best: Best) -> tuple[str, ...]:
    return tuple(limit.rule.rule.title for limit in best.scores.limits if limit.broken[0])


def regrinds(case_at: Callable[[float], Case], grind: Registered[Grind], designs: Designs) -> Regrinds:
    """The best blade of each grind that lies inside the one in hand; `case_at` gives the case for a blade height, mm.

    Steel only comes off: both faces of the new section must lie inside the old ones, its edge set back by 0 to 3 mm
    on the same plane. Candidates are those of an ordinary survey on this stock, and new edges on the old faces.
    """
    height = float(designs["height_mm"][0])
    now = case_at(height)
    best = _as_it_is(now, grind, designs)
    old = Sides.of(grind.item.outlines(designs))
    found: dict[tuple[str, bool], Regrind] = {}
    points = best.points if best is not None else 0.0
    for back in BACKS_MM:
        if height - back < height / 2:
            continue
        case = case_at(height - back)
        for field in surveyed(case):
            option = _best_inside(field, case, old, back)
            extra = _new_edge(case, grind, designs, old, back) if field.grind.item.id == grind.item.id else None
            for one in (option, extra):
                key = field.grind.item.id, back > 0
                if one is not None and (key not in found or one.points > found[key].points + 0.1):
                    shown = proposal(one, case.resolved)
                    found[key] = Regrind(shown, back, round(one.points, 2), round(one.points - points, 2))
    shares = {load.task.id: round(float(load.share), 3) for load in now.resolved.tasks}
    options = tuple(sorted(found.values(), key=lambda r: -r.points))
    failed = () if best is None else tuple(costs(best.scores, now))
    return Regrinds(shares, round(points, 2), _broken(best) if best is not None else (), failed, options)


def _best_inside(field: Field, case: Case, old: Sides, back_mm: float) -> Best | None:
    if field.measured is None or field.scores is None:
        return None
    ok = field.scores.broken_count == 0
    ok[ok] = _inside(field.measured.sections.outlines[ok], old, back_mm)
    rows = np.flatnonzero(ok)
    if not rows.size:
        return None
    top = rows[np.argsort(-field.scores.points[rows], kind="stable")[:_TOP]]
    designs = field.measured.designs.taking(top)
    at_steps = _best_of(case, field.grind, snapped(field.grind.item, designs, case.resolved), old, back_mm)
    return at_steps if at_steps is not None else _best_of(case, field.grind, designs, old, back_mm)


def _new_edge(case: Case, grind: Registered[Grind], designs: Designs, old: Sides, back_mm: float) -> Best | None:
    """The same faces with another edge: every angle and thickness that the old profile allows."""
    if grind.item.parameter("edge_thickness_mm") is None:
        return _new_facet(case, grind, designs, old, back_mm)
    angle, edge = (grid.ravel() for grid in np.meshgrid(_ANGLES, _EDGES))
    height = float(case.resolved.brief.blade.height_mm or 0.0)
    line = float(designs["grind_line_mm"][0]) - back_mm
    tried = designs.taking(np.zeros(len(angle), dtype=int)).changed(
        edge_angle_per_side_deg=angle, edge_thickness_mm=edge, height_mm=height
    )
    if grind.item.parameter(LINE_SHARE) is not None:
        tried = tried.changed(**{LINE_SHARE: line / height})
    # A new edge takes no wheel: the old faces stay as they are.
    shop = Workshop(tuple(designs["wheel_diameter_mm"].tolist()), True, True)
    return _best_of(case, grind, tried, old, back_mm, shop)


def _new_facet(case: Case, grind: Registered[Grind], designs: Designs, old: Sides, back_mm: float) -> Best | None:
    """The same faces, ground to zero, with what the grind offers at the very edge: a micro-bevel, say."""
    options = [(p.name, option) for p in grind.item.parameters for option in p.choices]
    if not options or back_mm:
        return None
    tried = [designs.changed(**{name: option}) for name, option in options]
    return _best_of(case, grind, joined_designs(tried), old, back_mm)


def _best_of(
    case: Case, grind: Registered[Grind], designs: Designs, old: Sides, back_mm: float, shop: Workshop | None = None
) -> Best | None:
    """The best of some designs that can be made from the old blade and pass every limit."""
    doing = f"checking {grind.item.id}"
    fixed = fixed_columns(case.resolved)

    def made() -> Designs:
        whole = complete_designs(grind.item, designs, fixed)
        return whole.taking(can_be_made(grind.item, whole, shop or case.resolved.workshop, fixed))

    some = case.registry.call(grind.origin, doing, made)
    if some is None or not len(some):
        return None
    measured = Measured.of(grind, some, case.resolved.context(grind.item), case.registry)
    if measured is None:
        return None
    scores = score(measured, case.rules)
    ok = (scores.broken_count == 0) & _inside(measured.sections.outlines, old, back_mm)
    if not ok.any():
        return None
    row = int(np.argmax(np.where(ok, scores.points, -np.inf)))
    return Best(grind, measured.taking(np.array([row]), measured.context), scores.of(row))


def _inside(outlines: Outline, old: Sides, back_mm: float) -> npt.NDArray[np.bool_]:
    """Which sections lie inside the old one with their edge `back_mm` up it, (n,)."""
    sides = Sides.of(outlines)
    top = outlines[..., 1].max(axis=1)
    share = np.linspace(0.02, 0.999, LEVELS) ** 1.5  # closer near the edge, where it is thin
    # Corners are where one profile pokes out of the other.
    corners = np.concatenate([outlines[..., 1], np.broadcast_to(old.y0 - back_mm, (len(top), old.y0.shape[1]))], axis=1)
    corners = np.clip(corners, 0.01, 0.999 * top[:, None])
    heights = np.concatenate([top[:, None] * share, corners, corners * 0.999], axis=1)
    left, right = faces_at(sides, heights)
    there: Array = heights + back_mm
    tall = np.minimum(there, float(old.y0.max()) * (1 - 1e-9))
    old_left, old_right = (np.asarray(v)[0] for v in faces_at(old, tall.reshape(1, -1)))
    shape = heights.shape
    inside = (right <= old_right.reshape(shape) + INSIDE_MM) & (left >= old_left.reshape(shape) - INSIDE_MM)
    return np.asarray(inside.all(axis=1))
