"""Commands where a hostile plug-in is installed: it is named, and costs only itself."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

FORKED = "import sys; from recommender.cli import main; sys.exit(main())"
SPAWNED = "from recommender.processes import supervised_command as s; s.FORKS = False; " + FORKED
"""As where there is no fork."""
NAME = "hostile (hostile-dist 3)"
LIFE = ("life", "--set", "tasks.strap-cutting=1")
Start = Callable[..., subprocess.Popen[str]]


@pytest.fixture
def start(tmp_path: Path) -> Start:
    """Start a command with all that this process can import."""

    def started(*argv: str, way: str = FORKED, **options: object) -> subprocess.Popen[str]:
        return subprocess.Popen(
            [sys.executable, "-c", way, *argv],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            cwd=tmp_path,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
            **options,
        )

    return started


def ended(process: subprocess.Popen[str]) -> tuple[int, str, str]:
    out, err = process.communicate(timeout=120)
    return process.returncode, out, err


ENDS = {
    "exits": ("import os; os._exit(0)", "ended the program with exit code 0"),
    "crashes": ("import ctypes; ctypes.string_at(0)", "crashed (SIGSEGV)"),
    "is killed": ("import os, signal; os.kill(os.getpid(), signal.SIGKILL)", "crashed (SIGKILL)"),
}


@pytest.mark.parametrize(("how", "way"), [*((how, FORKED) for how in ENDS), ("crashes", SPAWNED)])
def test_one_that_ends_the_process_while_loading_is_left_out(install, start: Start, how: str, way: str) -> None:
    code, words = ENDS[how]
    install(at_import=code)
    assert ended(start("--no-plugins", "metrics", way=way))[:2] == (0, (told := ended(start("metrics", way=way)))[1])
    assert told[0] == 0
    assert told[2] == f"bevelwright: plug-in {NAME} {words} while loading; answered without it\n"


def test_one_that_ends_the_process_in_an_answer_is_named_in_it(install, start: Start) -> None:
    install(at_call="import os; os.abort()")
    code, out, err = ended(start("recommend", *LIFE[1:]))
    assert code == 0
    assert "degrees a side" in out
    assert f"plug-in {NAME} failed while computing hostile_figure: crashed (SIGABRT)" in " ".join(out.split())
    assert err == f"bevelwright: plug-in {NAME} crashed (SIGABRT) while computing hostile_figure; answered without it\n"


SILENT = {
    "asleep": "import time; time.sleep(1e6)",
    "in C": "import collections, itertools; collections.deque(itertools.count(), maxlen=0)",
}


@pytest.mark.parametrize(("how", "way"), [("asleep", FORKED), ("in C", FORKED), ("in C", SPAWNED)])
def test_one_that_does_not_return_is_left_out(install, start: Start, how: str, way: str) -> None:
    install(at_import=SILENT[how])
    code, out, err = ended(start("--plugin-seconds", "1", "metrics", way=way))
    assert code == 0
    assert out
    told = f"bevelwright: plug-in {NAME} was still busy after 1 s while loading; answered without it\n"
    assert err == told or (how == "asleep" and not err), "it may stop and be left out before it has to be killed"


TIDY = """import time
try:
    while True: time.sleep(0.01)
finally:
    open({note!r}, "w").close()"""


@pytest.mark.skipif(sys.platform == "win32", reason="nothing asks there")
def test_one_that_is_asked_to_stop_may_put_its_things_away(install, start: Start, tmp_path: Path) -> None:
    install(at_import=TIDY.format(note=str(tmp_path / "put away")))
    assert ended(start("--plugin-seconds", "1", "metrics"))[0] == 0
    assert (tmp_path / "put away").exists()


def test_what_has_been_written_is_not_written_again(install, start: Start, tmp_path: Path) -> None:
    install(at_call="import os; sections.designs['height_mm'][0] == 33 and os._exit(0)")
    rows = tmp_path / "briefs.jsonl"
    brief = '{{"tasks": {{"strap-cutting": 1}}, "blade": {{"height_mm": {}}}}}\n'
    rows.write_text(brief.format(30) + brief.format(33))
    code, out, err = ended(start("sweep", str(rows), "--jobs", "1"))
    assert code == 3
    assert len(out.splitlines()) == 1, "the first row, and not twice"
    assert err.splitlines()[-1] == (
        f"bevelwright: plug-in {NAME} ended the program with exit code 0 while computing hostile_figure, "
        "and the answer is not whole; try --without hostile"
    )


def test_input_that_is_read_is_gone(install, start: Start) -> None:
    install(at_call="import os; os._exit(0)")
    process = start("life", "-", stdin=subprocess.PIPE)
    out, err = process.communicate("tasks.strap-cutting = 1\n", timeout=120)
    assert (process.returncode, out) == (3, "")
    assert "try --without hostile" in err


def test_a_strict_command_does_not_go_on_without_it(install, start: Start) -> None:
    install(at_call="import os; os._exit(0)")
    code, out, err = ended(start(*LIFE, "--strict"))
    assert (code, out) == (3, "")
    assert "ended the program with exit code 0" in err


def test_an_exit_code_proves_nothing(install, start: Start) -> None:
    """It ends the process after its call, by a thread: nobody can say whose it was, but empty is no answer."""
    install(at_import="import os, threading; threading.Timer(0.2, os._exit, [0]).start()")
    code, out, err = ended(start(*LIFE))
    assert (code, out) == (3, "")
    assert "it ended the program with exit code 0 in no call of a plug-in; try --no-plugins" in err


def test_what_happens_at_exit_takes_nothing_from_the_answer(install, start: Start) -> None:
    install(at_import="import atexit, os, time; atexit.register(os._exit, 9); atexit.register(time.sleep, 1e6)")
    code, out, err = ended(start("metrics"))
    assert (code, err) == (0, "")
    assert "Hostile figure" in out


def test_codes_of_commands_are_their_own(install, start: Start) -> None:
    install()
    assert ended(start("recommend", "--set", "tasks.nonsense=1"))[0] == 2
    assert ended(start("recommend", "--nonsense"))[0] == 2
    assert ended(start("metrics"))[0] == 0


HOLDS = "import time, os; open('here', 'w').write(str(os.getpid())); time.sleep(1e6)"


@pytest.mark.skipif(sys.platform == "win32", reason="signals as POSIX has them")
@pytest.mark.parametrize("to_all", [False, True], ids=["to the first", "to the group"])
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP, signal.SIGKILL], ids=lambda n: n.name)
def test_who_ends_one_ends_both(install, start: Start, tmp_path: Path, number: signal.Signals, to_all: bool) -> None:
    install(at_import=HOLDS)
    way = "import signal; signal.signal(signal.SIGINT, signal.default_int_handler); "
    way += "signal.signal(signal.SIGHUP, signal.SIG_DFL); " + FORKED  # ignored where the tests run in the background
    process = start("metrics", way=way, start_new_session=True)
    end = time.monotonic() + 60
    while not (tmp_path / "here").exists() or not (child := (tmp_path / "here").read_text()):
        assert time.monotonic() < end
        time.sleep(0.01)
    assert int(child) != process.pid
    (os.killpg if to_all else os.kill)(process.pid, number)
    code, out, err = ended(process)
    expected = {signal.SIGINT: 130, signal.SIGTERM: 143}
    assert code == expected.get(number, -number)
    assert (out, err) == ("", "")
    while os.path.exists(f"/proc/{child}"):
        assert time.monotonic() < end, "the child is an orphan"
        time.sleep(0.01)
