"""What drives the interface in tests."""

from __future__ import annotations

import asyncio
import contextlib
import tempfile
from collections.abc import Awaitable, Callable
from functools import cached_property
from pathlib import Path
from types import SimpleNamespace

import pytest
from textual.pilot import Pilot
from textual.widgets import OptionList, Static
from textual.worker import WorkerCancelled

from recommender.models.answer.proposal import Answer
from recommender.models.answer.sharpening_life import Life
from recommender.models.brief import Brief
from recommender.service import Service
from recommender.service.briefs import Briefs
from recommender.tui.app import BevelwrightApp
from recommender.tui.state.session_state import SessionState
from recommender.tui.widgets.brief_form import FieldRow
from recommender.tui.widgets.trial_rows import Stepper
from recommender.worker.in_process import InProcessEngine

Flow = Callable[[BevelwrightApp, Pilot[None]], Awaitable[None]]


def drive(
    service: Service,
    flow: Flow,
    *,
    size: tuple[int, int] = (120, 40),
    brief: Brief | None = None,
    flips: bool = False,
    folder: Path | None = None,
) -> None:
    """Run a flow in an interface of a size, until all threads have answered."""

    async def run() -> None:
        with tempfile.TemporaryDirectory() as fresh:
            kept = folder or Path(fresh)
            engine = InProcessEngine(service)
            app = BevelwrightApp(engine, brief or Brief(), session=SessionState(kept), folder=kept, flips=flips)
            await run_in(app)
            assert engine.failures == []

    async def run_in(app: BevelwrightApp) -> None:
        async with app.run_test(size=size) as pilot:
            await answered(app, pilot)
            await flow(app, pilot)

    asyncio.run(run())


async def answered(app: BevelwrightApp, pilot: Pilot[None]) -> None:
    await pilot.pause()
    while any(not worker.is_finished for worker in app.workers):
        # A newer question makes the older one void.
        with contextlib.suppress(WorkerCancelled):
            await app.workers.wait_for_complete()
        await pilot.pause()
    await pilot.pause()


def row(app: BevelwrightApp, key: str) -> FieldRow:
    return next(r for r in app.query(FieldRow) if r.field.key == key)


def text_of(app: BevelwrightApp, selector: str) -> str:
    """Every text in a widget, as it is shown."""
    widget = app.screen.query_one(selector)
    if isinstance(widget, OptionList):
        return "\n".join(str(option.prompt) for option in widget.options)
    statics = [widget] if isinstance(widget, Static) else list(widget.query(Static))
    return "\n".join(str(static.content) for static in statics)


def stepper(app: BevelwrightApp, name: str) -> Stepper:
    return next(s for s in app.query(Stepper) if s.what == name)


class Remembering(Briefs):
    """Follows a life once a session: most flows start from the same answer."""

    @cached_property
    def lived(self) -> dict[str, Life]:
        return {}

    def life_of(self, answer: Answer, brief: Brief) -> Life:
        key = brief.model_dump_json()
        if key not in self.lived:
            self.lived[key] = super().life_of(answer, brief)
        return self.lived[key]


@pytest.fixture(scope="session")
def service() -> Service:
    service = Service(strict=True)
    service.briefs = Remembering(service.loaded)
    return service


@pytest.fixture
def tui() -> SimpleNamespace:
    """Drive the interface, wait for its answers, find its rows, read its texts."""
    return SimpleNamespace(drive=drive, answered=answered, row=row, text_of=text_of, stepper=stepper)
