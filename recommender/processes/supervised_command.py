"""A command in a child process, where plug-ins from outside are loaded: one that ends the process is done without.

The child is forked before anything of a plug-in is imported, and spawned where there is no fork. It has the terminal,
the standard streams and the signals of its parent, which does nothing but wait.
"""

from __future__ import annotations

import contextlib
import json
import os
import select
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from recommender.plugin.foreign_calls import watch_foreign_calls
from recommender.processes.call_mark import GRACE_S, CallLimit, CallMark, ended
from recommender.processes.command_mark import CommandMark
from recommender.processes.process_care import CallStoppedError, end_with, end_with_pipe
from recommender.processes.process_limits import limit_memory
from recommender.side_effects import watch_side_effects
from recommender.signals import handling, interrupts_ignored, raising_once

if TYPE_CHECKING:
    from recommender.processes.left_out import LeftOut

EXIT_FAILED = 3
FORKS = hasattr(os, "fork")
_TICK_S = 0.25
_TOLD = [number for name in ("SIGHUP", "SIGINT", "SIGQUIT", "SIGTERM") if (number := getattr(signal, name, None))]
"""Signals by which somebody ends a process on purpose."""
_SPAWNED = (
    "import sys, json; sys.path[:] = json.loads(sys.argv[1]); from recommender.cli import main_of_child; "
    "sys.exit(main_of_child(json.loads(sys.argv[2]), *json.loads(sys.argv[3])))"
)


@dataclass(frozen=True)
class Marks:
    """What the child tells of itself, whatever becomes of it."""

    calls: CallMark
    command: CommandMark


def supervise(
    run: Callable[[Sequence[LeftOut]], int], argv: Sequence[str], *, strict: bool, call_seconds: float
) -> int:
    """Run a command in a child and give its exit code, in the child as in its parent.

    A plug-in that ends the child, or does not return, is named on standard error; the command is run again without it,
    unless it is `strict` or has done what cannot be taken back: exit code 3. `argv` is the same command for a child
    that is spawned.
    """
    left_out: list[LeftOut] = []
    while True:
        marks = Marks(CallMark(), CommandMark())
        child = _Forked(marks) if FORKS else _Spawned(marks, argv, left_out)
        if child.is_this_process:
            return run_as_child(marks, lambda: run(left_out))
        limit = CallLimit(marks.calls, call_seconds)
        with _handing_on(child) as told:
            code = _watch(child, limit, marks.command)
        if marks.command.exit_code is not None:
            return marks.command.exit_code
        if -code in told:
            signal.signal(-code, signal.SIG_DFL)
            os.kill(os.getpid(), -code)
        lost = _judged(code, limit, strict=strict, whole=not marks.command.had_side_effect)
        if lost is None or lost.plugin in {other.plugin for other in left_out}:
            return EXIT_FAILED
        left_out.append(lost)


def run_as_child(marks: Marks, run: Callable[[], int]) -> int:
    """Run a command in this process, with bounds, and mark what its supervisor has to know; gives its exit code."""
    limit_memory()
    watch_foreign_calls(marks.calls)
    watch_side_effects(marks.command.side_effect)
    if hasattr(signal, "SIGUSR1"):
        signal.signal(signal.SIGUSR1, lambda *_: _stop(marks.calls))
    # From the terminal, and once more handed on: the second must not break off what the first has it put away.
    once = (
        contextlib.nullcontext() if interrupts_ignored() else handling(signal.SIGINT, raising_once(KeyboardInterrupt))
    )
    try:
        with once:
            code = run()
    except SystemExit as end:
        code = end.code if isinstance(end.code, int) else EXIT_FAILED
    except KeyboardInterrupt:
        code = 128 + signal.SIGINT
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(OSError, ValueError):
            stream.flush()
    marks.command.done(code)
    return code


def marks_of(names: Sequence[str]) -> Marks:
    """The marks of a spawned child, by the names that it was given."""
    return Marks(CallMark(names[0]), CommandMark(names[1]))


def _stop(calls: CallMark) -> None:
    if calls.number % 2:
        raise CallStoppedError


class _Forked:
    """This process once more."""

    def __init__(self, marks: Marks) -> None:
        there, self._gone = os.pipe()
        here, own = os.pipe()
        parent = os.getpid()
        sys.stdout.flush()
        self._process = os.fork()
        self.is_this_process = not self._process
        if self.is_this_process:
            os.close(here)
            os.close(self._gone)
            self._kept = own  # open as long as this process is there
            end_with(parent)
            if not sys.platform.startswith("linux"):
                threading.Thread(target=end_with_pipe, args=(there,), daemon=True).start()
        else:
            os.close(own)
            os.close(there)
            self._ended = here

    def wait(self, seconds: float) -> int | None:
        """Wait so long; the exit code as `subprocess` gives it, None while it runs."""
        select.select([self._ended], [], [], seconds)  # readable at its end, unless it has left processes behind
        process, status = os.waitpid(self._process, os.WNOHANG)
        if not process:
            return None
        os.close(self._ended)
        os.close(self._gone)
        return os.waitstatus_to_exitcode(status)

    def send(self, number: int) -> None:
        """Send a signal, where there are such."""
        os.kill(self._process, number)


class _Spawned:
    """A new process with the same command."""

    is_this_process = False

    def __init__(self, marks: Marks, argv: Sequence[str], left_out: Sequence[LeftOut]) -> None:
        paths = json.dumps([os.path.abspath(path) for path in sys.path])
        given = json.dumps([[marks.calls.name, marks.command.name], [each.model_dump() for each in left_out]])
        handed_down = (*marks.calls.handed_down, *marks.command.handed_down)
        self._process: subprocess.Popen[bytes] = subprocess.Popen(
            [sys.executable, "-P", "-c", _SPAWNED, paths, json.dumps(list(argv)), given], pass_fds=handed_down
        )

    def wait(self, seconds: float) -> int | None:
        """As `_Forked.wait`."""
        with contextlib.suppress(subprocess.TimeoutExpired):
            return self._process.wait(seconds)
        return None

    def send(self, number: int) -> None:
        """As `_Forked.send`."""
        if number == getattr(signal, "SIGKILL", None) or sys.platform == "win32":
            self._process.kill()
        else:
            self._process.send_signal(number)


def _watch(child: _Forked | _Spawned, limit: CallLimit, command: CommandMark) -> int:
    """Stay until the child has ended, and end it for a call that does not, or for what holds up its end."""
    since_done = None
    while (code := child.wait(_TICK_S)) is None:
        now = time.monotonic()
        verdict = limit.look(now)
        if command.exit_code is not None:  # what a plug-in does at exit is no business of the answer's
            since_done = now if since_done is None else since_done
            verdict = "kill" if now - since_done > GRACE_S else ""
        if verdict == "ask" and hasattr(signal, "SIGUSR1"):
            child.send(signal.SIGUSR1)
        elif verdict:
            child.send(getattr(signal, "SIGKILL", signal.SIGTERM))
    return code


@contextlib.contextmanager
def _handing_on(child: _Forked | _Spawned) -> Iterator[set[int]]:
    """Hand on what ends a process on purpose, so that the child puts away what it has begun; gives what came.

    Where there is no such thing as handing on, the terminal reaches the child by itself.
    """
    told: set[int] = set()

    def hand_on(number: int, _: Any) -> None:
        told.add(number)
        if sys.platform != "win32":
            with contextlib.suppress(OSError):
                child.send(number)

    with contextlib.ExitStack() as stack:
        for number in _TOLD:
            if signal.getsignal(number) is not signal.SIG_IGN:
                stack.enter_context(handling(number, hand_on))
        yield told


def _judged(code: int, limit: CallLimit, *, strict: bool, whole: bool) -> LeftOut | None:
    """Say why the child ended; the plug-in that the command is to be run again without, if it is."""
    from recommender.processes.left_out import LeftOut, failures_of

    call, how = ended(limit, code)
    if call is None:
        _say(f"failed, and the answer is not whole (it {how} in no call of a plug-in; try --no-plugins)")
        return None
    lost = LeftOut.of(call, how)
    if strict:
        (failure,) = failures_of([lost]).values()
        _say(str(failure))
        return None
    if not whole:
        _say(f"plug-in {lost} {how} while {lost.doing}, and the answer is not whole; try --without {lost.plugin}")
        return None
    _say(f"plug-in {lost} {how} while {lost.doing}; answered without it")
    return lost


def _say(words: str) -> None:
    print(f"bevelwright: {words}", file=sys.stderr, flush=True)
