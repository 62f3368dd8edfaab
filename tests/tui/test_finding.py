"""Finding one's way: words in the answer, one of many choices, keys by name, a click where it is meant."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import pytest
from textual.pilot import Pilot
from textual.widgets import TabbedContent

from recommender.models.brief import Brief
from recommender.service import Service
from recommender.tui.app import BevelwrightApp
from recommender.tui.key_names import bindings, key_names
from recommender.tui.screens.choice_screen import ChoiceScreen
from recommender.tui.state.keys_file import KEYS, keymap
from recommender.tui.widgets.brief_form import BriefForm


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
def test_words_are_found_on_every_page(tui: SimpleNamespace, service: Service, size: tuple[int, int]) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        tabs = app.main.query_one("#tabs", TabbedContent)
        await pilot.press("slash", *"children")
        await tui.answered(app, pilot)
        assert tabs.active == "tab-care"  # the caution that names them stands there alone
        assert "1 of " in tui.text_of(app, "#search-count")
        await pilot.press("escape")
        await pilot.pause()
        assert not app.main.has_class("-searching")
        assert app.focused is not None
        assert tabs in app.focused.ancestors
        await pilot.press("slash", *"zzzz")
        await tui.answered(app, pilot)
        assert "nothing" in tui.text_of(app, "#search-count")

    tui.drive(service, flow, size=size)


def test_the_next_place_comes_with_enter_and_round_again(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        await pilot.press("slash", *"edge")
        await tui.answered(app, pilot)
        count = int(tui.text_of(app, "#search-count").partition(" of ")[2].partition(":")[0])
        assert count > 2
        await pilot.press("enter")
        assert f"2 of {count}" in tui.text_of(app, "#search-count")
        await pilot.press("up", "up")
        assert f"{count} of {count}" in tui.text_of(app, "#search-count")

    tui.drive(service, flow)


def test_one_of_many_steels_is_found_by_a_part_of_its_name(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        tui.row(app, "steel.grade").focus()
        await pilot.press("enter")
        await pilot.pause()
        assert isinstance(app.screen, ChoiceScreen)
        await pilot.press(*"5210")
        await pilot.pause()
        assert [str(option.prompt) for option in app.screen.choices.options] == ["52100"]
        await pilot.press("enter")
        await tui.answered(app, pilot)
        assert app.values["steel.grade"] == "52100"
        await pilot.press("enter", "escape")
        await pilot.pause()
        assert app.values["steel.grade"] == "52100"
        assert app.focused is tui.row(app, "steel.grade")

    tui.drive(service, flow)


def test_a_click_on_a_task_adds_to_it_and_one_on_its_bar_sets_it(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        row = next(r for r in app.query("FieldRow") if r.field.key.startswith("tasks."))  # type: ignore[attr-defined]
        await pilot.click(row, offset=(3, 0))
        await pilot.click(row, offset=(5, 0))
        assert row.value == "2"  # type: ignore[attr-defined]
        bar = str(row.render()).index("━")
        await pilot.click(row, offset=(bar + 6, 0))
        assert row.value == "7"  # type: ignore[attr-defined]

    tui.drive(service, flow)


def test_coming_back_finds_the_row_that_one_left(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        await pilot.press(*["down"] * 7)
        left = app.focused
        await pilot.press("f2")
        await pilot.pause()
        assert app.main.query_one(BriefForm) not in app.focused.ancestors  # type: ignore[union-attr]
        await pilot.press("f2")
        await pilot.pause()
        assert app.focused is left

    tui.drive(service, flow, size=(80, 24))


def test_the_palette_says_which_key_does_the_same(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        app.own_keys = {"save": "f11"}
        help_of = {command.title: command.help for command in app.get_system_commands(app.main)}
        assert help_of["Save the brief"].startswith("f11: ")
        assert help_of["Start afresh"].startswith("f6: ")

    tui.drive(service, flow, brief=Brief.model_validate({"tasks": {"prying": 1}}))


def test_every_key_has_a_name_and_names_of_earlier_versions_go_on_working(tmp_path: Path) -> None:
    names = list(key_names())
    assert len(names) == len(set(names))
    assert {"field.less", "try.back", "choice.take", "book.sent", "rulebook.filter", "search"} <= set(names)
    (tmp_path / KEYS).write_text('ghost = "f10"\n"field.less" = "h"\n')
    assert keymap(key_names(), tmp_path) == {"dotted": "f10", "field.less": "h"}


def test_no_two_names_are_told_apart_by_nothing() -> None:
    for binding in bindings():
        assert binding.description.strip(), binding.id


def test_two_blades_are_worked_out_when_asked(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        await pilot.press("f10")
        await tui.answered(app, pilot)
        said = tui.text_of(app, "#part-others")
        assert app.main.query_one("#tabs", TabbedContent).active == "tab-others"
        assert "One, for wood-splitting" in said
        assert "The other, for food-prep" in said

    tui.drive(service, flow, brief=Brief.model_validate({"tasks": {"food-prep": 1, "wood-splitting": 1}}))
