"""What the interface says and does when the engine fails, is started again, or has not finished what is to be saved."""

from __future__ import annotations

import asyncio
import threading
from pathlib import Path
from types import SimpleNamespace

import pytest
from textual.pilot import Pilot

from recommender.models.brief import Brief
from recommender.plugin.block_list import blocked_file, blocked_names
from recommender.processes.left_out import LeftOut
from recommender.service import Service
from recommender.shop.quotes.quote_book import Book, own_file
from recommender.tui.app import BevelwrightApp
from recommender.tui.state.session_state import LAST, SessionState
from recommender.worker.client import Trouble
from recommender.worker.in_process import InProcessEngine
from recommender.worker.parts import Choice

LOST = LeftOut(plugin="hostile", distribution="hostile-dist", version="3", doing="drawing", cause="crashed")


@pytest.fixture(autouse=True)
def own_folders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))


def test_a_plug_in_that_ended_the_engine_is_told_and_blocked_for_good(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        def offered() -> list[str]:
            return [command.title for command in app.get_system_commands(app.screen)]

        assert not any(title.startswith("Block") for title in offered())
        app.engine._tell_trouble(Trouble("Plug-in hostile crashed [b].", LOST))
        await pilot.pause()
        assert [note.message for note in app._notifications if note.severity == "warning"] == [
            "Plug-in hostile crashed [b]."
        ]
        assert "Block the plug-in hostile" in offered()
        app.action_block_plugin()
        assert str(blocked_file()) in tui.text_of(app, "#state")
        assert blocked_names() == {"hostile"}
        app.action_block_plugin()
        assert "blocked already" in tui.text_of(app, "#state")

    tui.drive(service, flow)


def test_what_a_lost_plug_in_gave_cannot_be_chosen_any_more(
    tui: SimpleNamespace, service: Service, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        whole = app.catalogue
        # As it is while the plug-in is there: one steel more than the engine has after its end.
        more = whole.model_copy(update={"steels": (*whole.steels, Choice(id="x", label="of a plug-in"))})
        await app.choices.offer(more)
        assert len(tui.row(app, "steel.grade").field.options) == len(whole.steels) + 2
        app.engine._tell_trouble(Trouble("Plug-in hostile crashed.", LOST))
        await tui.answered(app, pilot)
        assert app.catalogue == whole
        assert len(tui.row(app, "steel.grade").field.options) == len(whole.steels) + 1

    tui.drive(service, flow)


def test_blocking_leaves_the_list_as_it_is_and_a_list_that_cannot_be_read_is_told(
    tui: SimpleNamespace, service: Service
) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        app.left_out = "hostile"
        app.action_block_plugin()
        assert blocked_file().read_bytes() == b"# mine\nother\nhostile\n"
        blocked_file().write_bytes(b"\xff")
        app.action_block_plugin()
        assert "is not UTF-8" in tui.text_of(app, "#state")
        assert blocked_file().read_bytes() == b"\xff"

    blocked_file().parent.mkdir(parents=True)
    blocked_file().write_bytes(b"# mine\nother")
    tui.drive(service, flow)


def test_trouble_while_it_was_loaded_is_told_too(service: Service, tmp_path: Path) -> None:
    engine = InProcessEngine(service)
    engine._tell_trouble(Trouble("It was started again.", LOST))
    app = BevelwrightApp(engine, Brief(), session=SessionState(tmp_path), folder=tmp_path, flips=False)

    async def run() -> None:
        async with app.run_test() as pilot:
            await pilot.pause()
            assert "It was started again." in [note.message for note in app._notifications]
            assert app.left_out == "hostile"

    asyncio.run(run())


def test_a_failure_of_the_engine_leaves_the_form_and_says_where_its_report_lies(
    service: Service, tmp_path: Path, tui: SimpleNamespace, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object, **__: object) -> object:
        raise ZeroDivisionError("as tried out")

    engine = InProcessEngine(service)
    app = BevelwrightApp(engine, Brief(), session=SessionState(tmp_path), folder=tmp_path, flips=False)

    async def run() -> None:
        async with app.run_test(size=(200, 40)) as pilot:
            await tui.answered(app, pilot)
            known = app.answer
            with monkeypatch.context() as patch:
                patch.setattr(service.briefs, "answers", fails)
                tui.row(app, "tasks.prying").focus()
                await pilot.press("right")
                await tui.answered(app, pilot)
            (report,) = tmp_path.glob("crash-*.txt")
            assert "ZeroDivisionError: as tried out" in report.read_text()
            assert str(report) in tui.text_of(app, "#state")
            assert app.answer == known
            assert app.values == {"tasks.prying": "1"}
            await pilot.press("left")
            await tui.answered(app, pilot)
            assert "No task" in tui.text_of(app, "#state")

    asyncio.run(run())
    assert isinstance(engine.failures[0], ZeroDivisionError)
    assert (tmp_path / LAST).exists()


def test_it_quits_once_a_quote_is_saved_and_takes_no_second_one_meanwhile(
    service: Service, tmp_path: Path, tui: SimpleNamespace, monkeypatch: pytest.MonkeyPatch
) -> None:
    go, make = threading.Event(), service.workshop.quote

    def slow(*args: object, **more: object) -> object:
        assert go.wait(60)
        return make(*args, **more)

    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        app.action_save_quote()
        app.action_save_quote()
        await pilot.press("ctrl+q")
        await pilot.pause()
        assert "then it quits" in tui.text_of(app, "#state")
        assert app.is_running
        go.set()
        while app.is_running and app.return_code is None:
            await asyncio.sleep(0.01)

    object.__setattr__(service.workshop, "quote", slow)
    try:
        tui.drive(service, flow, folder=tmp_path)
    finally:
        object.__delattr__(service.workshop, "quote")
    assert [entry.name for entry in Book(own_file()).entries()] == ["1"]
