"""The pack keeps its promises, and answers as a bookbinder would expect."""

from pathlib import Path

import bookbinding_knives
import pytest

from recommender.models.brief import Brief
from recommender.plugin.testing import assert_sound, service_with
from recommender.service import with_settings

PACK = Path(bookbinding_knives.__file__).parent / "pack"


def test_the_plugin_is_sound():
    assert_sound(bookbinding_knives)


def test_the_folder_alone_is_sound():
    assert_sound(PACK)


@pytest.mark.parametrize(("task", "thickest_mm"), [("board-cutting", 3.0), ("sheet-slitting", 2.0)])
def test_the_blade_is_one_a_binder_would_hold(task, thickest_mm):
    service = service_with(bookbinding_knives)
    answer = service.recommend(with_settings(Brief(), [f"tasks.{task}=1"]), flips=False)
    assert answer.proposal is not None
    assert answer.proposal.stock_thickness_mm <= thickest_mm
    assert answer.brief.steel.grade == "1.2067"
    assert any(reason.rule.startswith(task) for reason in answer.reasons)


def test_board_is_cut_with_a_caution_for_the_fingers():
    answer = service_with(bookbinding_knives).recommend(with_settings(Brief(), ["tasks.board-cutting=1"]), flips=False)
    assert "edge-board-fingers" in [caution.id for caution in answer.cautions]
