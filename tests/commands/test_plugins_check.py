"""`plugins check` stands apart from what it checks: loops, crashes and floods are caught and named."""

from __future__ import annotations

import json
import sys
import time
from pathlib import Path

import pytest

from recommender.cli import main
from recommender.commands.extensions.check_targets import targets
from recommender.commands.extensions.sandbox import SandboxReport, check_apart
from recommender.errors import InputError

PLUGIN = """
import ctypes, os, signal, subprocess, sys
import numpy as np
from recommender.plugin.api import Metric
from recommender.plugin.hooks import hookimpl
from recommender.units import Unit

BEVELWRIGHT_API = 1


def compute(sections, context):
    {compute}
    return np.zeros(len(sections))


@hookimpl
def metrics():
    {hook}
    return [Metric(id="tried", label="tried", unit=Unit.MM, better="either", about="Tried.", estimate=True,
                   compute=compute)]
"""
DEADLY = {
    "leaves at once": ("os._exit(0)", "ended the program while loading it"),
    "leaves with a code": ("os._exit(3)", "ended the program with exit code 3 while loading it"),
    "is ended": ("os.kill(os.getpid(), signal.SIGSEGV)", "crashed (SIGSEGV) while loading it"),
    "null pointer": ("ctypes.string_at(0)", "crashed (SIGSEGV) while loading it"),
    "wants all memory": ("hog = np.ones(1 << 40)", "MemoryError"),
    "wants it bit by bit": ("hog = [bytearray(1 << 28) for _ in range(64)]", "giving metrics: MemoryError"),
    "flood": ("while True: os.write(1, b'x' * 65536)", "printed more than 1,048,576 bytes and was stopped while"),
    "prints": ("print('x' * 10_000_000)", "giving metrics: printed more than 64,000 characters"),
    "exits": ("sys.exit(0)", "giving metrics: SystemExit: 0"),
    "leaves a file": ("open('left.txt', 'w').close()", "leaves files behind: left.txt"),
}
SECONDS = 30.0
"""Long enough to come to where it breaks on a slow machine."""


def written(folder: Path, *, hook: str = "pass", compute: str = "pass") -> str:
    file = folder / "tried.py"
    file.write_text(PLUGIN.format(hook=hook, compute=compute), encoding="utf-8")
    return str(file)


def check(text: str, seconds: float = SECONDS) -> SandboxReport:
    (target,) = targets(text)
    return check_apart(target, seconds)


@pytest.mark.parametrize("name", DEADLY)
def test_what_would_end_the_program_is_named(name: str, tmp_path: Path) -> None:
    body, says = DEADLY[name]
    found = [str(finding) for finding in check(written(tmp_path, hook=body)).findings]
    assert any(says in words for words in found), found


@pytest.mark.skipif(sys.platform != "linux", reason="looks for processes where Linux shows them")
def test_an_endless_loop_is_stopped_with_all_that_it_has_started(tmp_path: Path) -> None:
    mark = f"time.sleep({time.time_ns()})"
    loop = f"subprocess.Popen([sys.executable, '-c', 'import time; {mark}'])\n    while True: pass"
    (finding,) = check(written(tmp_path, hook=loop), 4).findings
    assert str(finding) == "tried: was still busy after 4 s and was stopped while loading it"
    commands = [path.read_bytes() for path in Path("/proc").glob("[0-9]*/cmdline") if path.exists()]
    assert not any(mark.encode() in command for command in commands)


@pytest.mark.parametrize(
    ("body", "says", "seconds"),
    [("os._exit(0)", "ended the program", SECONDS), ("while True: pass", "was still busy", 8)],
)
def test_what_breaks_at_work_is_named_with_what_was_tried(body: str, says: str, seconds: float, tmp_path: Path) -> None:
    (finding,) = check(written(tmp_path, compute=body), seconds).findings
    assert finding.problem.startswith(says)
    assert finding.problem.endswith("while checking metric tried")


def test_a_loop_at_import_is_stopped(tmp_path: Path) -> None:
    (tmp_path / "tried.py").write_text("while True: pass", encoding="utf-8")
    (finding,) = check(str(tmp_path / "tried.py"), 3).findings
    assert str(finding) == "tried: was still busy after 3 s and was stopped while loading it"


def test_exit_codes_and_json(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plugins", "check", written(tmp_path), "--json"]) == 0
    (told,) = json.loads(capsys.readouterr().out)
    assert (told["target"], told["kind"], told["findings"]) == ("tried", "file", [])
    assert main(["plugins", "check", written(tmp_path, hook="1 / 0")]) == 1
    out = " ".join(capsys.readouterr().out.split())
    assert "plug-in: giving metrics: ZeroDivisionError: division by zero" in out
    assert main(["plugins", "check", "no-such-plugin"]) == 2
    assert "there is no plug-in 'no-such-plugin'" in capsys.readouterr().err
    assert main(["plugins", "check", written(tmp_path), "--seconds", "0"]) == 2


def test_hostile_words_reach_no_terminal(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["plugins", "check", written(tmp_path, hook="raise ValueError('\\x1b[2J\\x9b\\u202e\\n' * 1000)")])
    out = capsys.readouterr().out
    assert "giving metrics: ValueError" in out
    assert not set(out) & {"\x1b", "\x9b", "\u202e"}
    assert len(out) < 4000


@pytest.mark.parametrize("toml", ["", "[project]", 'entry-points = "x"', "[["])
def test_a_folder_that_is_no_distribution_is_refused(toml: str, tmp_path: Path) -> None:
    (tmp_path / "pyproject.toml").write_text(toml, encoding="utf-8")
    with pytest.raises(InputError, match=r"pyproject\.toml"):
        targets(str(tmp_path))


def test_targets_are_told_apart_without_importing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "here.py").write_text("raise RuntimeError('imported')", encoding="utf-8")
    (tmp_path / "own").mkdir()
    (tmp_path / "own" / "pack.toml").write_text("", encoding="utf-8")
    given = ("builtin", "here", "here.py", "own", "bevelwright_builtin.grinds.flat")
    assert [targets(text)[0].kind for text in given] == [
        "plug-in", "module", "file", "pack", "module",
    ]  # fmt: skip
    assert "here" not in sys.modules
