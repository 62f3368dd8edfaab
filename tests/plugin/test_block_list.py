"""Plug-ins that a user shuts out are not even imported, and every answer says so."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from recommender.cli import main
from recommender.errors import InputError
from recommender.models.brief import Brief
from recommender.plugin.block_list import blocked_file
from recommender.plugin.registry import load
from recommender.service import Service, with_settings

BRIEF = with_settings(Brief(), ["tasks.food-prep=1"])
MARK = "was imported"


@pytest.fixture
def installed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A plug-in that leaves a mark when it is imported."""
    folder = tmp_path / "site"
    info = folder / "tattler-2.dist-info"
    info.mkdir(parents=True)
    source = f"from pathlib import Path\nPath(__file__).with_name('{MARK}').touch()\nBEVELWRIGHT_API = 1\n"
    (folder / "tattler.py").write_text(source, encoding="utf-8")
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: tattler\nVersion: 2\n", encoding="utf-8")
    (info / "entry_points.txt").write_text("[bevelwright.plugins]\ntattler = tattler\n", encoding="utf-8")
    monkeypatch.syspath_prepend(folder)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    yield folder
    sys.modules.pop("tattler", None)


def block(text: str | bytes) -> Path:
    file = blocked_file()
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    return file


def test_unblocked_it_is_imported(installed: Path) -> None:
    assert "tattler" in {origin.plugin for origin in load().origins}
    assert (installed / MARK).exists()


@pytest.mark.parametrize("how", ["list", "without"])
def test_a_blocked_one_is_not_imported_and_the_answer_says_so(how: str, installed: Path) -> None:
    if how == "list":
        block("# not this one\n\n  tattler   # since it broke\nanother\n")
    service = Service(without=["tattler"] if how == "without" else [])
    answer = service.recommend(BRIEF, flips=False)
    assert answer.provenance.blocked == ["tattler (tattler 2)"]
    assert "tattler" not in {used.plugin for used in answer.provenance.plugins}
    assert answer.provenance.failed == []
    assert [(t.plugin, t.state, t.gives) for t in service.loaded.plugin_statuses() if t.plugin == "tattler"] == [
        ("tattler", "blocked", ())
    ]
    assert not (installed / MARK).exists()


COMMANDS = {
    "recommend": ["--json"],
    "life": ["--json"],
    "draw": ["--svg", "drawn.svg"],
    "worksheet": ["--json"],
    "quote": ["--json"],
    "sweep": ["rows.csv"],
}


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_that_answers_can_do_without_it(
    command: str, installed: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(installed.parent)
    Path("rows.csv").write_text("tasks.food-prep\n1\n", encoding="utf-8")
    assert main([command, *COMMANDS[command], "--set", "tasks.food-prep=1", "--without", "tattler"]) == 0
    assert not (installed / MARK).exists()
    told = "".join(capsys.readouterr())
    if command in ("recommend", "life", "quote"):
        assert '"tattler (tattler 2)"' in told
    if command == "sweep":
        assert "blocked, not imported: plug-in tattler (tattler 2)" in told


def test_a_misspelt_name_is_refused_rather_than_let_in(installed: Path) -> None:
    with pytest.raises(InputError, match=r"there is no plug-in 'tatler'.*nearest: tattler"):
        _ = Service(without=["tatler"]).registry
    assert not (installed / MARK).exists()


@pytest.mark.parametrize(
    ("text", "says"), [(b"\xff\xfe", "is not UTF-8"), (b"x\n" * 60_000, "too long")], ids=["no text", "too long"]
)
def test_a_broken_list_lets_nothing_in(installed: Path, text: bytes, says: str) -> None:
    file = block(text)
    with pytest.raises(InputError, match=says) as told:
        _ = Service().registry
    assert str(file) in str(told.value)
    assert not (installed / MARK).exists()


def test_a_list_that_is_no_file_lets_nothing_in(installed: Path) -> None:
    blocked_file().parent.mkdir(parents=True)
    blocked_file().symlink_to(installed / "nowhere")
    with pytest.raises(InputError, match="cannot be read"):
        _ = Service().registry
    assert not (installed / MARK).exists()


def test_the_list_names_it_and_checking_all_leaves_it_alone(
    installed: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    block("tattler\nbuiltin\n")
    assert main(["plugins", "list", "--json"]) == 0
    told = {plugin["plugin"]: plugin for plugin in json.loads(capsys.readouterr().out)}
    assert told["tattler"] == {
        "plugin": "tattler", "distribution": "tattler 2", "api": None, "state": "blocked",
        "disabled_by": "the block list", "gives": {}, "failed": [],
    }  # fmt: skip
    assert main(["plugins", "check", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == []
    block("")
    assert main(["plugins", "list"]) == 0
    out = capsys.readouterr().out
    assert "tattler (tattler 2), API 1\n" in out
    assert "11 grinds: full-flat, " in out
    assert str(blocked_file())[:30] in out
