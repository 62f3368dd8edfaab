"""Candidates of several grinds measured as one batch are what they are one grind at a time."""

from __future__ import annotations

import numpy as np
import pytest

from recommender.engine.intake.case import Case
from recommender.engine.search.candidates import filter_feasible, sample
from recommender.engine.search.measuring import Measured
from recommender.engine.search.scoring import score
from recommender.geometry.profile import height_at_thickness
from recommender.models.brief import Brief
from recommender.plugin.api import Sections
from recommender.service import Service, with_settings

BRIEFS = [
    ["tasks.game-dressing=0.7", "tasks.pocket-carry=0.3", "steel.grade=1.4116", "owner.hand=left"],
    ["tasks.wood-splitting=0.8", "tasks.wood-carving=0.2", "owner.gear=belt-grinder"],
    ["tasks.food-prep=1", "owner.gear=pull-through"],
]


def _parts(case: Case) -> list[Measured]:
    parts = []
    for grind in case.registry.grinds.values():
        designs = sample(grind.item, case.resolved, 60)
        ok, _ = filter_feasible(grind.item, designs, case.resolved)
        measured = Measured.of(grind, designs.taking(ok), case.resolved.context(grind.item), case.registry)
        if measured is not None and ok.any():
            parts.append(measured)
    return parts


@pytest.mark.parametrize("settings", BRIEFS, ids=lambda s: s[0])
def test_joined_batches_measure_and_score_as_single_ones(service: Service, settings: list[str]) -> None:
    """Padding adds nothing: every metric and every point agrees to rounding."""
    case = service.briefs.case(with_settings(Brief(), settings))
    parts = _parts(case)
    assert len(parts) > 5
    joined = Measured.joined(parts)
    points, broken = score(joined, case.rules).points, score(joined, case.rules).broken_count
    start = 0
    for part in parts:
        rows = slice(start, start + len(part))
        start += len(part)
        alone = score(part, case.rules)
        assert np.array_equal(alone.broken_count, broken[rows]), part.grind.item.id
        assert alone.points == pytest.approx(points[rows], rel=1e-9), part.grind.item.id
        for name in case.registry.metrics:
            one, many = part.metric(name), joined.metric(name)
            if one is not None:
                assert many is not None
                assert many[rows] == pytest.approx(one, rel=1e-9, abs=1e-9, nan_ok=True), (part.grind.item.id, name)


def test_a_part_of_a_joined_batch_keeps_what_is_computed(service: Service) -> None:
    """One candidate taken out of a batch of several grinds has its own grind, context and figures."""
    case = service.briefs.case(with_settings(Brief(), BRIEFS[0]))
    parts = _parts(case)
    joined = Measured.joined(parts)
    whole = joined.metric("cut_force")
    row = len(parts[0]) + 3
    taken = joined.taking(np.array([row]), parts[1].context)
    assert taken.grind is parts[1].grind
    assert whole is not None
    assert taken.metric("cut_force") == pytest.approx(whole[[row]])
    assert taken.metric("tip_strength") == pytest.approx(parts[1].metric("tip_strength")[[3]])


def test_a_figure_is_computed_once_for_like_sections_with_like_inputs(service: Service) -> None:
    """Rows that repeat sections and inputs get what they would alone, from fewer computations."""
    case = service.briefs.case(with_settings(Brief(), BRIEFS[0]))
    (part,) = (p for p in _parts(case) if p.grind.item.id == "saber-hollow")
    few = part.designs.taking(np.arange(5))
    rows = np.tile(np.arange(5), 12)
    repeated = Measured.of(part.grind, few, part.context, case.registry, rows)
    assert repeated is not None
    sections = repeated.sections
    thick = np.repeat([0.3, 0.6], 30)
    computed: list[int] = []

    def reached(some: Sections, wanted: np.ndarray) -> np.ndarray:
        computed.append(len(some))
        return np.asarray(height_at_thickness(some.sides, wanted))

    alone = height_at_thickness(part.sections.taking(rows).sides, thick)
    assert sections.figure("reached", reached, thick) == pytest.approx(np.asarray(alone), nan_ok=True)
    assert computed == [10]  # five sections with two inputs each
    every = np.linspace(0.2, 0.8, 60)
    alone = height_at_thickness(part.sections.taking(rows).sides, every)
    assert sections.figure("reached at all", reached, every) == pytest.approx(np.asarray(alone), nan_ok=True)
    assert computed == [10, 60]  # nothing alike, nothing to spare
