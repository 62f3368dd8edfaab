"""Rulebook, help, opening and saving, the palette, keys of one's own, themes."""

from __future__ import annotations

import json
from pathlib import Path
from types import ModuleType, SimpleNamespace

import pytest
from textual.pilot import Pilot
from textual.widgets import Input, OptionList

from recommender.errors import InputError
from recommender.models.brief import Brief
from recommender.service import Service, brief_toml, read_brief, with_settings
from recommender.tui.app import BevelwrightApp
from recommender.tui.screens.file_name_screen import FileNameScreen
from recommender.tui.screens.help_screen import HelpScreen
from recommender.tui.screens.rulebook_screen import RulebookScreen
from recommender.tui.state.form_fields import groups, settings, values_of
from recommender.tui.state.keys_file import KEYS, keymap
from recommender.tui.state.session_state import SessionState
from recommender.tui.themes import DARK, LIGHT
from recommender.tui.widgets.brief_form import FieldRow, NumberRow
from recommender.worker.answering import catalogue
from recommender.worker.drawn_blade import NOTHING_DRAWN
from recommender.worker.messages import Refused
from recommender.worker.parts import AnswerPart


def test_the_rulebook_is_filtered_and_searched(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        await pilot.press("f9")
        await pilot.pause()
        screen = app.screen
        assert isinstance(screen, RulebookScreen)
        assert len(screen.listed) == len(service.knowledge.rules)
        for state in ("fired", "silent", "blocked"):
            await pilot.press("f9")
            assert {r.state for r in screen.listed} == {state}
        await pilot.press("f9")
        assert "builtin" in tui.text_of(app, "#rule-list")
        assert "full-flat" in tui.text_of(app, "#rule-text")
        await pilot.press("f9", "slash", *"thick")
        await pilot.pause()
        assert 0 < len(screen.listed) < len(service.knowledge.rules)
        await pilot.press("enter", "down")
        shown = tui.text_of(app, "#rule-text")
        assert "Because: " in shown
        assert "Basis: " in shown
        await pilot.press("slash", *"zzzzz")
        assert "Nothing here" in tui.text_of(app, "#rule-text")
        await pilot.press("escape", "escape")
        assert not isinstance(app.screen, RulebookScreen)

    tui.drive(service, flow)


@pytest.mark.parametrize("size", [(80, 24), (120, 40)], ids=str)
def test_a_reason_opens_its_rule(tui: SimpleNamespace, service: Service, size: tuple[int, int]) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        assert app.answer is not None
        app.action_show_tab("why")
        await pilot.pause()
        await pilot.press("down", "enter")
        await pilot.pause()
        assert isinstance(app.screen, RulebookScreen)
        shown = tui.text_of(app, "#rule-text")
        assert f"“{app.screen.wanted}”" in shown
        assert app.screen.wanted in {r.rule for r in app.answer.reasons}
        assert "Fired" in shown

    tui.drive(service, flow, size=size)


def test_an_answer_that_comes_while_a_screen_is_open_is_shown_below(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        tui.row(app, "tasks.wood-splitting").focus()
        await pilot.press("right", "f1")
        await tui.answered(app, pilot)
        assert isinstance(app.screen, HelpScreen)
        await pilot.press("f2", "f5", "f12")
        assert isinstance(app.screen, HelpScreen)
        await pilot.press("escape")
        assert app.answer is not None
        assert app.answer.brief.tasks == {"wood-splitting": 1.0}
        assert app.answer.proposal is not None
        assert app.answer.proposal.grind_label in tui.text_of(app, "#headline").lower()

    tui.drive(service, flow)


def test_help_says_where_one_is_and_draws_every_grind(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        tui.row(app, "owner.climate").focus()
        await pilot.press("f1")
        await pilot.pause()
        shown = tui.text_of(app, "#help")
        assert "Where you are: What the blade meets" in shown
        for grind in service.grinds.values():
            assert f"  {grind.label}: " in shown
        assert all(outline is not None for _, outline, _ in service.drawings.grinds_drawn())
        assert sum("⣿⣿" in line for line in shown.split("\n")) >= len(service.grinds)
        for name in ("save", "keep-trial", "rulebook"):
            assert f"[{name}]" in shown

    tui.drive(service, flow)


def test_a_broken_plugin_is_in_the_rulebook_with_its_reason(tui: SimpleNamespace) -> None:
    broken = ModuleType("broken")
    broken.BEVELWRIGHT_API = 99  # type: ignore[attr-defined]

    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        await pilot.press("f9", "f9", "f9", "f9", "f9")
        await pilot.pause()
        assert "1 plug-in with failures" in tui.text_of(app, "#rule-state")
        listed = app.screen.query_one("#rule-list", OptionList)
        listed.highlighted = listed.option_count - 1
        await pilot.pause()
        assert "BEVELWRIGHT_API is 99" in tui.text_of(app, "#rule-text")

    tui.drive(Service(plugins={"broken": broken}), flow)


EVERYTHING = [
    "title=Left-handed hunter [b]",
    "tasks.game-dressing=0.7",
    "tasks.pocket-carry=0.3",
    "steel.grade=1.4116",
    "steel.hardness_hrc=57",
    "owner.gear=bench-stones,strop",
    "owner.skill=beginner",
    "owner.hand=left",
    "owner.climate=wet",
    "owner.use_hours_per_week=3.5",
    "blade.profile=drop",
    "blade.stock_thickness_mm=3.5",
    "blade.height_mm=26",
    "blade.length_mm=95",
    "blade.distal_taper_mm_per_mm=0.01",
    "blade.swedge=short",
    "workshop.wheels_mm=50,100,250",
    "workshop.wheel_hardness_shore_a=60",
    "workshop.platen=yes",
    "workshop.slack_belt=no",
    "wishes.grind=full-flat",
    "wishes.edge_angle_per_side_deg=18",
    "wishes.grind_line_mm=22",
    "wishes.edge_thickness_mm=0.4",
]


def test_the_form_asks_for_every_field_of_a_brief(service: Service) -> None:
    """What a brief can say and the form cannot would be lost when it is opened."""
    given = with_settings(Brief(), EVERYTHING)
    again = with_settings(Brief(), settings(values_of(given)))
    assert again.model_copy(update={"tasks": {}}) == given.model_copy(update={"tasks": {}})
    total = sum(again.tasks.values())
    assert {k: v / total for k, v in again.tasks.items()} == pytest.approx(given.tasks)
    keys = {f.key for g in groups(catalogue(service)) for f in g.fields}
    assert set(values_of(given)) <= keys
    for table in ("steel", "owner", "blade", "workshop", "wishes"):
        names = type(getattr(given, table)).model_fields
        assert all(any(k.startswith(f"{table}.{name}") for k in keys) for name in names)


def test_a_brief_is_opened_and_recent_the_next_time(tui: SimpleNamespace, service: Service, tmp_path: Path) -> None:
    path = tmp_path / "order.toml"
    path.write_text(brief_toml(with_settings(Brief(), ["tasks.prying=1", "owner.hand=left", "blade.length_mm=90"])))
    (tmp_path / "broken.toml").write_text("tasks = [")

    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        app.action_open()
        await pilot.pause()
        assert isinstance(app.screen, FileNameScreen)
        await pilot.press(*"order.toml", "enter")
        await tui.answered(app, pilot)
        assert app.values == {"tasks.prying": "1", "owner.hand": "left", "blade.length_mm": "90"}
        assert tui.row(app, "owner.hand").value == "left"
        assert app.answer is not None
        assert app.answer.brief.blade.length_mm == 90
        app.files.open(tmp_path / "broken.toml")
        assert "broken.toml" in tui.text_of(app, "#state")
        assert app.values["owner.hand"] == "left"
        app.files.open(tmp_path / "missing.toml")
        assert "cannot be read" in tui.text_of(app, "#state")

    tui.drive(service, flow, folder=tmp_path)
    assert SessionState(tmp_path).recent() == [path]


def test_save_as_never_replaces_what_is_no_brief(tui: SimpleNamespace, service: Service, tmp_path: Path) -> None:
    (tmp_path / "notes.toml").write_text("shopping = 1\n")

    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        tui.row(app, "tasks.prying").focus()
        await pilot.press("right")
        for name in ("notes.toml", "mine.toml"):
            app.action_save_as()
            await pilot.pause()
            app.screen.query_one("#path-box", Input).value = name
            await pilot.press("enter")
            await tui.answered(app, pilot)
            if name == "notes.toml":
                assert "is no brief" in tui.text_of(app, "#state")

    tui.drive(service, flow, folder=tmp_path)
    assert (tmp_path / "notes.toml").read_text() == "shopping = 1\n"
    assert read_brief((tmp_path / "mine.toml").read_bytes(), "mine.toml").tasks == {"prying": 1}


def test_what_came_of_an_action_stays_until_the_next_question(
    tui: SimpleNamespace, service: Service, tmp_path: Path
) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        assert app.answer is not None
        app.files.open(tmp_path / "missing.toml")
        late = AnswerPart(brief=app.brief, answer=app.answer, drawn=NOTHING_DRAWN)
        app.deliver(late, app.serial, app.take_answer)
        await tui.answered(app, pilot)
        assert "cannot be read" in tui.text_of(app, "#state")
        app.deliver(Refused(serial=1, words="no such steel"), app.serial, app.take_answer)
        await tui.answered(app, pilot)
        assert tui.text_of(app, "#state") == "no such steel"
        app.files.open(tmp_path / "missing.toml")
        tui.row(app, "tasks.prying").focus()
        await pilot.press("right")
        await tui.answered(app, pilot)
        assert tui.text_of(app, "#state") == ""

    tui.drive(service, flow, folder=tmp_path)


def test_the_answer_is_saved_as_text_json_and_drawing(tui: SimpleNamespace, service: Service, tmp_path: Path) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        titles = [command.title for command in app.get_system_commands(app.screen)]
        assert len(titles) == len(set(titles))
        for command in app.get_system_commands(app.screen):
            if command.title.startswith("Save the answer"):
                command.callback()
        app.action_copy_answer("txt")
        await tui.answered(app, pilot)
        assert app.answer is not None
        assert json.loads((tmp_path / "answer.json").read_text()) == app.answer.as_json()
        assert "Recommended" in app.clipboard

    tui.drive(service, flow, folder=tmp_path)
    assert "Recommended" in (tmp_path / "answer.txt").read_text()
    assert (tmp_path / "answer.svg").read_text().startswith("<svg")


def test_keys_can_be_changed(tui: SimpleNamespace, service: Service, tmp_path: Path) -> None:
    known = [b.id for b in BevelwrightApp.BINDINGS if getattr(b, "id", None)]
    (tmp_path / KEYS).write_text('inches = "ctrl+t"\n')
    keys = keymap(known, tmp_path)
    assert keys == {"inches": "ctrl+t"}

    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        app.set_keymap(keys)
        await pilot.press("f4")
        assert not app.inches
        await pilot.press("ctrl+t")
        assert app.inches

    tui.drive(service, flow)
    (tmp_path / KEYS).write_text('inch = "ctrl+t"\n')
    with pytest.raises(InputError, match="inches"):
        keymap(known, tmp_path)


def test_every_binding_can_be_changed() -> None:
    for owner in (BevelwrightApp, FieldRow, NumberRow, RulebookScreen, HelpScreen, FileNameScreen):
        for binding in owner.BINDINGS:
            if owner is not NumberRow:
                assert binding.id, (owner, binding)


def _luminance(colour: str) -> float:
    parts = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("theme", [DARK, LIGHT], ids=lambda t: t.name)
def test_text_stands_seven_to_one_on_its_ground(theme) -> None:
    """Contrast ratio by relative luminance, WCAG 2.1 definition, level AAA 7:1 (known from memory)."""
    inks = [theme.foreground, theme.primary, theme.accent, theme.warning, theme.error, theme.variables["text-muted"]]
    for ground in (theme.background, theme.surface, theme.panel):
        for ink in inks:
            light, dark = sorted((_luminance(ink), _luminance(ground)), reverse=True)
            assert (light + 0.05) / (dark + 0.05) >= 7, (ink, ground)
