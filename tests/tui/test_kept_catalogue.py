"""What there was to choose from last time: painted at once, corrected by the engine, never trusted."""

from __future__ import annotations

import asyncio
from pathlib import Path
from types import SimpleNamespace

import pytest
from textual.pilot import Pilot

from recommender.models.brief import Brief
from recommender.service import Service
from recommender.tui.app import BevelwrightApp
from recommender.tui.state.kept_catalogue import KeptCatalogue
from recommender.tui.state.session_state import SessionState
from recommender.tui.widgets.brief_form import FieldRow
from recommender.worker.in_process import InProcessEngine
from recommender.worker.messages import Asked
from recommender.worker.parts import Catalogue, Choice


@pytest.fixture
def kept(tmp_path: Path) -> KeptCatalogue:
    return KeptCatalogue(folder=tmp_path)


@pytest.fixture(scope="module")
def catalogue(service: Service) -> Catalogue:
    return InProcessEngine(service).catalogue()


def test_it_comes_back_as_it_was(kept: KeptCatalogue, catalogue: Catalogue, tmp_path: Path) -> None:
    assert kept.read() is None
    kept.keep(catalogue)
    assert kept.read() == catalogue
    assert KeptCatalogue(folder=tmp_path).read() == catalogue
    assert KeptCatalogue(["other"], folder=tmp_path).read() is None
    assert KeptCatalogue(foreign=False, folder=tmp_path).read() is None


def test_what_is_damaged_or_cannot_be_shown_is_none(kept: KeptCatalogue, catalogue: Catalogue, tmp_path: Path) -> None:
    hostile = Choice(id="x", label="\x1b[2J", meaning="")
    kept.keep(catalogue.model_copy(update={"steels": (hostile,)}))
    assert kept.read() is None
    kept.keep(catalogue)
    (file,) = (tmp_path / "catalogue").iterdir()
    file.write_bytes(file.read_bytes().replace(b"label", b"lebal", 1))
    assert kept.read() is None


class Held(InProcessEngine):
    """Loads only when it is let."""

    def __init__(self, service: Service) -> None:
        super().__init__(service)
        self.waiting: list[Asked] | None = []

    def _send(self, asked: Asked) -> None:
        if self.waiting is None:
            super()._send(asked)
        else:
            self.waiting.append(asked)

    def let(self) -> None:
        waiting, self.waiting = self.waiting or [], None
        for asked in waiting:
            super()._send(asked)


async def _until(pilot: Pilot[None], holds: object) -> None:
    for _ in range(600):
        await pilot.pause(0.1)
        if holds():
            return
    raise AssertionError("never")


def _drive(service: Service, kept: KeptCatalogue, tmp_path: Path, flow: object) -> BevelwrightApp:
    engine = Held(service)
    app = BevelwrightApp(engine, Brief(), session=SessionState(tmp_path), flips=False, kept=kept)

    async def run() -> None:
        async with app.run_test(size=(120, 40)) as pilot:
            await flow(app, pilot, engine)

    asyncio.run(run())
    return app


def _keys(app: BevelwrightApp) -> list[str]:
    return [row.field.key for row in app.query(FieldRow)]


def test_the_form_is_there_before_the_engine_and_corrected_by_it(
    tui: SimpleNamespace, service: Service, kept: KeptCatalogue, catalogue: Catalogue, tmp_path: Path
) -> None:
    gone = Choice(id="gone", label="What is gone", meaning="")
    kept.keep(catalogue.model_copy(update={"tasks": (gone, *catalogue.tasks[1:])}))

    async def flow(app: BevelwrightApp, pilot: Pilot[None], engine: Held) -> None:
        assert "tasks.gone" in _keys(app)
        tui.row(app, "tasks.prying").focus()
        await pilot.press("right")
        assert app.values == {"tasks.prying": "1"}
        assert app.answer is None
        engine.let()
        await _until(pilot, lambda: "tasks.gone" not in _keys(app) and app.answer is not None)
        assert f"tasks.{catalogue.tasks[0].id}" in _keys(app)
        assert app.focused is tui.row(app, "tasks.prying")
        assert tui.row(app, "tasks.prying").value == "1"
        assert app.answer.brief.tasks == {"prying": 1.0}

    _drive(service, kept, tmp_path, flow)
    assert kept.read() == catalogue, "what the engine says is kept"


def test_what_is_right_is_left_alone(
    service: Service, kept: KeptCatalogue, catalogue: Catalogue, tmp_path: Path
) -> None:
    kept.keep(catalogue)

    async def flow(app: BevelwrightApp, pilot: Pilot[None], engine: Held) -> None:
        rows = list(app.query(FieldRow))
        engine.let()
        await _until(pilot, lambda: app.answer is not None)
        assert list(app.query(FieldRow)) == rows

    _drive(service, kept, tmp_path, flow)


def test_where_nothing_loads_it_ends_as_if_nothing_had_been_kept(
    kept: KeptCatalogue, catalogue: Catalogue, tmp_path: Path
) -> None:
    kept.keep(catalogue)

    async def flow(app: BevelwrightApp, pilot: Pilot[None], engine: Held) -> None:
        engine.let()
        await _until(pilot, lambda: app.return_code is not None)

    app = _drive(Service(packs=[str(tmp_path / "nothing")]), kept, tmp_path, flow)
    assert app.return_code == 2


def test_that_nothing_can_be_kept_is_said_once(
    tui: SimpleNamespace, service: Service, catalogue: Catalogue, tmp_path: Path
) -> None:
    (tmp_path / "catalogue").write_text("a file where the folder should be")
    kept = KeptCatalogue(folder=tmp_path)
    assert not kept.keep(catalogue)

    async def run() -> None:
        app = BevelwrightApp(
            InProcessEngine(service), Brief(), session=SessionState(tmp_path), folder=tmp_path, flips=False, kept=kept
        )
        async with app.run_test() as pilot:
            await tui.answered(app, pilot)
            app.choices.keep(catalogue)
            told = [note.message for note in app._notifications if "Nothing can be kept" in note.message]
            assert len(told) == 1
            assert str(tmp_path / "catalogue") in told[0]

    asyncio.run(run())
