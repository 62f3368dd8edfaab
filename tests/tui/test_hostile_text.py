"""Text from packs, plug-ins and briefs is shown as it is on every screen: no crash, no markup, no raw escape."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from types import SimpleNamespace

import pytest
from textual.pilot import Pilot
from textual.widgets import Input, TabbedContent

from recommender.models.brief import Brief
from recommender.service import Service
from recommender.tui.app import BevelwrightApp
from recommender.tui.screens.file_name_screen import FileNameScreen
from recommender.tui.tabs import TABS

HOSTILE = ["[/b][@click=app.quit]x[/] [bold red]not bold[/", "\x1b[31mred\u202eback\x9b2J"]


@pytest.fixture
def hostile(service: Service, words: str) -> Service:
    """The shipped knowledge with the words in every label, title and reason."""
    fresh = Service()
    known = fresh.knowledge
    for table in (known.tasks, known.gear, known.steels, known.materials):
        for id_, row in table.items():
            table[id_] = row.model_copy(update={"label": words, "meaning": words, "name": words})
    for loaded in list(known.rules.values()):
        effect = loaded.rule.effect
        changed = {"title": words, "because": words}
        if hasattr(effect, "text"):
            changed["effect"] = effect.model_copy(update={"text": words})
        rule = loaded.rule.model_copy(update=changed)
        known.rules[rule.id] = dataclasses.replace(loaded, rule=rule, pack=words, file=words)
    for id_, stamped in list(fresh.registry.grinds.items()):
        item = dataclasses.replace(stamped.item, label=words, about=words, made=words, sharpened=words)
        fresh.registry.grinds[id_] = dataclasses.replace(stamped, item=item)
    for id_, metric in list(fresh.registry.metrics.items()):
        fresh.registry.metrics[id_] = dataclasses.replace(metric, item=dataclasses.replace(metric.item, label=words))
    return fresh


@pytest.mark.parametrize("words", HOSTILE)
def test_hostile_text_is_shown_as_it_is(tui: SimpleNamespace, hostile: Service, words: str, tmp_path: Path) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        def check() -> None:
            shown = "".join(strip.text for strip in app.screen._compositor.render_strips())
            assert not set(shown) & set("\x1b\x9b\u202e\r\x07")

        for name, *_ in TABS:
            app.query_one("#tabs", TabbedContent).active = f"tab-{name}"
            await pilot.pause()
            check()
        assert words[:6] in tui.text_of(app, "#part-why") or not words.startswith("[")
        app.query(Input).first().value = words
        await tui.answered(app, pilot)
        check()
        assert app.answer is not None
        app.action_rulebook()
        await pilot.pause()
        check()
        await pilot.press("down", "slash", "[", "f9", "f9", "f9", "f9")
        await pilot.pause()
        check()
        await pilot.press("escape", "escape")
        app.action_help_here()
        await pilot.pause()
        check()
        await pilot.press("escape")
        app.push_screen(FileNameScreen(words, words, [Path(words)]))
        await pilot.pause()
        check()
        await pilot.press("escape")
        app.files.open(tmp_path / f"no such {words}")
        await pilot.pause()
        check()

    tui.drive(hostile, flow, brief=Brief(title=words), folder=tmp_path)
