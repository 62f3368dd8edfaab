"""The interface as a process on a pseudo-terminal: what it does to the terminal it undoes, however it ends."""

from __future__ import annotations

import contextlib
import fcntl
import json
import os
import pty
import re
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

ALWAYS_ON = {7, 25}
"""Wrapping of lines and the cursor: on in a terminal that nobody has changed, so off is what has to be undone."""
WAIT_S = 60.0


class Terminal:
    """A process on a terminal of its own, and every byte that it wrote there."""

    def __init__(self, home: Path, *, before: str = "", size: tuple[int, int] = (80, 24)) -> None:
        self.master, self.slave = pty.openpty()
        self.resize(*size)
        self.found = termios.tcgetattr(self.slave)
        self.written = b""
        folders = {f"XDG_{kind}_HOME": str(home) for kind in ("STATE", "CONFIG", "DATA")}
        self.messages = home / "messages"
        with self.messages.open("wb") as messages:
            self.process = subprocess.Popen(
                [sys.executable, "-c", f"{before}\nfrom recommender.cli import main\nraise SystemExit(main([]))"],
                stdin=self.slave,
                stdout=self.slave,
                stderr=messages,
                env=os.environ | folders | {"TERM": "xterm-256color"},
                start_new_session=True,
                # A terminal that is closed tells only those whose terminal it is.
                preexec_fn=lambda: fcntl.ioctl(self.slave, termios.TIOCSCTTY, 0),
            )

    def resize(self, columns: int, rows: int) -> None:
        fcntl.ioctl(self.master, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))

    def press(self, keys: bytes) -> None:
        os.write(self.master, keys)

    def read_until(self, wanted: bytes) -> None:
        """Read on until something new has been written."""
        start, end = len(self.written), time.monotonic() + WAIT_S
        while wanted not in self.written[start:]:
            assert time.monotonic() < end, f"{wanted!r} never came"
            assert self._read() or self.process.poll() is None, f"it ended before {wanted!r}"

    def ended(self) -> int:
        """The exit code, once everything has been read."""
        end = time.monotonic() + WAIT_S
        while self.process.poll() is None:
            assert time.monotonic() < end, "it does not end"
            self._read()
        while self._read():
            pass
        return self.process.returncode

    def _read(self) -> bytes:
        ready, _, _ = select.select([self.master], [], [], 0.05)
        piece = os.read(self.master, 65_536) if ready else b""
        self.written += piece
        return piece

    def left_changed(self) -> set[str]:
        """Every mode that is not as it was found."""
        modes = {int(found[1]): found[2] == b"h" for found in re.finditer(rb"\x1b\[\?(\d+)([hl])", self.written)}
        changed = {f"mode {mode}" for mode, on in modes.items() if on != (mode in ALWAYS_ON)}
        pushed, popped = (len(re.findall(how, self.written)) for how in (rb"\x1b\[>\d+u", rb"\x1b\[<\d*u"))
        changed |= {"kitty keys"} if pushed != popped else set()
        changed |= {"line discipline"} if termios.tcgetattr(self.slave) != self.found else set()
        assert {1049, 1000, 1006, 2004, 25, 1004} <= set(modes), "modes that the interface is known to change"
        assert pushed
        return changed


FIRST = b"What will it mostly do"
"""On the first screen of an empty form."""


@pytest.fixture
def opened(tmp_path: Path) -> Iterator[Terminal]:
    terminal = Terminal(tmp_path)
    yield from _closing(terminal)


def _closing(terminal: Terminal) -> Iterator[Terminal]:
    yield terminal
    if terminal.process.poll() is None:
        terminal.process.kill()
    terminal.process.wait()
    for end in (terminal.master, terminal.slave):
        os.close(end)


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP, signal.SIGINT], ids=lambda n: n.name)
def test_a_signal_leaves_the_terminal_as_it_was_found_and_keeps_the_form(
    opened: Terminal, tmp_path: Path, number: signal.Signals
) -> None:
    opened.read_until(FIRST)
    # As a terminal that can, so that it is told of sizes and pixels in the band too.
    opened.press(b"\x1b[?2048;2$y")
    opened.read_until(b"\x1b[?1016h")
    opened.press(b"a")
    opened.read_until(b"How will it be sharpened")
    end = time.monotonic() + WAIT_S
    while not (tmp_path / "bevelwright" / "as-left.json").exists():
        assert time.monotonic() < end, "nothing is kept"
        opened._read()
    opened.process.send_signal(number)
    assert opened.ended() == 128 + number
    assert opened.left_changed() == set()
    assert list(json.loads((tmp_path / "bevelwright" / "as-left.json").read_bytes()).values()) == ["1"]


def test_quitting_while_it_computes(opened: Terminal) -> None:
    opened.read_until(FIRST)
    opened.press(b"a\x11")
    assert opened.ended() == 0
    assert opened.left_changed() == set()
    assert opened.messages.read_bytes() == b""


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="processes are looked up in /proc")
@pytest.mark.parametrize("end", ["SIGKILL", "SIGTERM", "SIGHUP", "interrupt to the group", "closed terminal", "ctrl+q"])
def test_its_worker_ends_with_it_while_it_computes(tmp_path: Path, end: str) -> None:
    for terminal in _closing(Terminal(tmp_path)):
        terminal.read_until(FIRST)
        terminal.press(b"a")
        workers = _children(terminal.process.pid)
        assert workers, "it computes in no process of its own"
        if end == "closed terminal":
            os.close(terminal.master)
            terminal.master = os.open(os.devnull, os.O_RDONLY)
            os.close(terminal.slave)
            terminal.slave = os.open(os.devnull, os.O_RDONLY)
        elif end == "ctrl+q":
            terminal.press(b"\x11")
        elif end == "interrupt to the group":
            os.killpg(terminal.process.pid, signal.SIGINT)
        else:
            terminal.process.send_signal(getattr(signal, end))
        if end == "closed terminal":
            terminal.process.wait(WAIT_S)
        else:
            terminal.ended()
        until = time.monotonic() + WAIT_S
        while any(Path(f"/proc/{worker}").exists() for worker in workers):
            assert time.monotonic() < until, "an orphan"
            time.sleep(0.01)


def _children(parent: int) -> list[int]:
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        with contextlib.suppress(OSError):
            if int((folder / "stat").read_text().rsplit(")", 1)[1].split()[1]) == parent:
                found.append(int(folder.name))
    return found


FAILS = """
from recommender.tui.app import BevelwrightApp
def fails(self): raise ZeroDivisionError("as tried out")
BevelwrightApp.{method} = fails
"""


@pytest.mark.parametrize("method", ["action_inches", "show"], ids=["at a key", "at an answer"])
def test_a_crash_leaves_the_terminal_as_it_was_found_and_says_where_its_report_lies(
    tmp_path: Path, method: str
) -> None:
    for terminal in _closing(Terminal(tmp_path, before=FAILS.format(method=method))):
        terminal.read_until(FIRST)
        terminal.press(b"\x1bOS")  # f4
        assert terminal.ended() == 3
        assert terminal.left_changed() == set()
        (line,) = terminal.messages.read_text().splitlines()
        (report,) = (tmp_path / "bevelwright").glob("crash-*.txt")
        assert str(report) in line
        assert "ZeroDivisionError: as tried out" in report.read_text()


def test_a_form_that_brings_it_down_does_so_once(tmp_path: Path) -> None:
    kept = tmp_path / "bevelwright" / "as-left.json"
    kept.parent.mkdir()
    kept.write_text('{"tasks.prying": "1"}')
    fails = "from recommender.tui.widgets.brief_form import FieldRow\nshown = FieldRow.words_shown\n"
    fails += "FieldRow.words_shown = lambda row: 1 / 0 if row.value else shown(row)"
    for terminal in _closing(Terminal(tmp_path, before=fails)):
        assert terminal.ended() == 3
    for terminal in _closing(Terminal(tmp_path, before=fails, size=(200, 40))):
        terminal.read_until(b"set-aside.json")
        terminal.press(b"\x11")
        assert terminal.ended() == 0
    assert kept.with_name("as-left.set-aside.json").read_text() == '{"tasks.prying": "1"}'


def test_it_comes_back_from_a_terminal_of_one_cell(opened: Terminal) -> None:
    opened.read_until(FIRST)
    opened.press(b"\x1bOQ")  # f2
    for size in ((20, 5), (1, 1), (80, 1), (80, 24)):
        opened.resize(*size)
        opened.read_until(b"\x1b[")
    opened.read_until(b"Why")
    opened.press(b"\x11")
    assert opened.ended() == 0
