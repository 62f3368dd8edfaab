"""What was kept: a bad file hurts once, is set aside and told; a bad file of keys is told and left where it is."""

from __future__ import annotations

import json
import os
from pathlib import Path
from types import SimpleNamespace

import pytest
from textual.pilot import Pilot

import recommender.tui
from recommender.errors import InputError
from recommender.service import Service
from recommender.tui.app import BevelwrightApp
from recommender.tui.state.keys_file import KEYS, keymap
from recommender.tui.state.session_state import LAST, ORDER, RECENT, VIEW, SessionState
from recommender.tui.terminal_app import TerminalApp

BAD = [
    b"[" * 30_000,
    b"\xff\xfe",
    b'{"a": ' + b"9" * 5_000 + b"}",
    b'{"a": "' + b"x" * 70_000 + b'"}',
    b'{"a": "\\ud800"}',
    b"[1]",
]


@pytest.mark.parametrize("name", [LAST, ORDER, VIEW, RECENT])
@pytest.mark.parametrize("raw", BAD, ids=["nested", "bytes", "long number", "long", "surrogate", "types"])
def test_a_bad_file_is_set_aside_and_told_once(tmp_path: Path, name: str, raw: bytes) -> None:
    (tmp_path / name).write_bytes(raw)
    aside = tmp_path / name.replace(".json", ".set-aside.json")
    assert str(aside) in SessionState(tmp_path).set_aside()
    assert aside.read_bytes() == raw
    assert SessionState(tmp_path).set_aside() == ""


def test_what_is_sound_in_it_is_used(tmp_path: Path) -> None:
    (tmp_path / LAST).write_text(json.dumps({"tasks.prying": "2", "steel.grade": 3}))
    assert SessionState(tmp_path).left_off() == {"tasks.prying": "2"}


def test_a_pipe_does_not_hang(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / LAST)
    session = SessionState(tmp_path)
    assert session.left_off() == {}
    assert "set-aside" in session.set_aside()


def test_a_session_that_never_stood_sets_its_form_aside(tmp_path: Path) -> None:
    (tmp_path / LAST).write_text('{"tasks.prying": "2"}')
    assert SessionState(tmp_path).left_off() == {"tasks.prying": "2"}
    after = SessionState(tmp_path)
    assert after.left_off() == {}
    assert str(tmp_path / "as-left.set-aside.json") in after.set_aside()


def test_it_is_told_in_the_interface_and_a_session_that_stands_gives_names_back(
    tui: SimpleNamespace, service: Service, tmp_path: Path
) -> None:
    (tmp_path / LAST).write_bytes(BAD[0])
    (tmp_path / VIEW).write_text('{"lengths": "inches"}')

    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        (told,) = [note.message for note in app._notifications if note.severity == "warning"]
        assert str(tmp_path / "as-left.set-aside.json") in told
        assert app.inches
        assert {path.name for path in tmp_path.iterdir()} == {VIEW, "as-left.set-aside.json"}

    tui.drive(service, flow, folder=tmp_path)


@pytest.mark.parametrize(
    "raw", [b'halp = "f1"', b'help = "\\u001b[31m"', b"\xff", b"help = " + b"[" * 9_000, b"#" * 70_000]
)
def test_bad_keys_are_told_and_the_interface_opens(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, raw: bytes) -> None:
    file = tmp_path / "bevelwright" / KEYS
    file.parent.mkdir()
    file.write_bytes(raw)
    with pytest.raises(InputError):
        keymap(["help"], file.parent)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    opened: list[TerminalApp] = []
    monkeypatch.setattr(TerminalApp, "run", lambda app: opened.append(app))
    assert recommender.tui.run() == 0
    assert str(file) in opened[0].key_trouble
    assert file.read_bytes() == raw
