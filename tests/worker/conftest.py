"""Worker processes for tests."""

from __future__ import annotations

import queue
from collections.abc import Callable, Iterator

import pytest

from recommender.worker.client import Engine, Reply
from recommender.worker.launch import Launcher
from recommender.worker.messages import Done, Failed, Refused
from recommender.worker.process_engine import ProcessEngine
from recommender.worker.questions import Question

WAIT_S = 120.0


@pytest.fixture
def engine() -> Iterator[Callable[..., ProcessEngine]]:
    """Start an engine, which ends with the test."""
    started: list[ProcessEngine] = []

    def start(call_seconds: float = 60.0, **options: bool) -> ProcessEngine:
        started.append(ProcessEngine(Launcher(**options), call_seconds=call_seconds))
        return started[-1]

    yield start
    for each in started:
        each.close()


class Replies:
    """What comes on questions, in order."""

    def __init__(self) -> None:
        self.came: queue.SimpleQueue[Reply] = queue.SimpleQueue()

    def next(self) -> Reply:
        """The next one."""
        return self.came.get(timeout=WAIT_S)

    def all(self) -> list[Reply]:
        """Everything up to the last."""
        found = [self.next()]
        while not isinstance(found[-1], (Done, Refused, Failed)):
            found.append(self.next())
        return found


@pytest.fixture
def asked() -> Callable[[Engine, Question], Replies]:
    """Ask, and see what comes."""

    def ask(engine: Engine, question: Question) -> Replies:
        replies = Replies()
        engine.ask(question, replies.came.put)
        return replies

    return ask
