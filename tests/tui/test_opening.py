"""The questions before an empty form: one key each, an answer from the first, nothing lost."""

from __future__ import annotations

import asyncio
from pathlib import Path
from types import SimpleNamespace

import pytest
from textual.pilot import Pilot

from recommender.folders import shipped_briefs
from recommender.models.brief import Brief
from recommender.service import Service
from recommender.tui.app import BevelwrightApp
from recommender.tui.state.opening_questions import opening_questions
from recommender.tui.state.session_state import SessionState
from recommender.tui.widgets.brief_form import BriefForm
from recommender.tui.widgets.opening_page import OpeningPage
from recommender.worker.in_process import InProcessEngine


def begun(
    tui: SimpleNamespace,
    service: Service,
    folder: Path,
    flow: object,
    *,
    brief: Brief | None = None,
    size: tuple[int, int] = (80, 24),
) -> None:
    """Run a flow from the first screen on."""

    async def run() -> None:
        app = BevelwrightApp(
            InProcessEngine(service),
            brief or Brief(),
            session=SessionState(folder),
            folder=folder,
            flips=False,
            asks_first=True,
        )
        async with app.run_test(size=size) as pilot:
            await tui.answered(app, pilot)
            await flow(app, pilot)  # type: ignore[operator]

    asyncio.run(run())


def _shown(app: BevelwrightApp, kind: type[BriefForm] | type[OpeningPage]) -> bool:
    return app.main.query_one(kind).display


def test_three_keys_make_an_answer(tui: SimpleNamespace, service: Service, tmp_path: Path) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        assert _shown(app, OpeningPage)
        assert not _shown(app, BriefForm)
        tasks, gear, steels = opening_questions(app.catalogue)
        await pilot.press("a", "b", "c")  # at once, faster than the screen
        await tui.answered(app, pilot)
        assert app.values == {**tasks.choices[1].sets, **gear.choices[2].sets, **steels.choices[3].sets}
        assert app.brief.steel.grade == steels.choices[3].sets["steel.grade"]
        assert _shown(app, BriefForm)
        assert isinstance(app.focused, type(tui.row(app, next(iter(tasks.choices[1].sets)))))

    begun(tui, service, tmp_path, flow)


def test_what_is_not_known_stays_open_and_an_answer_can_be_taken_back(
    tui: SimpleNamespace, service: Service, tmp_path: Path
) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        tasks, gear, _ = opening_questions(app.catalogue)
        await pilot.press("e", "a", "backspace", "0", "0")
        await tui.answered(app, pilot)
        assert app.values == dict(tasks.choices[5].sets)
        await pilot.press("ctrl+z")
        await tui.answered(app, pilot)
        assert app.values == {**tasks.choices[5].sets, **gear.choices[1].sets}

    begun(tui, service, tmp_path, flow)


def test_esc_leaves_to_the_form_and_starting_afresh_asks_again(
    tui: SimpleNamespace, service: Service, tmp_path: Path
) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        await pilot.press("escape", "right", "f6")
        await tui.answered(app, pilot)
        assert app.values == {}
        assert _shown(app, OpeningPage)
        assert "1 of 3" in tui.text_of(app, "#opening-question")
        await pilot.press("escape", "ctrl+z")
        await tui.answered(app, pilot)
        assert len(app.values) == 1

    begun(tui, service, tmp_path, flow)


def test_a_maker_says_so_at_the_first_question(tui: SimpleNamespace, service: Service, tmp_path: Path) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        tasks = opening_questions(app.catalogue)[0]
        await pilot.press("abcdefghijklmnopqrstuvwxyz"[len(tasks.choices) - 1])
        await tui.answered(app, pilot)
        assert app.audience == "maker"
        assert "1 of 3" in tui.text_of(app, "#opening-question")

    begun(tui, service, tmp_path, flow)


def test_a_form_that_is_not_empty_begins_with_itself(tui: SimpleNamespace, service: Service, tmp_path: Path) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        assert _shown(app, BriefForm)
        assert not _shown(app, OpeningPage)

    begun(tui, service, tmp_path, flow, brief=Brief.model_validate({"tasks": {"prying": 1}}))


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (30, 10)])
def test_the_first_screen_says_what_this_is(
    tui: SimpleNamespace, service: Service, tmp_path: Path, size: tuple[int, int]
) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        assert "How should a blade be ground?" in tui.text_of(app, "#opening-about")
        region = app.main.query_one("#opening-about").region
        assert region.height >= 1
        assert region.y == 0

    begun(tui, service, tmp_path, flow, size=size)


def test_briefs_that_come_along_can_be_opened(tui: SimpleNamespace, service: Service, tmp_path: Path) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        tasks = opening_questions(app.catalogue)[0]
        await pilot.press("abcdefghijklmnopqrstuvwxyz"[len(tasks.choices)])
        await pilot.pause()
        assert str(shipped_briefs()[0]) in tui.text_of(app, "#path-list")
        await pilot.press("tab", "enter")
        await tui.answered(app, pilot)
        assert app.values
        assert _shown(app, BriefForm)

    begun(tui, service, tmp_path, flow)
