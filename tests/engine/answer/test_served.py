"""How well tasks are served: by their own goals, and never well without what they cannot do without."""

from __future__ import annotations

from recommender.models.answer.proposal import Answer
from recommender.models.brief import Brief
from recommender.service import Service, with_settings

DECIDED = [
    *("wishes.grind=full-flat", "wishes.edge_angle_per_side_deg=17", "wishes.edge_thickness_mm=0.4"),
    *("blade.stock_thickness_mm=3", "blade.height_mm=30", "blade.length_mm=120", "steel.grade=5160"),
]


def _answer(service: Service, *settings: str) -> Answer:
    return service.recommend(with_settings(Brief(), settings), flips=False)


def test_a_share_that_moves_does_not_move_how_a_task_is_served(service: Service) -> None:
    """One blade cuts carrots as well on a day when it also opens parcels."""
    found = {
        share: _answer(service, f"tasks.food-prep={share}", f"tasks.pocket-carry={1 - share}", *DECIDED)
        for share in (0.6, 0.75, 0.8)
    }
    one, *others = [answer.served for answer in found.values()]
    assert all(other == one for other in others)
    assert set(one) == {"food-prep", "pocket-carry"}


def test_a_task_without_its_essential_is_served_poorly(service: Service) -> None:
    """A stout blade that parts vegetables badly is no fair kitchen knife, however well it does the rest."""
    stout = ["wishes.grind=saber-flat", "wishes.grind_line_mm=20", "blade.stock_thickness_mm=5", "blade.height_mm=40"]
    answer = _answer(service, "tasks.food-prep=1", *stout)
    served = answer.served["food-prep"]
    cut = next(reason for reason in answer.reasons if reason.rule == "cuts-easily/food-prep")
    assert cut.points <= 0
    assert served.verdict == "poorly"
    assert cut.title in served.short_of
    assert answer.summary is not None
    assert "no blade does this well" in answer.summary.first


def test_a_failed_demand_is_named_with_the_task(service: Service) -> None:
    answer = _answer(service, "tasks.food-prep=0.85", "tasks.prying=0.15")
    served = answer.served["prying"]
    assert served.verdict == "poorly"
    assert {cost.title for cost in answer.costs if cost.task == "prying" and cost.met < 0.95} <= set(served.short_of)


def test_an_answer_without_verdicts_has_those_of_its_fit(service: Service) -> None:
    """Stored by an earlier version: by how much of what a task asks is met, as it was told then."""
    stored = _answer(service, "tasks.pocket-carry=1").model_copy(
        update={"served": {}, "task_fit": {"pocket-carry": 0.71, "prying": 0.2}}
    )
    assert {task: served.verdict for task, served in stored.verdicts.items()} == {
        "pocket-carry": "well",
        "prying": "poorly",
    }
