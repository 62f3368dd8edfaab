"""A blade in the hand: what it suits, and which regrind would bring the most."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from recommender.drawing.text.measured.existing_blade_text import in_hand_text
from recommender.engine.answer.sharpening_course import designs_of
from recommender.engine.identify.existing_blade import Regrinds, Suit
from recommender.engine.identify.readings import CaliperBlade
from recommender.geometry.outline import Sides
from recommender.geometry.profile import faces_at, thickness
from recommender.models.answer.proposal import Proposal
from recommender.models.brief import Brief
from recommender.service import Service, with_settings

Measured = Callable[..., tuple[list[Suit], Regrinds]]


def _readings(service: Service, p: Proposal) -> tuple[tuple[float, float], ...]:
    """A proposal read by calipers to a hundredth, millimetre by millimetre near the edge and wider above."""
    outline = service.grinds[p.grind].outlines(designs_of(p))[0]
    heights = [h for h in (1, 2, 3, 4, 6, 8, 10, 13, 16, 20, 25, 30, 40) if h < p.blade_height_mm]
    return tuple((float(h), round(float(thickness(Sides.of(outline[None]), h)[0]), 2)) for h in heights)


@pytest.fixture(scope="module")
def in_hand(service: Service) -> Measured:
    known: dict[tuple[str, ...], tuple[list[Suit], Regrinds]] = {}

    def measured(made_for: tuple[str, ...], *wanted: str) -> tuple[list[Suit], Regrinds]:
        key = (*made_for, "|", *wanted)
        if key not in known:
            p = service.recommend(with_settings(Brief(), made_for), flips=False).proposal
            assert p is not None
            blade = CaliperBlade(
                _readings(service, p),
                height_mm=p.blade_height_mm,
                edge_angle_per_side_deg=p.edge_angle_per_side_deg,
                stock_thickness_mm=p.stock_thickness_mm,
                flat_face="none",
                tip="same",
                largest_wheel_mm=400.0,
            )
            found, _ = service.measured.identify(blade)
            known[key] = service.measured.in_hand(found, with_settings(Brief(), wanted))
        return known[key]

    return measured


def test_a_kitchen_knife_suits_the_kitchen_and_no_lever(in_hand: Measured) -> None:
    suited, _ = in_hand(("tasks.food-prep=1", "wishes.grind=full-flat"))
    by_task = {s.task: s for s in suited}
    assert by_task["food-prep"].verdict == "well"
    assert by_task["prying"].verdict == "poorly"
    assert by_task["wood-splitting"].verdict == "poorly"
    assert by_task["prying"].breaks or by_task["prying"].fit < 0.45


def test_a_chopper_does_not_fillet(in_hand: Measured) -> None:
    suited, _ = in_hand(("tasks.heavy-chopping=1", "wishes.grind=saber-flat"))
    by_task = {s.task: s for s in suited}
    assert by_task["heavy-chopping"].verdict in ("well", "fairly")
    assert by_task["fish-filleting"].verdict == "poorly"
    assert [s.verdict == "poorly" for s in suited] == sorted(s.verdict == "poorly" for s in suited)


def test_a_blade_made_for_the_task_gains_little(in_hand: Measured) -> None:
    _, regrinds = in_hand(("tasks.food-prep=1", "wishes.grind=full-flat"), "tasks.food-prep=1")
    assert all(r.gain < 4 for r in regrinds.options)


def test_a_stout_saber_gains_much_for_the_kitchen(in_hand: Measured) -> None:
    """Common practice: thinning a stout saber is the regrind that brings most in a kitchen; it only takes steel off."""
    _, regrinds = in_hand(("tasks.heavy-chopping=1", "wishes.grind=saber-flat"), "tasks.food-prep=1")
    best = regrinds.options[0]
    assert best.gain > 10
    assert best.proposal.edge_thickness_mm < 0.6
    assert best.proposal.grind_line_share > 0.5


def test_a_regrind_only_takes_steel_off(service: Service, in_hand: Measured) -> None:
    made = ("tasks.game-dressing=1", "wishes.grind=saber-flat", "blade.stock_thickness_mm=4")
    old = service.recommend(with_settings(Brief(), made), flips=False).proposal
    assert old is not None
    before = Sides.of(service.grinds[old.grind].outlines(designs_of(old)))
    _, regrinds = in_hand(made, "tasks.food-prep=1")
    assert regrinds.options
    for r in regrinds.options:
        after = Sides.of(service.grinds[r.proposal.grind].outlines(designs_of(r.proposal)))
        assert r.proposal.blade_height_mm == pytest.approx(old.blade_height_mm - r.back_mm)
        for y in np.linspace(0.2, r.proposal.blade_height_mm - 0.1, 400):
            new, there = faces_at(after, y), faces_at(before, y + r.back_mm)
            # 0.02 mm is allowed, and the fit is not the blade to a hundredth.
            assert float(new[1][0]) <= float(there[1][0]) + 0.05, (r.proposal.grind, y)
            assert float(new[0][0]) >= float(there[0][0]) - 0.05, (r.proposal.grind, y)


def test_without_a_task_the_one_it_serves_best_is_looked_at(in_hand: Measured) -> None:
    suited, regrinds = in_hand(("tasks.heavy-chopping=1", "wishes.grind=saber-flat"))
    assert list(regrinds.tasks) == [suited[0].task]


def test_what_a_side_task_asks_and_does_not_get_is_named(in_hand: Measured) -> None:
    """Prying is a fifth of the work: a kitchen knife is not shut out by it, and whoever measures it is told."""
    made = ("tasks.food-prep=1", "wishes.grind=full-flat")
    _, regrinds = in_hand(made, "tasks.food-prep=0.8", "tasks.prying=0.2")
    assert "The blade bears the prying" in {cost.title for cost in regrinds.costs if cost.task == "prying"}
    assert not regrinds.breaks
    assert "Not for prying" in in_hand_text([], regrinds)
