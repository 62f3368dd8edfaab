"""A question that is dropped stops between two steps, wherever it is, and leaves nothing behind in later answers."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from recommender.cancellation import Cancelled, cancelled_once, checkpoint
from recommender.errors import PluginError
from recommender.models.answer.proposal import Answer
from recommender.models.brief import Brief
from recommender.models.workshop.quote import Order
from recommender.plugin.guard import Guard, Origin
from recommender.service import Service, with_settings

BRIEF = with_settings(Brief(), ["tasks.food-prep=1"])
FOREIGN = Origin("tried", "tried-dist", "1")


class Countdown:
    """Drops the question at a certain checkpoint, and counts how many there were."""

    def __init__(self, last: int | None = None) -> None:
        self.last, self.seen = last, 0

    def __call__(self) -> bool:
        self.seen += 1
        return self.last is not None and self.seen >= self.last


@pytest.fixture(scope="module")
def service() -> Service:
    return Service(strict=True, own_packs=False, own_shop=False)


def test_nothing_is_dropped_that_nobody_dropped() -> None:
    checkpoint()
    with cancelled_once(lambda: False):
        checkpoint()


def test_a_question_inside_another_has_a_say_of_its_own() -> None:
    with cancelled_once(lambda: True):
        with cancelled_once(lambda: False):
            checkpoint()
        with pytest.raises(Cancelled):
            checkpoint()
    checkpoint()


@pytest.mark.usefixtures("answers_anew")
def test_an_answer_stops_in_every_stage_and_the_next_one_is_the_same(service: Service) -> None:
    whole = Countdown()
    with cancelled_once(whole):
        expected = service.recommend(BRIEF)
    assert whole.seen > 300, "so many steps at least that none is long"
    for share in (0.0, 0.3, 0.6, 0.95):
        dropped = Countdown(1 + int(share * whole.seen))
        with cancelled_once(dropped), pytest.raises(Cancelled):
            service.recommend(BRIEF)
        assert dropped.seen == dropped.last, "it goes on after it was dropped"
    assert service.recommend(BRIEF) == expected


@pytest.fixture(scope="module")
def answer(service: Service) -> Answer:
    return service.recommend(BRIEF, flips=False)


def _life(service: Service, answer: Answer) -> object:
    return service.briefs.life_of(answer, BRIEF)


def _trial(service: Service, answer: Answer) -> object:
    assert answer.proposal is not None
    return service.briefs.weigh(BRIEF, answer.proposal)


def _price(service: Service, answer: Answer) -> object:
    return service.workshop.price(answer, Order(), service.workshop.shop())


def _document(service: Service, answer: Answer) -> object:
    return service.drawings.document(answer, "svg")


@pytest.mark.parametrize("work", [_life, _trial, _price, _document])
def test_what_follows_an_answer_stops_too(
    service: Service, answer: Answer, work: Callable[[Service, Answer], object]
) -> None:
    with cancelled_once(Countdown(2)), pytest.raises(Cancelled):
        work(service, answer)


def test_it_is_no_failure_of_the_plug_in_that_was_called() -> None:
    guard = Guard()

    def asks_for_more() -> None:
        with cancelled_once(lambda: True):
            guard.run(FOREIGN, "asking for more", int)

    with pytest.raises(Cancelled):
        guard.run(FOREIGN, "being asked", asks_for_more)
    assert guard.failures == []


def test_a_plug_in_that_holds_it_back_is_dropped_at_the_next_step() -> None:
    guard = Guard()

    def holds_it_back() -> None:
        try:
            guard.run(FOREIGN, "asking for more", int)
        except BaseException:
            raise ValueError from None

    with cancelled_once(Countdown(2)):
        with pytest.raises(PluginError):
            guard.run(FOREIGN, "being asked", holds_it_back)
        with pytest.raises(Cancelled):
            guard.run(FOREIGN, "being asked again", int)
