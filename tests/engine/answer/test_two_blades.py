"""Two blades for work that quarrels: what goes to which, and that each is the answer to its own brief."""

from __future__ import annotations

import pytest

from recommender.errors import InputError
from recommender.models.brief import Brief
from recommender.service import Service, with_settings
from recommender.service.two_blades import split

QUARREL = ["tasks.food-prep=1", "tasks.wood-splitting=1"]


def test_each_blade_is_the_answer_to_its_own_tasks(service: Service) -> None:
    found = service.two_blades(with_settings(Brief(), QUARREL))
    assert found.second_blade is not None
    for answer, task in ((found, "wood-splitting"), (found.second_blade, "food-prep")):
        assert list(answer.brief.tasks) == [task]
        alone = service.recommend(with_settings(Brief(), [f"tasks.{task}=1"]), flips=False)
        assert answer.proposal == alone.proposal
    assert found.as_json()["second_blade"] == found.second_blade.as_json()


def test_an_answer_of_one_blade_has_none_beside_it(service: Service) -> None:
    answer = service.recommend(with_settings(Brief(), QUARREL), flips=False)
    assert answer.as_json()["second_blade"] is None


def test_what_is_served_poorly_goes_to_the_second_blade_with_open_sizes(service: Service) -> None:
    brief = with_settings(Brief(), [*QUARREL, "tasks.pocket-carry=1", "blade.length_mm=180", "steel.grade=5160"])
    whole = service.recommend(with_settings(Brief(), QUARREL), flips=False)

    def parted(**fits: float) -> tuple[set[str], set[str]]:
        answer = whole.model_copy(
            update={
                "served": {},
                "task_fit": {name.replace("_", "-"): fit for name, fit in fits.items()},
                "brief": brief,
            }
        )
        first, second = split(brief, answer)
        assert first.blade.length_mm == 180
        assert second.blade.length_mm is None
        assert first.steel == second.steel == brief.steel
        return set(first.tasks), set(second.tasks)

    assert parted(food_prep=0.9, wood_splitting=0.1, pocket_carry=0.8) == (
        {"food-prep", "pocket-carry"},
        {"wood-splitting"},
    )
    assert parted(food_prep=0.1, wood_splitting=0.2, pocket_carry=0.8) == (
        {"pocket-carry"},
        {"food-prep", "wood-splitting"},
    )
    # Nothing poor, or everything: what is served least.
    assert parted(food_prep=0.9, wood_splitting=0.7, pocket_carry=0.8)[1] == {"wood-splitting"}
    assert parted(food_prep=0.1, wood_splitting=0.2, pocket_carry=0.05)[1] == {"pocket-carry"}


def test_one_task_takes_one_blade(service: Service) -> None:
    with pytest.raises(InputError, match="one task takes one blade"):
        service.two_blades(with_settings(Brief(), QUARREL[:1]))
