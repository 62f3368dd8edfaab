"""Worker processes for tests, and hostile plug-ins installed for them."""

from __future__ import annotations

import queue
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from recommender.worker.client import Engine, Reply
from recommender.worker.launch import Launcher
from recommender.worker.messages import Done, Failed, Refused
from recommender.worker.process_engine import ProcessEngine
from recommender.worker.questions import Question

WAIT_S = 120.0

_PLUGIN = """
import numpy as np
from recommender.plugin.api import Metric
from recommender.plugin.hooks import hookimpl
from recommender.units import Unit

BEVELWRIGHT_API = 1
{at_import}

def compute(sections, context):
    {at_call}
    return np.zeros(sections.designs["height_mm"].shape)

@hookimpl
def metrics():
    return [Metric(id="hostile_figure", label="Hostile figure", unit=Unit.NONE, better="either", about="Tried out.",
                   estimate=False, compute=compute)]
"""


@pytest.fixture
def install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """Put a plug-in named hostile, of the distribution hostile-dist 3, where processes of this test find it."""

    def plugin(*, at_import: str = "", at_call: str = "pass") -> None:
        folder = tmp_path / "installed"
        info = folder / "hostile_dist-3.dist-info"
        info.mkdir(parents=True)
        (info / "METADATA").write_text("Metadata-Version: 2.1\nName: hostile-dist\nVersion: 3\n")
        (info / "entry_points.txt").write_text("[bevelwright.plugins]\nhostile = hostile_plugin\n")
        (folder / "hostile_plugin.py").write_text(_PLUGIN.format(at_import=at_import, at_call=at_call))
        monkeypatch.setattr(sys, "path", [*sys.path, str(folder)])

    return plugin


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
