"""The terminal interface: asking, the answer, refusals, narrow terminals, hostile text."""

from __future__ import annotations

import asyncio
import tempfile
from collections.abc import Awaitable, Callable
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input, Static

from recommender.models.brief import Brief
from recommender.service import Service, brief_toml, read_brief, with_settings
from recommender.tui.app import BevelwrightApp
from recommender.tui.ask import NumberRow, Row
from recommender.tui.keep import LAST, Keep
from recommender.tui.page import Care, Part

SIZES = [(80, 24), (120, 40), (200, 60)]
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
            app = BevelwrightApp(service, brief or Brief(), keep=Keep(kept), folder=kept, flips=flips)
            await run_in(app)

    async def run_in(app: BevelwrightApp) -> None:
        async with app.run_test(size=size) as pilot:
            await answered(app, pilot)
            await flow(app, pilot)

    asyncio.run(run())


async def answered(app: BevelwrightApp, pilot: Pilot[None]) -> None:
    await pilot.pause()
    await app.workers.wait_for_complete()
    await pilot.pause()


def row(app: BevelwrightApp, key: str) -> Row:
    return next(r for r in app.query(Row) if r.field.key == key)


def text_of(app: BevelwrightApp, selector: str) -> str:
    widget = app.query_one(selector)
    inner = widget if isinstance(widget, Static) else widget.query_one(Static)
    return str(inner.content)


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_it_answers_before_anything_is_asked(service: Service, size: tuple[int, int]) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        assert app.answer is not None
        assert "Recommended: " in text_of(app, "#blade")
        assert "No task was named" in text_of(app, "#blade")
        assert "⣿" in text_of(app, "#drawing")
        assert text_of(app, "#caution").startswith("! ")

    drive(service, flow, size=size)


def test_a_task_is_moved_by_keys_and_the_answer_follows(service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        row(app, "tasks.food-prep").focus()
        await pilot.press("right", "right")
        await answered(app, pilot)
        assert app.values == {"tasks.food-prep": "10"}
        assert app.answer is not None
        assert app.answer.brief.tasks == {"food-prep": 1.0}
        await pilot.press("left", "left")
        await answered(app, pilot)
        assert app.values == {}

    drive(service, flow)


def test_gear_is_several_and_a_choice_is_one(service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        for key in ("owner.gear.bench-stones", "owner.gear.strop"):
            row(app, key).focus()
            await pilot.press("space")
        row(app, "owner.hand").focus()
        await pilot.press("right", "right")
        await answered(app, pilot)
        assert app.answer is not None
        assert app.answer.brief.owner.gear == ("bench-stones", "strop")
        assert app.answer.brief.owner.hand == "left"
        await pilot.press("backspace")
        await answered(app, pilot)
        assert app.answer.brief_sources["owner.hand"].source == "default"

    drive(service, flow)


def test_a_number_is_typed(service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        box = next(r.box for r in app.query(NumberRow) if r.field.key == "blade.stock_thickness_mm")
        box.focus()
        await pilot.press("3", ".", "5")
        await answered(app, pilot)
        assert app.answer is not None
        assert app.answer.proposal is not None
        assert app.answer.proposal.stock_thickness_mm == 3.5

    drive(service, flow)


def test_what_does_not_fit_is_said_and_the_old_answer_stays(service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        before = text_of(app, "#blade")
        box = next(r.box for r in app.query(NumberRow) if r.field.key == "steel.hardness_hrc")
        box.focus()
        await pilot.press("9", "9")
        await answered(app, pilot)
        assert "steel.hardness_hrc" in text_of(app, "#state")
        assert text_of(app, "#blade") == before
        await pilot.press("backspace", "backspace")
        await answered(app, pilot)
        assert text_of(app, "#state") == ""

    drive(service, flow)


def test_nothing_fits_says_what_would(service: Service) -> None:
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
        await answered(app, pilot)
        assert app.answer is not None
        assert app.answer.proposal is None
        assert "Nothing fits" in text_of(app, "#blade")
        assert text_of(app, "#drawing") == ""

    drive(service, flow)


def test_every_part_of_the_answer_has_its_tab(service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        assert "Why this" in text_of(app, "#part-why")
        assert "Why not another" in text_of(app, "#part-others")
        assert "What would change the grind" in text_of(app, "#part-change")
        assert "Take care" in text_of(app, "#part-care")
        assert "Assumed" in text_of(app, "#part-assumed")
        assert "press f3" in text_of(app, "#part-shop")
        await pilot.press("f3")
        await pilot.pause()
        assert "In the shop" in text_of(app, "#part-shop")
        assert "How closely to keep it" in text_of(app, "#part-shop")

    drive(service, flow, flips=True)


def test_inches(service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        assert " mm" in text_of(app, "#blade")
        await pilot.press("f4")
        await pilot.pause()
        assert " in" in text_of(app, "#blade")
        assert "mm stock" not in text_of(app, "#blade")

    drive(service, flow)


def test_a_narrow_terminal_shows_one_at_a_time(service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        assert app.query_one("#ask").display
        assert not app.query_one("#page").region.width
        await pilot.press("f2")
        await pilot.pause()
        assert app.query_one("#page").region.width == 80
        assert not app.query_one("#ask").region.width
        assert app.query_one(Care).region.height == 2, "cautions stay"

    drive(service, flow, size=(80, 24))


def test_late_answers_to_old_questions_are_dropped(service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        row(app, "tasks.prying").focus()
        await pilot.press("right", "right", "right", "left", "left", "left")
        await answered(app, pilot)
        assert app.answer is not None
        assert app.answer.brief.tasks == {"pocket-carry": 1.0}

    drive(service, flow)


def test_what_is_left_is_there_at_the_next_start(service: Service, tmp_path: Path) -> None:
    """Killed or left: every change is on the disk at once."""

    async def fill(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        row(app, "tasks.wood-carving").focus()
        await pilot.press("right", "right")
        box = next(r.box for r in app.query(NumberRow) if r.field.key == "blade.length_mm")
        box.focus()
        await pilot.press("7", "5")
        await pilot.pause()
        assert (tmp_path / LAST).exists()

    async def find(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        assert app.values == {"tasks.wood-carving": "10", "blade.length_mm": "75"}
        assert row(app, "tasks.wood-carving").value == "10"
        assert app.answer is not None
        assert app.answer.brief.blade.length_mm == 75
        await pilot.press("f6")
        await answered(app, pilot)
        assert app.values == {}
        assert row(app, "tasks.wood-carving").value == ""

    drive(service, fill, folder=tmp_path)
    drive(service, find, folder=tmp_path)
    assert Keep(tmp_path).left_off() == {}


@pytest.mark.parametrize("raw", [b"", b"not json", b"[1]", b'{"tasks.prying": 5}', b"\xff" * 10])
def test_what_cannot_be_read_is_no_form(tmp_path: Path, raw: bytes) -> None:
    (tmp_path / LAST).write_bytes(raw)
    assert Keep(tmp_path).left_off() == {}


def test_a_brief_is_saved_beside_others_and_says_the_same(service: Service, tmp_path: Path) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        row(app, "tasks.prying").focus()
        await pilot.press("right")
        await pilot.press("f5", "f5")
        await answered(app, pilot)
        assert "--set tasks.prying=5" in text_of(app, "#part-keep")

    drive(service, flow, folder=tmp_path)
    for name in ("brief.toml", "brief-2.toml"):
        assert read_brief((tmp_path / name).read_bytes(), name) == with_settings(Brief(), ["tasks.prying=5"])


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


def test_the_blades_life_has_its_tab(service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        assert "sharpened again and again" in text_of(app, "#part-life")
        assert "⠤" in text_of(app, "#part-life") or "⣀" in text_of(app, "#part-life")

    drive(service, flow)


HOSTILE = ["[/", "[/b]", "[@click=app.quit]x[/]", "\x1b[31mred", "\u202eback", "[bold red]not bold"]


@pytest.mark.parametrize("words", HOSTILE)
def test_hostile_text_is_shown_as_it_is(service: Service, words: str) -> None:
    """A title, a typed number and every part: no crash, no markup, no raw escape."""

    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        for part in app.query(Part):
            part.show(words)
        app.query_one("#state", Static).update("")
        box = app.query(Input).first()
        box.value = words
        await answered(app, pilot)
        await pilot.pause()
        shown = text_of(app, "#part-why") + text_of(app, "#state") + text_of(app, "#blade")
        assert "\x1b" not in shown
        assert "\u202e" not in shown
        if words.startswith("["):
            assert words in text_of(app, "#part-why") or words[:5] in text_of(app, "#state")

    drive(service, flow, brief=Brief(title=words))
