"""Starting worker processes; nothing is imported for it but the standard library, so that the first one starts at once.

Linux ends a worker when the thread that started it is gone, so one thread starts them all and stays to the end.
"""

from __future__ import annotations

import contextlib
import json
import os
import subprocess
import sys
import tempfile
import threading
from collections.abc import Sequence
from concurrent.futures import Future
from queue import SimpleQueue
from typing import Any

from recommender.processes.call_mark import CallMark

_MAIN = (
    "import sys, json; sys.path[:] = json.loads(sys.argv[1]); from recommender.worker.server import main; "
    "main(int(sys.argv[2]), sys.argv[3], sys.argv[4])"
)


class Launcher:
    """Starts workers one after the other, with the mark and the log that they share."""

    def __init__(self, without: Sequence[str] = (), *, foreign: bool = True) -> None:
        """Start the first; plug-ins `without`, or all `foreign` ones, stay out of them all."""
        self.without, self.foreign = list(without), foreign
        self.mark = CallMark()
        with tempfile.TemporaryFile() as log:
            self.log = os.dup(log.fileno())
        self._wanted: SimpleQueue[tuple[list[dict[str, str]], Future[subprocess.Popen[bytes]]]] = SimpleQueue()
        threading.Thread(target=self._start_all, name="launcher", daemon=True).start()
        self._first: Future[subprocess.Popen[bytes]] | None = self._order([])

    def started(self, left_out: list[dict[str, str]]) -> subprocess.Popen[bytes]:
        """A worker, without the plug-ins that ended earlier ones. Raises OSError."""
        ordered, self._first = self._first or self._order(left_out), None
        return ordered.result()

    def _order(self, left_out: list[dict[str, str]]) -> Future[subprocess.Popen[bytes]]:
        future: Future[subprocess.Popen[bytes]] = Future()
        self._wanted.put((left_out, future))
        return future

    def _start_all(self) -> None:
        while True:
            left_out, future = self._wanted.get()
            try:
                future.set_result(self._start(left_out))
            except BaseException as error:
                future.set_exception(error)

    def _start(self, left_out: list[dict[str, str]]) -> subprocess.Popen[bytes]:
        self.mark.wipe()
        with contextlib.suppress(OSError):
            os.ftruncate(self.log, 0)
            os.lseek(self.log, 0, os.SEEK_SET)
        here = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
        paths = json.dumps([here, *(os.path.abspath(path) for path in sys.path)])
        start = json.dumps({"without": self.without, "foreign": self.foreign, "left_out": left_out})
        return subprocess.Popen(
            # -P: nothing is imported from the folder that it is started in.
            [sys.executable, "-P", "-c", _MAIN, paths, str(os.getpid()), self.mark.name, start],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=self.log,
            env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
            bufsize=0,
            **_apart(self.mark.handed_down),
        )


def _apart(descriptors: tuple[int, ...]) -> dict[str, Any]:
    """Where the terminal's signals do not reach it."""
    if sys.platform == "win32":
        return {"creationflags": subprocess.CREATE_NO_WINDOW | subprocess.CREATE_NEW_PROCESS_GROUP}
    return {"start_new_session": True, "pass_fds": descriptors}
