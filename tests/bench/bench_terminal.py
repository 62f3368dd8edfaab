"""The interface on a real terminal: from the shell to the form, to the first answer, quick keys, and quitting.

python tests/bench/bench_terminal.py [ROUNDS]: medians, beside an interpreter that imports numpy and pydantic. It needs
tmux; what is on the screen is looked at every 15 ms or so.
"""

from __future__ import annotations

import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

SIZE = ("120", "40")
BURST, BURST_PER_S = 60, 30
WAIT_S = 60.0
PEER = [sys.executable, "-c", "import numpy, pydantic"]
LOOK_S = 0.01


class Terminal:
    """A terminal of its own with the interface in it."""

    def __init__(self, folder: Path) -> None:
        self._tmux = ["tmux", "-f", os.devnull, "-S", str(folder / "socket")]
        kinds = [f"XDG_{kind}_HOME={folder / kind}" for kind in ("CONFIG", "DATA", "STATE", "CACHE")]
        shutil.rmtree(folder / "STATE", ignore_errors=True)  # the form as nobody has left it
        program = ["env", *kinds, sys.executable, "-m", "recommender"]
        self.started = time.perf_counter()
        self._run("new-session", "-d", "-x", SIZE[0], "-y", SIZE[1], *program)
        self.process = int(self._run("display-message", "-p", "#{pane_pid}"))

    def _run(self, *command: str) -> str:
        return subprocess.run([*self._tmux, *command], capture_output=True, text=True, check=False).stdout

    def press(self, *keys: str) -> None:
        """Press keys at once."""
        self._run("send-keys", *keys)

    def until(self, holds: Callable[[str], bool]) -> float:
        """Look until something is on the screen; when that was."""
        end = time.perf_counter() + WAIT_S
        while time.perf_counter() < end:
            if holds(self._run("capture-pane", "-p")):
                return time.perf_counter()
            time.sleep(LOOK_S)
        raise TimeoutError(self._run("capture-pane", "-p"))

    def gone(self) -> float:
        """When the process has ended."""
        end = time.perf_counter() + WAIT_S
        while time.perf_counter() < end:
            if not Path(f"/proc/{self.process}").exists():
                return time.perf_counter()
            time.sleep(LOOK_S)
        raise TimeoutError

    def memory_mb(self) -> tuple[float, float]:
        """Resident memory of the interface and of its engine."""
        children = subprocess.run(
            ["pgrep", "-P", str(self.process)], capture_output=True, text=True, check=False
        ).stdout
        return _resident_mb(self.process), sum(_resident_mb(int(child)) for child in children.split())

    def close(self) -> None:
        self._run("kill-server")


def _resident_mb(process: int) -> float:
    status = Path(f"/proc/{process}/status").read_text()
    return int(status.partition("VmRSS:")[2].split()[0]) / 1024


def _answered(screen: str) -> bool:
    return "per side" in screen and "Asking" not in screen


def _computing(screen: str) -> bool:
    return any(line.strip(" │▌▐█┃") == "…" for line in screen.splitlines()) or " …" in screen


def one_round(folder: Path) -> dict[str, float]:
    """Start it, press keys, quit while it computes."""
    began = time.perf_counter()
    subprocess.run(PEER, check=True)
    found = {"peer": time.perf_counter() - began}
    terminal = Terminal(folder)
    try:
        found["first question painted"] = terminal.until(lambda screen: "I don't know" in screen) - terminal.started
        found["first answer"] = terminal.until(_answered) - terminal.started
        time.sleep(6)  # until what would flip it is known too
        found["interface, MB"], found["engine, MB"] = terminal.memory_mb()
        terminal.press("Escape")  # from the questions to the form
        terminal.until(lambda screen: "▸" in screen)
        terminal.press("Right")
        pressed = time.perf_counter()
        terminal.until(lambda screen: " 1 of 1" in screen and _answered(screen))
        found["a key to its value"] = time.perf_counter() - pressed
        time.sleep(4)
        for k in range(BURST):
            terminal.press("Right" if k % 2 else "Left")
            time.sleep(1 / BURST_PER_S)
        terminal.press("Right")
        last = time.perf_counter()
        found["last of a burst to the answer"] = terminal.until(lambda s: not _computing(s) and _answered(s)) - last
        terminal.press("Right")
        time.sleep(0.3)
        quitting = time.perf_counter()
        terminal.press("C-q")
        found["ctrl+q while computing"] = terminal.gone() - quitting
    finally:
        terminal.close()
    return found


def main() -> None:
    """Print the medians."""
    if shutil.which("tmux") is None:
        sys.exit("tmux is not there")
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    with tempfile.TemporaryDirectory() as folder:
        one_round(Path(folder))  # what is kept between two starts is kept from here on
        found = [one_round(Path(folder)) for _ in range(rounds)]
    peer = statistics.median(each["peer"] for each in found)
    print(f"| what | median of {rounds} | over the peer |\n| --- | --- | --- |")
    for name in found[0]:
        value = statistics.median(each[name] for each in found)
        print(f"| {name} | {value:.3g} | {'' if name.endswith('MB') else f'{value / peer:.2g}'} |")


if __name__ == "__main__":
    main()
