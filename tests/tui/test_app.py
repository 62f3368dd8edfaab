"""The terminal interface: asking, the answer, refusals, narrow terminals, keeping."""

from __future__ import annotations

import asyncio
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest
from textual import events
from textual.pilot import Pilot
from textual.widgets import TabbedContent

from recommender.cancellation import Cancelled, checkpoint
from recommender.models.answer.proposal import Answer
from recommender.models.brief import Brief
from recommender.service import Service, brief_toml, read_brief, with_settings
from recommender.tui.app import BevelwrightApp
from recommender.tui.state.session_state import LAST, SessionState
from recommender.tui.widgets.answer_page import Care, cautions
from recommender.tui.widgets.brief_form import FieldRow, NumberRow

SIZES = [(80, 24), (120, 40), (200, 60)]


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_it_answers_before_anything_is_asked(tui: SimpleNamespace, service: Service, size: tuple[int, int]) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        assert app.answer is not None
        assert "Recommended: " in tui.text_of(app, "#part-blade")
        assert "per side" in tui.text_of(app, "#headline")
        assert "No task is named yet: answered for pocket carry." in tui.text_of(app, "#state")
        assert "⣿" in tui.text_of(app, "#section")
        assert tui.text_of(app, "#caution").startswith("! ")

    tui.drive(service, flow, size=size)


def test_a_task_is_moved_by_keys_and_the_answer_follows(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        tui.row(app, "tasks.food-prep").focus()
        await pilot.press("right", "right")
        await tui.answered(app, pilot)
        assert app.values == {"tasks.food-prep": "2"}
        assert app.answer is not None
        assert app.answer.brief.tasks == {"food-prep": 1.0}
        await pilot.press("left", "left")
        await tui.answered(app, pilot)
        assert app.values == {}

    tui.drive(service, flow)


def test_gear_is_several_and_a_choice_is_one(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        for key in ("owner.gear.bench-stones", "owner.gear.strop"):
            tui.row(app, key).focus()
            await pilot.press("space")
        tui.row(app, "owner.hand").focus()
        await pilot.press("right", "right")
        await tui.answered(app, pilot)
        assert app.answer is not None
        assert app.answer.brief.owner.gear == ("bench-stones", "strop")
        assert app.answer.brief.owner.hand == "left"
        await pilot.press("backspace")
        await tui.answered(app, pilot)
        assert app.answer.brief_sources["owner.hand"].source == "default"

    tui.drive(service, flow)


def test_a_number_is_typed(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        box = next(r.box for r in app.query(NumberRow) if r.field.key == "blade.stock_thickness_mm")
        box.focus()
        await pilot.press("3", ".", "5")
        await tui.answered(app, pilot)
        assert app.answer is not None
        assert app.answer.proposal is not None
        assert app.answer.proposal.stock_thickness_mm == 3.5

    tui.drive(service, flow)


def test_what_does_not_fit_is_said_and_the_old_answer_stays(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        before = tui.text_of(app, "#headline")
        box = next(r.box for r in app.query(NumberRow) if r.field.key == "steel.hardness_hrc")
        box.focus()
        await pilot.press("9", "9")
        await tui.answered(app, pilot)
        assert "hardness, HRC: 99.0 does not fit" in tui.text_of(app, "#state")
        assert tui.text_of(app, "#headline") == before
        await pilot.press("backspace", "backspace")
        await tui.answered(app, pilot)
        assert "No task" in tui.text_of(app, "#state")

    tui.drive(service, flow)


def test_nothing_fits_says_what_would(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        app.values.update(
            {
                "tasks.food-prep": "50",
                "wishes.grind": "full-hollow",
                "blade.height_mm": "50",
                "workshop.wheels_mm": "50,100",
            }
        )
        app.ask()
        await tui.answered(app, pilot)
        assert app.answer is not None
        assert app.answer.proposal is None
        assert "Nothing fits" in tui.text_of(app, "#headline")
        assert tui.text_of(app, "#section") == ""

    tui.drive(service, flow)


def test_every_part_of_the_answer_has_its_tab(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        assert "Why this" in tui.text_of(app, "#part-why")
        assert "Why not another" in tui.text_of(app, "#part-others")
        assert "What would change the grind" in tui.text_of(app, "#part-change")
        assert "Take care" in tui.text_of(app, "#part-care")
        assert "Assumed" in tui.text_of(app, "#part-assumed")
        tabs = app.query_one("#tabs", TabbedContent)
        assert not tabs.get_tab("tab-shop").display, "a buyer has no page about the shop"
        await pilot.press("f3")
        await pilot.pause()
        assert tabs.get_tab("tab-shop").display
        assert "In the shop" in tui.text_of(app, "#part-shop")
        assert "How closely to keep it" in tui.text_of(app, "#part-shop")

    tui.drive(service, flow, flips=True)


def test_inches(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        assert " mm" in tui.text_of(app, "#headline")
        await pilot.press("f4")
        await pilot.pause()
        assert " in" in tui.text_of(app, "#headline")
        assert "mm stock" not in tui.text_of(app, "#headline")

    tui.drive(service, flow)


def test_a_narrow_terminal_shows_one_at_a_time(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        assert app.query_one("#ask").display
        assert not app.query_one("#page").region.width
        await pilot.press("f2")
        await pilot.pause()
        assert app.query_one("#page").region.width == 80
        assert not app.query_one("#ask").region.width
        assert app.query_one(Care).region.height == 2, "cautions stay"

    tui.drive(service, flow, size=(80, 24))


def test_late_answers_to_old_questions_are_dropped(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        tui.row(app, "tasks.prying").focus()
        await pilot.press("right", "right", "right", "left", "left", "left")
        await tui.answered(app, pilot)
        assert app.answer is not None
        assert app.answer.brief.tasks == {"pocket-carry": 1.0}

    tui.drive(service, flow)


def test_a_question_that_is_superseded_stops_while_it_is_being_answered(
    tui: SimpleNamespace, service: Service, monkeypatch: pytest.MonkeyPatch
) -> None:
    known, begun, ended = service.briefs.answers, threading.Event(), threading.Event()

    def endless(brief: Brief, *args: object, **more: object) -> Iterator[Answer]:
        if "prying" not in brief.tasks:
            return known(brief, flips=False)
        begun.set()
        try:
            for _ in range(600):
                time.sleep(0.1)
                checkpoint()
            return known(brief, flips=False)
        except Cancelled:
            ended.set()
            raise

    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        monkeypatch.setattr(service.briefs, "answers", endless)
        tui.row(app, "tasks.prying").focus()
        await pilot.press("right")
        assert await asyncio.to_thread(begun.wait, 60), "the first was not begun"
        await pilot.press("right", "left", "left")
        await tui.answered(app, pilot)
        assert app.answer is not None
        assert app.answer.brief.tasks == {"pocket-carry": 1.0}
        assert await asyncio.to_thread(ended.wait, 60), "the first goes on for ever"

    tui.drive(service, flow)


def test_what_is_left_is_there_at_the_next_start(tui: SimpleNamespace, service: Service, tmp_path: Path) -> None:
    """Killed or left: every change is on the disk at once."""

    async def fill(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        tui.row(app, "tasks.wood-carving").focus()
        await pilot.press("right", "right")
        box = next(r.box for r in app.query(NumberRow) if r.field.key == "blade.length_mm")
        box.focus()
        await pilot.press("7", "5")
        await pilot.pause()
        assert (tmp_path / LAST).exists()

    async def find(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        assert app.values == {"tasks.wood-carving": "2", "blade.length_mm": "75"}
        assert tui.row(app, "tasks.wood-carving").value == "2"
        assert app.answer is not None
        assert app.answer.brief.blade.length_mm == 75
        await pilot.press("f6")
        await tui.answered(app, pilot)
        assert app.values == {}
        assert tui.row(app, "tasks.wood-carving").value == ""

    tui.drive(service, fill, folder=tmp_path)
    tui.drive(service, find, folder=tmp_path)
    assert SessionState(tmp_path).left_off() == {}


@pytest.mark.parametrize("raw", [b"", b"not json", b"[1]", b'{"tasks.prying": 5}', b"\xff" * 10])
def test_what_cannot_be_read_is_no_form(tmp_path: Path, raw: bytes) -> None:
    (tmp_path / LAST).write_bytes(raw)
    assert SessionState(tmp_path).left_off() == {}


def test_a_brief_is_saved_beside_others_and_says_the_same(
    tui: SimpleNamespace, service: Service, tmp_path: Path
) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        tui.row(app, "tasks.prying").focus()
        await pilot.press("right")
        await pilot.press("f5", "f5")
        await tui.answered(app, pilot)
        assert "--set tasks.prying=1" in tui.text_of(app, "#part-save")

    tui.drive(service, flow, folder=tmp_path)
    for name in ("brief.toml", "brief-2.toml"):
        assert read_brief((tmp_path / name).read_bytes(), name) == with_settings(Brief(), ["tasks.prying=1"])


@pytest.mark.parametrize(
    "settings",
    [
        [],
        ['title=a "quoted" \\ title é', "tasks.food-prep=0.7", "tasks.prying=0.3"],
        ["steel.grade=1.4116", "steel.hardness_hrc=57", "owner.gear=strop,bench-stones", "workshop.wheels_mm=50,250"],
        ["workshop.platen=no", "workshop.wheels_mm=", "wishes.grind=full-flat", "blade.distal_taper_mm_per_mm=0"],
    ],
)
def test_a_brief_written_reads_back(settings: list[str]) -> None:
    brief = with_settings(Brief(), settings)
    assert read_brief(brief_toml(brief).encode(), "x") == brief


def test_the_blades_life_has_its_tab(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        assert "sharpened again and again" in tui.text_of(app, "#part-life")
        assert "⠤" in tui.text_of(app, "#part-life") or "⣀" in tui.text_of(app, "#part-life")

    tui.drive(service, flow)


def test_arrows_go_through_the_form_and_the_first_line_is_in_sight(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        first = app.query("FieldRow").first()
        assert app.focused is first
        assert app.query_one("#ask").scroll_offset.y == 0
        await pilot.press("down", "right", "up", "right", "right")
        keys = [row.field.key for row in list(app.query("FieldRow"))[:2]]
        assert app.values == {keys[0]: "2", keys[1]: "1"}
        await tui.answered(app, pilot)
        await pilot.press(*["down"] * 20)
        assert app.query_one("#ask").scroll_offset.y > 0

    tui.drive(service, flow, size=(80, 24))


def test_keys_faster_than_the_screen_are_neither_lost_nor_land_on_another_row(
    tui: SimpleNamespace, service: Service
) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        rows = list(app.query(FieldRow))
        for key in ["right", *["down"] * 3, "right", "right", "down", "right", "up", "left"]:
            app.post_message(events.Key(key, None))
        await pilot.pause()
        await tui.answered(app, pilot)
        assert app.values == {rows[0].field.key: "1", rows[3].field.key: "1", rows[4].field.key: "1"}
        for _ in range(8):
            app.post_message(events.Key("down", None))
        await pilot.pause()
        assert app.focused is rows[11]

    tui.drive(service, flow, size=(80, 24))


def test_under_the_form_stands_what_the_last_key_did(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        line = app.query_one("#answer-line")
        assert line.display
        first = app.answer.proposal
        each, both = f"{first.edge_angle_per_side_deg:g}", f"{first.edge_angle_included_deg:g}"
        edge = f"{first.grind_label}, {each} degrees a side, {both} in all, "
        assert tui.text_of(app, "#answer-line").startswith(edge)
        tui.row(app, "tasks.prying").focus()
        await pilot.press("right")
        await tui.answered(app, pilot)
        assert f"; was {edge}" in tui.text_of(app, "#answer-line")
        assert tui.text_of(app, "#answer-line").endswith(" before prying")
        box = next(r.box for r in app.query(NumberRow) if r.field.key == "blade.length_mm")
        box.focus()
        await pilot.press("5")
        await tui.answered(app, pilot)
        said = tui.text_of(app, "#answer-line")
        assert said.startswith("! length")
        assert "expected greater than or equal to 20" in said
        assert "blade.length_mm" not in said
        assert tui.text_of(app, "#state") == said.removeprefix("! ")
        await pilot.press("f2")
        assert not line.display
        await pilot.resize_terminal(120, 40)
        await pilot.pause()
        assert not line.display

    tui.drive(service, flow, size=(80, 24))


def test_every_change_of_the_form_can_be_undone_and_done_again(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        tui.row(app, "tasks.prying").focus()
        await pilot.press("right", "right")
        box = next(r.box for r in app.query(NumberRow) if r.field.key == "blade.length_mm")
        box.focus()
        await pilot.press("7", "5", "u")
        assert app.values == {"tasks.prying": "2", "blade.length_mm": "75u"}, "a letter in a box is a letter"
        await pilot.press("backspace", "ctrl+z")
        assert app.values == {"tasks.prying": "2"}, "what was typed in one go"
        assert box.value == ""
        tui.row(app, "tasks.prying").focus()
        await pilot.press("n")
        assert app.values == {}
        await pilot.press("u")
        assert app.values == {"tasks.prying": "2"}, "starting afresh wipes nothing for good"
        await pilot.press("u", "u", "u")
        assert app.values == {}
        await pilot.press("y", "ctrl+y")
        assert app.values == {"tasks.prying": "2"}
        assert tui.row(app, "tasks.prying").value == "2"
        await tui.answered(app, pilot)
        assert app.answer.brief.tasks == {"prying": 1.0}

    tui.drive(service, flow)


def test_letters_and_digits_do_what_the_function_keys_do(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        tabs = app.query_one("#tabs", TabbedContent)
        await pilot.press("3")
        assert tabs.active == "tab-others"
        await pilot.press("0")
        assert tabs.active == "tab-save"
        await pilot.press("i")
        assert app.inches
        await pilot.press("question_mark")
        assert len(app.screen_stack) == 2
        await pilot.press("3", "i")
        assert tabs.active == "tab-save"
        assert app.inches, "over another screen only its own keys count"
        await pilot.press("escape", "b", "8")
        assert tabs.active == "tab-shop"

    tui.drive(service, flow)


def test_another_width_wraps_anew(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        await pilot.press("f2")
        await pilot.resize_terminal(150, 40)
        await pilot.pause()
        await pilot.pause()
        wide = max(len(line) for line in tui.text_of(app, "#section").split("\n"))
        assert 80 < wide <= 100
        await pilot.resize_terminal(80, 24)
        await pilot.pause()
        await pilot.pause()
        assert max(len(line) for line in tui.text_of(app, "#section").split("\n")) <= 78

    tui.drive(service, flow, size=(80, 24))


@pytest.mark.parametrize(("size", "least"), [((80, 24), 1), ((120, 40), 2), ((200, 60), 4)], ids=str)
def test_cautions_are_on_the_screen_as_many_as_fit(tui: SimpleNamespace, service: Service, size, least: int) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        assert app.answer is not None
        for name in ("why", "save"):
            app.action_show_tab(name)
            await pilot.pause()
            shown = tui.text_of(app, "#caution")
            assert shown.count("! ") >= least
            told = [w for w in app.answer.cautions if w.audience in ("everyone", "buyer")]
            assert "under Care" in shown or shown.count("! ") == len(told)
            assert len(shown.split("\n")) <= app.query_one(Care).size.height

    tui.drive(service, flow, size=size)


def test_cautions_are_whole_or_counted() -> None:
    texts = ["one two three", "four " * 30, "five"]
    assert cautions(texts, 40, 2) == ["! one two three", " (2 more cautions under Care)"]
    assert cautions(texts[:1], 40, 2) == ["! one two three"]
    assert cautions([], 40, 2) == []
    long = cautions(texts[1:], 40, 2)
    assert len(long) == 2
    assert " ".join(" ".join(long).split()).endswith("… (1 more caution under Care)")
    assert len(cautions(texts, 40, 9)) == 1 + 5 + 1, "seven fours fit on a line beside the mark"


SMALL = [(23, 10), (5, 5), (1, 1), (80, 1), (1, 40)]


@pytest.mark.parametrize("keys", [("f2",), ("ctrl+p",), ("f9",), ()], ids=["answer", "palette", "rulebook", "file"])
def test_a_terminal_of_any_size_is_survived(tui: SimpleNamespace, service: Service, keys: tuple[str, ...]) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        if keys:
            await pilot.press(*keys)
        else:
            app.action_open()
        for size in SMALL:
            await pilot.resize_terminal(*size)
            await pilot.press("pagedown", "up")
        await pilot.resize_terminal(80, 24)
        assert app.is_running
        await pilot.press("escape", "escape")
        assert "per side" in tui.text_of(app, "#headline")

    tui.drive(service, flow, size=(80, 24))


def test_a_caution_has_room_on_any_width() -> None:
    for width in range(1, 60):
        assert cautions(["Strength figures compare one shape with another.", "Second."], width, 2)
