"""Messages between interface and engine: nothing is lost on the way, and what is none is refused."""

from __future__ import annotations

import os
import queue
import threading

import numpy as np
import pytest
from pydantic import ValidationError

from recommender.drawing.blade_view import BladeView
from recommender.models.brief import Brief
from recommender.models.workshop.quote import Order
from recommender.service import Service
from recommender.worker.answering import parts
from recommender.worker.client import Reply
from recommender.worker.framing import read_frame, write_frame
from recommender.worker.in_process import InProcessEngine
from recommender.worker.messages import Asked, Done, Told, encoded, for_engine, from_engine
from recommender.worker.parts import AnswerPart, RulebookPart, TrialPart, read_plugins, read_traces
from recommender.worker.questions import (
    AnswerQuestion,
    DocumentQuestion,
    GlossaryQuestion,
    PriceQuestion,
    Question,
    RulebookQuestion,
    TrialQuestion,
)


@pytest.fixture(scope="module")
def service() -> Service:
    return Service(strict=True, own_packs=False, own_shop=False)


@pytest.fixture(scope="module")
def answered(service: Service) -> list[AnswerPart]:
    told = list(parts(service, AnswerQuestion(settings=("tasks.fish-filleting=1",), flips=False)))
    return [part for part in told if isinstance(part, AnswerPart)]


@pytest.fixture(scope="module")
def questions(answered: list[AnswerPart]) -> dict[str, Question]:
    brief, answer = answered[-1].brief, answered[-1].answer
    assert answer.proposal is not None
    return {
        "trial": TrialQuestion(
            brief=brief,
            proposal=answer.proposal,
            base=answer.proposal,
            values={"edge_thickness_mm": 0.45},
            beside=(("proposal", answer.proposal), ("your trial", None)),
        ),
        "price": PriceQuestion(brief=brief, answer=answer, order=Order(pieces=3)),
        "document": DocumentQuestion(answer=answer, writer="svg", inches=True),
        "rulebook": RulebookQuestion(brief=brief, answer=answer),
        "glossary": GlossaryQuestion(),
    }


def _there(part: object) -> object:
    told = from_engine(encoded(Told(serial=1, part=part)))  # type: ignore[arg-type]
    assert isinstance(told, Told)
    return told.part


def test_an_answer_comes_as_it_went(answered: list[AnswerPart]) -> None:
    for part in answered:
        there = _there(part)
        assert isinstance(there, AnswerPart)
        assert there.answer == part.answer
        assert there.answer.as_json() == part.answer.as_json()
        assert there.brief == part.brief


def test_a_drawing_comes_to_the_last_digit(service: Service, answered: list[AnswerPart]) -> None:
    there = _there(answered[0])
    assert isinstance(there, AnswerPart)
    blade = answered[0].answer.proposal
    assert blade is not None
    view, expected = there.drawn.view, service.drawings.view(blade)
    assert isinstance(view, BladeView)
    assert expected is not None
    assert there.drawn.section is not None
    assert np.array_equal(there.drawn.section, service.drawings.section_of(blade))
    for name in ("x_mm", "edge_mm", "spine_mm", "line_mm", "swedge_mm"):
        assert np.array_equal(getattr(view, name), getattr(expected, name), equal_nan=True)
    assert np.isnan(expected.line_mm).any(), "NaN is among what has to come"
    assert view.transition_mm == expected.transition_mm
    assert [s.label for s in view.stations] == [s.label for s in expected.stations]
    assert all(np.array_equal(a.outline, b.outline) for a, b in zip(view.stations, expected.stations, strict=True))


@pytest.mark.parametrize("kind", ["trial", "price", "document", "rulebook", "glossary"])
def test_questions_and_what_is_told_on_them_come_as_they_went(
    service: Service, questions: dict[str, Question], kind: str
) -> None:
    asked = for_engine(encoded(Asked(serial=7, question=questions[kind])))
    assert isinstance(asked, Asked)
    assert asked.question == questions[kind]
    for part in parts(service, asked.question):
        there = _there(part)
        assert encoded(Told(serial=1, part=part)) == encoded(Told(serial=1, part=there))  # type: ignore[arg-type]
        if isinstance(part, RulebookPart):
            assert isinstance(there, RulebookPart)
            assert read_traces(there) == service.briefs.rule_traces(Brief(tasks={"fish-filleting": 1}), _answer(asked))
            assert read_plugins(there)[0].plugin == "builtin"
        if isinstance(part, TrialPart):
            assert isinstance(there, TrialPart)
            assert there.trial.proposal.edge_thickness_mm == 0.45


def _answer(asked: Asked) -> object:
    assert isinstance(asked.question, RulebookQuestion)
    return asked.question.answer


def test_frames_of_any_size_come_whole() -> None:
    reading, writing = os.pipe()
    frames = [b"", b"a", os.urandom(200_000), b"last"]

    def write() -> None:
        for frame in frames:
            write_frame(writing, frame)
        os.write(writing, b"\0\0\0\x09half")
        os.close(writing)

    thread = threading.Thread(target=write)
    thread.start()
    assert [read_frame(reading) for _ in frames] == frames
    assert read_frame(reading) is None, "one cut short is the end"
    thread.join()
    os.close(reading)


def test_a_length_that_is_none_is_refused() -> None:
    reading, writing = os.pipe()
    os.write(writing, b"Traceback (most recent call last)")
    with pytest.raises(ValueError, match="a message of"):
        read_frame(reading)
    os.close(reading)
    os.close(writing)


@pytest.mark.parametrize("data", [b"", b"{}", b'{"message": "part"}', b"\xff", b'{"message": "question", "serial": 1}'])
def test_what_is_no_message_is_refused(data: bytes) -> None:
    for read in (for_engine, from_engine):
        with pytest.raises(ValidationError):
            read(data)


def test_what_is_being_answered_is_not_asked_again(service: Service) -> None:
    engine, first, second = InProcessEngine(service), [], queue.SimpleQueue[Reply]()
    begun, go = threading.Event(), threading.Event()

    def wait(reply: Reply) -> None:
        first.append(reply)
        begun.set()
        assert go.wait(60)

    question = AnswerQuestion(settings=("tasks.prying=1",), flips=False)
    engine.ask(question, wait)
    assert begun.wait(60)
    go.set()
    engine.ask(question, second.put)
    came = [second.get(timeout=60)]
    while not isinstance(came[-1], Done):
        came.append(second.get(timeout=60))
    assert came[0] == first[0]
    assert [type(reply).__name__ for reply in came] == [
        "AnswerPart",
        "AnswerPart",
        "LifePart",
        "Done",
    ]
    assert not engine.pending
