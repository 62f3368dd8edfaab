"""The engine in a process of its own, started again when it ends: what a plug-in does to it, the interface survives."""

from __future__ import annotations

import contextlib
import os
import queue
import subprocess
import threading
import time
from dataclasses import dataclass

from recommender.processes.call_mark import CALL_SECONDS, GRACE_S, CallLimit, ended
from recommender.processes.left_out import LeftOut
from recommender.worker.client import Engine, Trouble
from recommender.worker.framing import read_frame, write_frame
from recommender.worker.launch import Launcher
from recommender.worker.messages import (
    Asked,
    Drop,
    Failed,
    StopCall,
    ToEngine,
    encoded,
    from_engine,
)

MOST_CRASHES = 2
"""So often the same question may end the engine by no plug-in's doing before it is given up."""
MOST_LOGGED = 1 << 20
"""Bytes that the worker may write to its standard error before the oldest are lost."""
_TICK_S = 0.25
_LAST_WORDS = 20_000


@dataclass
class _Worker:
    """One process, with the threads that talk to it."""

    process: subprocess.Popen[bytes]
    sending: queue.SimpleQueue[ToEngine | None]
    reader: threading.Thread
    limit: CallLimit


class ProcessEngine(Engine):
    """Keeps a worker process."""

    def __init__(self, launcher: Launcher | None = None, *, call_seconds: float = CALL_SECONDS) -> None:
        super().__init__()
        self.launcher, self.call_seconds = launcher or Launcher(), call_seconds
        self.left_out: list[LeftOut] = []
        """Plug-ins that ended the engine."""
        self._mark, self._log = self.launcher.mark, self.launcher.log
        self._worker: _Worker | None = None
        self._changed = threading.Event()
        """Something was asked, or a worker has ended."""
        self._closing = False
        self._keeper = threading.Thread(target=self._keep, name="keeper of the engine", daemon=True)
        self._keeper.start()

    @property
    def process_id(self) -> int | None:
        """Of the worker that is there now."""
        return None if self._worker is None else self._worker.process.pid

    def close(self) -> None:
        """End the worker and wait until it is gone."""
        with self._lock:
            self._pending.clear()
            self._closing = True
            self._changed.set()
        self._keeper.join()

    def _send(self, asked: Asked) -> None:
        self._changed.set()
        if self._worker is not None:
            self._worker.sending.put(asked)

    def _send_drop(self, serial: int) -> None:
        if self._worker is not None:
            self._worker.sending.put(Drop(serial=serial))

    # In the keeper's thread

    def _keep(self) -> None:
        while not self._closing:
            try:
                worker = self._start()
            except OSError as error:
                self._give_up(f"the engine cannot be started ({error.strerror or error})", "")
                self._wait_for_a_question()
                continue
            self._watch(worker)
            if not self._closing:
                self._judge(worker)
        self._mark.close()
        os.close(self._log)

    def _start(self) -> _Worker:
        """Start a worker and ask it what has not been answered. Raises OSError."""
        started = self.launcher.started([each.model_dump() for each in self.left_out])
        sending: queue.SimpleQueue[ToEngine | None] = queue.SimpleQueue()
        reader = threading.Thread(target=self._read, args=(started,), daemon=True)
        worker = _Worker(started, sending, reader, CallLimit(self._mark, self.call_seconds))
        reader.start()
        threading.Thread(target=_write, args=(started, sending), daemon=True).start()
        threading.Thread(target=self._wait, args=(started,), daemon=True).start()
        with self._lock:
            self._worker = worker
            for pending in self._pending.values():
                pending.told.clear()
                sending.put(pending.asked)
        return worker

    def _read(self, process: subprocess.Popen[bytes]) -> None:
        assert process.stdout is not None
        with contextlib.suppress(OSError, ValueError):  # a message that is none is the end of the worker
            while (data := read_frame(process.stdout.fileno())) is not None:
                self._received(from_engine(data))
        _kill(process)

    def _wait(self, process: subprocess.Popen[bytes]) -> None:
        process.wait()
        self._changed.set()

    def _watch(self, worker: _Worker) -> None:
        """Stay until the worker has ended, and end it for a call that does not, or when all is to end."""
        while worker.process.poll() is None:
            self._changed.wait(_TICK_S if self._pending else None)
            self._changed.clear()
            if self._closing:
                worker.sending.put(None)
                with contextlib.suppress(subprocess.TimeoutExpired):
                    worker.process.wait(GRACE_S)
                _kill(worker.process)
                break
            _bound(self._log)
            match worker.limit.look(time.monotonic()):
                case "ask":
                    assert worker.limit.stopped is not None
                    worker.sending.put(StopCall(number=worker.limit.stopped.number))
                case "kill":
                    _kill(worker.process)
                    break
        worker.process.wait()
        worker.sending.put(None)
        worker.reader.join(GRACE_S)  # what it said last; a process that a plug-in started may hold the pipe

    def _judge(self, worker: _Worker) -> None:
        """Find out why a worker has ended; leave out the plug-in that it was for, or give up what it was for."""
        call, how = ended(worker.limit, worker.process.returncode)
        with self._lock:
            self._worker = None
        if call is not None and call.plugin not in {other.plugin for other in self.left_out}:
            lost = LeftOut.of(call, how)
            self.left_out.append(lost)
            words = f"Plug-in {lost} {how} while {lost.doing}. It is left out until the next start; "
            words += f"ctrl+p, “Block the plug-in {lost.plugin}” keeps it out for good."
            self._tell_trouble(Trouble(words, lost))
            return
        given_up = []
        with self._lock:
            for group, pending in list(self._pending.items()):
                pending.crashes += 1
                if pending.crashes >= MOST_CRASHES:
                    given_up.append(self._pending.pop(group))
        for pending in given_up:
            report = f"The engine {how}.\n\n{self._last_words()}"
            pending.tell(Failed(serial=pending.asked.serial, words=f"it {how}", report=report))
        if not given_up:
            self._tell_trouble(Trouble(f"The engine {how} and was started again."))

    def _give_up(self, words: str, report: str) -> None:
        with self._lock:
            given_up = list(self._pending.values())
            self._pending.clear()
        for pending in given_up:
            pending.tell(Failed(serial=pending.asked.serial, words=words, report=report or words))

    def _wait_for_a_question(self) -> None:
        while not self._closing and not self._pending:
            self._changed.wait()
            self._changed.clear()

    def _last_words(self) -> str:
        with contextlib.suppress(OSError):
            size = os.fstat(self._log).st_size
            with open(os.dup(self._log), "rb") as log:
                log.seek(max(0, size - _LAST_WORDS))
                return log.read(_LAST_WORDS).decode("utf-8", "replace")
        return ""


def _write(process: subprocess.Popen[bytes], sending: queue.SimpleQueue[ToEngine | None]) -> None:
    """Send what comes, in a thread: a worker that does not read must not hold up the interface."""
    assert process.stdin is not None
    with contextlib.suppress(OSError):
        while (message := sending.get()) is not None:
            write_frame(process.stdin.fileno(), encoded(message))
    with contextlib.suppress(OSError):
        process.stdin.close()


def _kill(process: subprocess.Popen[bytes]) -> None:
    with contextlib.suppress(OSError):
        process.kill()


def _bound(log: int) -> None:
    """Keep what the worker prints from filling the disk."""
    with contextlib.suppress(OSError):
        if os.fstat(log).st_size > MOST_LOGGED:
            os.ftruncate(log, 0)
            os.lseek(log, 0, os.SEEK_SET)
