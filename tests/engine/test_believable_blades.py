"""Figures of whole answers that a working maker or owner can check by hand; every expected range is common practice."""

from __future__ import annotations

import pytest

KITCHEN = ("tasks.food-prep=1", "owner.gear=bench-stones")


@pytest.mark.parametrize("length_mm", [220, 250, 280, 310])
def test_a_long_slicer_does_not_hang_limp(ask, length_mm: int) -> None:
    """Leant on sideways with a newton (100 g), a slicer gives a few millimetres at the tip, not a centimetre."""
    answer = ask("tasks.fine-slicing=1", f"blade.length_mm={length_mm}")
    assert 1 / answer.metrics["stiffness"].value < 6.0


def test_a_longer_slicer_is_of_stouter_stock(ask) -> None:
    """Stiffness falls with the cube of the length: the same bar does not do for every blade."""
    short, long = (ask("tasks.fine-slicing=1", f"blade.length_mm={n}").proposal for n in (220, 310))
    assert long.stock_thickness_mm > short.stock_thickness_mm


@pytest.mark.parametrize("task", ["food-prep", "fine-slicing", "brush-clearing", "wood-splitting", "pocket-carry"])
@pytest.mark.parametrize("grind", ["convex", "saber-convex"])
def test_a_convex_has_a_crown_that_a_slack_belt_can_make(ask, grind: str, task: str) -> None:
    """What is called convex shows its crown under a straight edge: a tenth of a millimetre at least."""
    answer = ask(f"tasks.{task}=1", f"wishes.grind={grind}")
    assert answer.proposal is None or answer.metrics["crown"].value >= 0.1 - 1e-9


def test_the_crown_is_the_rise_over_the_chord(ask, service) -> None:
    """The metric is the sagitta of the drawn face, found here from three of its points."""
    answer = ask("tasks.wood-splitting=1", "wishes.grind=convex")
    outline = service.outline_of(answer)
    (x0, y0, bulge), (x1, y1, _) = outline[1], outline[2]
    chord = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
    radius = chord * (1 + bulge**2) / (4 * bulge)
    assert answer.metrics["crown"].value == pytest.approx(radius - (radius**2 - chord**2 / 4) ** 0.5, rel=1e-5)


def test_sharpening_takes_as_long_as_it_does(ask) -> None:
    """On bench stones a beginner is busy for a quarter to half an hour, a practised hand for about ten minutes."""
    minutes = {
        skill: ask(*KITCHEN, f"owner.skill={skill}").metrics["sharpening_minutes"].value
        for skill in ("beginner", "practised", "expert")
    }
    assert 15 <= minutes["beginner"] <= 30
    assert 7 <= minutes["practised"] <= 15
    assert minutes["expert"] < minutes["practised"]


def test_a_pull_through_is_quick_in_any_hands(ask) -> None:
    """It holds the angle itself, so a beginner is no slower: a minute or two."""
    quick = [
        ask("tasks.food-prep=1", "owner.gear=pull-through", f"owner.skill={skill}").metrics["sharpening_minutes"].value
        for skill in ("beginner", "expert")
    ]
    assert quick[0] == pytest.approx(quick[1], rel=0.2)
    assert max(quick) < 3
