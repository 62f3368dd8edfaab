"""Limits that a proposal breaks in a good part of the draws are told, by rule and share."""

from __future__ import annotations

import pytest

from recommender.drawing.text.answer.answer_text import answer_text
from recommender.models.answer.proposal import TOLD_SHARE, Answer, Confidence, MayBreak

ACCIDENT = "bears-an-accident"
LEAST_MARGIN = 0.7
"""The limit's `min`, on `pry_margin`."""


@pytest.fixture
def thin(ask) -> Answer:
    """A pocket knife of thin stock: an accident bends it."""
    return ask("tasks.pocket-carry=1", "blade.stock_thickness_mm=2", "steel.grade=440c")


def test_share_and_band_tell_the_same(thin: Answer, ask) -> None:
    """A limit broken in more than a tenth of the draws lies above the figure's 5th percentile, and above it is not."""
    stout = ask("tasks.pocket-carry=1", "blade.stock_thickness_mm=4", "steel.grade=440c")
    (risk,) = [each for each in thin.confidence.may_break if each.rule == ACCIDENT]
    margin = thin.metrics["pry_margin"]
    assert margin.low < LEAST_MARGIN <= margin.value
    assert TOLD_SHARE < risk.share < 0.5, "kept by the likely numbers"
    assert stout.metrics["pry_margin"].low > LEAST_MARGIN
    assert ACCIDENT not in {each.rule for each in stout.confidence.may_break}


def test_a_limit_that_guards_people_is_a_caution(thin: Answer) -> None:
    (word,) = [word for word in thin.cautions if word.id == ACCIDENT]
    (risk,) = [each for each in thin.confidence.may_break if each.rule == ACCIDENT]
    assert risk.safety
    assert word.in_draws == risk.share
    assert risk.title in word.short
    assert all(word.in_draws is None for word in thin.cautions if word.id != ACCIDENT)


def test_it_is_named_beside_the_chance_and_under_why(thin: Answer) -> None:
    (risk,) = [each for each in thin.confidence.may_break if each.rule == ACCIDENT]
    assert f"“{risk.title}” (in {100 * risk.share:.0f} of 100)" in thin.summary.sure
    page = " ".join(answer_text(thin, None, names=("why",)).split())
    assert f"in {100 * risk.share:.0f} of 100 draws [rule {ACCIDENT} of core]" in page


def test_what_is_failed_by_the_likely_numbers_is_told_once(ask) -> None:
    """A cook's knife that pries now and then fails the prying: that is said first, not as something that may be."""
    answer = ask("tasks.food-prep=0.9", "tasks.prying=0.1")
    failed = {(cost.rule, cost.task_label) for cost in answer.costs}
    assert ("prying-bears-moment", "prying") in failed
    at_risk = {(each.rule, task) for each in answer.confidence.may_break for task in each.tasks}
    assert not failed & at_risk


def test_earlier_answers_have_none() -> None:
    stored = {"draws": 512, "seed": 1, "wins": {"full-flat": 1.0}, "main_uncertainty": None}
    assert Confidence.model_validate(stored).may_break == ()
    assert MayBreak().share == 0
