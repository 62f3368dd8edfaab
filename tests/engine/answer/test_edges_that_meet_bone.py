"""Recommended edges that meet board and bone: angles of the trade (common practice)."""

from __future__ import annotations

import pytest


@pytest.mark.parametrize("grade", ["1.4116", "440a"])
def test_kitchen_knives_of_soft_stainless(ask, grade: str) -> None:
    """15 to 20 degrees a side."""
    assert 15.0 <= ask("tasks.food-prep=1", f"steel.grade={grade}").proposal.edge_angle_per_side_deg <= 20.0


@pytest.mark.parametrize("grade", ["1.2562", "52100"])
def test_kitchen_knives_of_hard_steel(ask, grade: str) -> None:
    """10 to 15 degrees a side at 62 to 64 HRC, half a degree for the step."""
    answer = ask("tasks.food-prep=1", f"steel.grade={grade}", "steel.hardness_hrc=63")
    assert 10.0 <= answer.proposal.edge_angle_per_side_deg <= 15.5


def test_what_meets_bone_is_ground_steeper_than_what_does_not(ask) -> None:
    angles = {
        task: ask(f"tasks.{task}=1", "steel.grade=440c").proposal.edge_angle_included_deg
        for task in ("fine-slicing", "food-prep", "game-dressing")
    }
    assert angles["fine-slicing"] < angles["food-prep"] < angles["game-dressing"]


def test_a_fine_wish_is_told_what_bone_does_to_it(ask) -> None:
    """12 degrees a side in practised hands are borne by the board and not by bone."""
    kitchen = "tasks.food-prep=0.7", "tasks.fine-slicing=0.3", "owner.skill=expert", "owner.gear=bench-stones,strop"
    answer = ask(*kitchen, "steel.grade=52100", "steel.hardness_hrc=62", "wishes.edge_angle_per_side_deg=12")
    assert answer.metrics["hard_contact_damage"].value > 50
    assert {advice.id for advice in answer.advice} & {"edge-rolls-on-bone", "edge-chips-on-bone"}
