"""What edges bear, by the trade: common practice, on mechanics and tables with no rules loaded.

The angles are also told by a page on tests of kitchen knives (seen, "Edge Stability in Butcher's and Kitchen Knives",
2018): 8 and 10 degrees a side are typical of Japanese knives of high-carbon steel, 15 and 20 of Europe and America, and
meat plants sharpen at 35 to 40 degrees included. Bone: 33 to 44 HV (seen, Orthop. Surg. 11 (2019) 270).
"""

from __future__ import annotations

import dataclasses
import importlib.resources
import tomllib

import numpy as np
import pytest

from recommender.mechanics import hard_contact, steel
from recommender.models.knowledge.tables import Task
from recommender.plugin.api import TaskLoad

SOFT_HRC, HARD_HRC = 56.0, 62.0
SOFT_K_IC, HARD_K_IC = 30.0, 17.0
SCRATCH_UM = 1.5
PER_SIDE_DEG = np.arange(5.0, 40.0, 0.5)


@pytest.fixture(scope="module")
def struck():
    folder = importlib.resources.files("bevelwright_rules") / "core" / "tables" / "tasks"

    def find(task: str, number: int) -> hard_contact.Struck:
        table = tomllib.loads((folder / f"{task}.toml").read_text(encoding="utf-8"))
        return TaskLoad(Task.model_validate(table), 1.0, None).struck[number][0]  # type: ignore[arg-type]

    return find


def _bears_from(struck: hard_contact.Struck, hrc: float, k_ic: float) -> float:
    """Per-side angle from which the edge takes no damage."""
    yields = float(steel.yield_strength_mpa(hrc))
    done = hard_contact.damage(
        np.radians(PER_SIDE_DEG), struck, yields, lambda t: steel.failure_stress_mpa(yields, k_ic, SCRATCH_UM, t)
    )
    return float(PER_SIDE_DEG[done.depth_mm == 0][0])


def test_a_wooden_board_is_borne_by_the_finest_kitchen_edges(struck) -> None:
    """Japanese knives of 8 degrees a side and more are used on wooden boards."""
    assert _bears_from(struck("food-prep", 0), HARD_HRC, HARD_K_IC) <= 8.0
    assert _bears_from(struck("food-prep", 0), SOFT_HRC, SOFT_K_IC) <= 10.0


def test_western_kitchen_edges_bear_an_odd_bone(struck) -> None:
    """Soft stainless is ground 15 to 20 degrees a side."""
    assert 15.0 <= _bears_from(struck("food-prep", 1), SOFT_HRC, SOFT_K_IC) <= 20.0


def test_hard_steel_bears_it_a_few_degrees_finer(struck) -> None:
    """Knives of hard steel are ground 10 to 15 degrees a side, and kept from bones at the finer of these."""
    hard, soft = (
        _bears_from(struck("food-prep", 1), HARD_HRC, HARD_K_IC),
        _bears_from(struck("food-prep", 1), SOFT_HRC, SOFT_K_IC),
    )
    assert 12.0 <= hard < soft
    assert hard <= 16.0


def test_what_is_chopped_into_bone_is_ground_steeper(struck) -> None:
    """Cleavers for bone have 20 to 30 degrees a side: a blow that leans with its whole pressure on one flank."""
    leaning = dataclasses.replace(struck("food-prep", 1), one_sided_share=1.0, energy_n_mm=5000.0)
    assert 20.0 <= _bears_from(leaning, SOFT_HRC, SOFT_K_IC) <= 30.0


def test_no_edge_bears_a_staple(struck) -> None:
    """A steeper one is nicked less deep: some tenths of a millimetre."""
    staple = struck("cardboard-rope", 0)
    yields = float(steel.yield_strength_mpa(SOFT_HRC))
    done = hard_contact.damage(np.radians([12.0, 25.0]), staple, yields, lambda t: np.full_like(t, yields))
    fine, steep = 1000 * done.depth_mm
    assert fine > 2 * steep > 0
    assert 50 < fine < 1500


def test_a_nick_decides_between_rolling_and_chipping(struck) -> None:
    """Soft and tough steel rolls; hard and brittle steel with a nick breaks out."""
    swung = struck("brush-clearing", 0)
    for hrc, k_ic, nick, rolls in ((54.0, 40.0, 1.5, True), (64.0, 12.0, 100.0, False)):
        yields = float(steel.yield_strength_mpa(hrc))
        done = hard_contact.damage(
            np.radians(20.0), swung, yields, lambda t, y=yields, k=k_ic, a=nick: steel.failure_stress_mpa(y, k, a, t)
        )
        assert (float(done.rolled_mm) > float(done.chipped_mm)) == rolls
