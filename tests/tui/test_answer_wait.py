"""Saving, copying and drawing wait for the answer to what the form says; nothing of the answer before is stored."""

from __future__ import annotations

import json
from pathlib import Path
from types import SimpleNamespace

import pytest
from textual.pilot import Pilot

from recommender.service import Service
from recommender.tui.app import BevelwrightApp
from recommender.tui.screens.rulebook_screen import RulebookScreen
from recommender.tui.widgets.order_form import OrderBox
from recommender.worker.messages import Refused
from recommender.worker.questions import AnswerQuestion, TrialQuestion

WANTED = "fine-slicing"


@pytest.fixture(autouse=True)
def own_folders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A book and rates of this test's own."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))


class HeldBack:
    """Questions of some kinds, kept from the engine of an app until they are let through."""

    def __init__(self, app: BevelwrightApp, *kinds: type) -> None:
        self._engine, self._ask = app.engine, app.engine.ask
        self.kept: list[tuple] = []
        app.engine.ask = lambda question, tell: (
            self.kept.append((question, tell)) if isinstance(question, kinds) else self._ask(question, tell)
        )

    def let_through(self) -> None:
        self._engine.ask = self._ask
        for question, tell in self.kept:
            self._ask(question, tell)


async def with_an_answer_before(app: BevelwrightApp, pilot: Pilot[None], tui: SimpleNamespace) -> None:
    app.action_audience()
    app.action_show_tab("price")
    await tui.answered(app, pilot)
    assert app.answer is not None
    assert WANTED not in app.answer.brief.tasks


async def change(app: BevelwrightApp, pilot: Pilot[None], tui: SimpleNamespace) -> None:
    tui.row(app, f"tasks.{WANTED}").focus()
    await pilot.press("right")
    await pilot.pause()


def said(app: BevelwrightApp) -> list[str]:
    return [str(notice.message) for notice in app._notifications]


ACTIONS = {
    "quote": lambda app: app.action_save_quote(),
    "json": lambda app: app.action_save_answer("json"),
    "text": lambda app: app.action_save_answer("txt"),
    "drawing": lambda app: app.action_save_answer("svg"),
    "copy": lambda app: app.action_copy_answer("json"),
}


def stored(app: BevelwrightApp, service: Service, folder: Path) -> dict[str, list[str]]:
    """What each of them has stored, in order, as text."""
    book = service.workshop.book()
    return {
        "quote": [book.quote(e.number)[0].answer.model_dump_json() for e in book.entries()],
        "json": [p.read_text() for p in sorted(folder.glob("*.json")) if p.name.startswith("answer")],
        "text": [p.read_text() for p in sorted(folder.glob("*.txt"))],
        "drawing": [p.read_text() for p in sorted(folder.glob("*.svg"))],
        "copy": [app.clipboard] if app.clipboard else [],
    }


@pytest.mark.parametrize("action", ACTIONS)
def test_it_waits_visibly_and_stores_the_answer_of_the_form(
    tui: SimpleNamespace, service: Service, tmp_path: Path, action: str
) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        await with_an_answer_before(app, pilot, tui)
        before = app.answer
        held = HeldBack(app, AnswerQuestion)
        await change(app, pilot, tui)
        ACTIONS[action](app)
        await pilot.pause()
        assert stored(app, service, tmp_path)[action] == [], "the blade before is not stored"
        for place in ("#state", "#answer-line"):
            assert "Waiting for the answer" in tui.text_of(app, place)
        app.action_inches()  # the screen goes on
        app.action_inches()
        held.let_through()
        await tui.answered(app, pilot)
        assert app.answer != before
        for place in ("#state", "#answer-line"):
            assert "Waiting for the answer" not in tui.text_of(app, place)
        (found,) = stored(app, service, tmp_path)[action]
        assert app.answer is not None
        if action == "quote":
            assert found == app.answer.model_dump_json()
        elif action in ("json", "copy"):
            assert json.loads(found) == json.loads(json.dumps(app.answer.as_json()))
        elif action == "text":
            assert app.answer.proposal is not None
            assert app.answer.proposal.grind_label in found
        else:
            assert found.startswith("<?xml") or "<svg" in found

    tui.drive(service, flow, folder=tmp_path)


@pytest.mark.parametrize("by", ["esc", "form", "order"])
def test_going_on_or_esc_drops_what_waits(tui: SimpleNamespace, service: Service, tmp_path: Path, by: str) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        await with_an_answer_before(app, pilot, tui)
        held = HeldBack(app, AnswerQuestion)
        await change(app, pilot, tui)
        app.action_save_quote()
        await pilot.pause()
        match by:
            case "esc":
                await pilot.press("escape")
            case "form":
                await pilot.press("right")
            case "order":
                app.main.query(OrderBox).first().value = "Ann"
        await pilot.pause()
        assert app.waits.held is None
        assert any("Not done: save the quote" in words for words in said(app))
        for place in ("#state", "#answer-line"):
            assert "Waiting for the answer" not in tui.text_of(app, place)
        held.let_through()
        await tui.answered(app, pilot)
        assert service.workshop.book().entries() == []

    tui.drive(service, flow, folder=tmp_path)


def test_a_form_without_an_answer_stores_nothing(tui: SimpleNamespace, service: Service, tmp_path: Path) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        await with_an_answer_before(app, pilot, tui)
        app.form.fill({"blade.length_mm": "-3"})
        app.action_save_quote()
        await tui.answered(app, pilot)
        app.action_save_answer("txt")
        await tui.answered(app, pilot)
        assert app.answer is not None, "the one before stays on the screen"
        assert len([words for words in said(app) if "the form has no answer" in words]) == 2
        assert service.workshop.book().entries() == []
        assert stored(app, service, tmp_path)["text"] == []

    tui.drive(service, flow, folder=tmp_path)


def test_quitting_saves_what_waits_first(tui: SimpleNamespace, service: Service, tmp_path: Path) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        await with_an_answer_before(app, pilot, tui)
        held = HeldBack(app, AnswerQuestion)
        await change(app, pilot, tui)
        app.action_save_quote()
        await app.action_quit()
        await pilot.pause()
        assert app.is_running
        held.let_through()
        await tui.answered(app, pilot)

    tui.drive(service, flow, folder=tmp_path)
    (entry,) = service.workshop.book().entries()
    assert WANTED in service.workshop.book().quote(entry.number)[0].answer.brief.tasks


def test_a_trial_is_kept_as_it_was_moved_last(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        app.action_show_tab("try")
        await tui.answered(app, pilot)
        knob = next(s for s in app.query("Stepper") if s.what == "edge_angle_per_side_deg")
        knob.focus()
        await pilot.press("right")
        await tui.answered(app, pilot)
        first = app.trials.ready.trial.proposal.edge_angle_per_side_deg
        held = HeldBack(app, TrialQuestion)
        await pilot.press("right")
        await pilot.press("f12")
        await pilot.pause()
        assert app.trials.comparison.kept == []
        assert "Waiting for the answer, to keep the trial" in tui.text_of(app, "#state")
        held.let_through()
        await tui.answered(app, pilot)
        (kept,) = app.trials.comparison.kept
        assert kept.edge_angle_per_side_deg > first
        assert kept == app.trials.ready.trial.proposal

    tui.drive(service, flow)


def test_a_rule_of_the_answer_before_is_not_opened(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        held = HeldBack(app, AnswerQuestion)
        await change(app, pilot, tui)
        app.action_rulebook()
        await pilot.pause()
        assert not isinstance(app.screen, RulebookScreen)
        held.let_through()
        await tui.answered(app, pilot)
        assert isinstance(app.screen, RulebookScreen)

    tui.drive(service, flow)


def test_what_is_missing_besides_an_answer_holds_nothing_up(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        app.take_answer(Refused(serial=app.serial, words="its life cannot be told", exit_code=2))
        app.action_copy_answer("txt")
        assert app.clipboard

    tui.drive(service, flow)
