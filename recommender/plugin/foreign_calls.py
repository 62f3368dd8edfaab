"""Which foreign plug-in is being called right now: told to whoever watches, who can name one that never returns.

Only the outermost call of a thread is told, and one thread's at a time: others wait for it a while.
"""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Iterator
from typing import Protocol


class CallWatcher(Protocol):
    """Is told of foreign calls, in the thread that makes them."""

    def entered(self, plugin: str, distribution: str, version: str, doing: str) -> None:
        """A call begins."""

    def left(self) -> None:
        """It has returned, or raised."""


_PATIENCE_S = 1.0
_watcher: CallWatcher | None = None
_turn = threading.Lock()
_inside = threading.local()


def watch_foreign_calls(watcher: CallWatcher | None) -> None:
    """Tell a watcher of all calls from now on; None ends that."""
    global _watcher
    _watcher = watcher


@contextlib.contextmanager
def foreign_call(plugin: str, distribution: str, version: str, doing: str) -> Iterator[None]:
    """Hold a call of a foreign plug-in, and tell the watcher if there is one."""
    watcher = _watcher
    if watcher is None or getattr(_inside, "called", False):
        yield
        return
    if not _turn.acquire(timeout=_PATIENCE_S):
        yield  # who is in the other call may be waiting for what this thread holds
        return
    _inside.called = True
    watcher.entered(plugin, distribution, version, doing)
    try:
        yield
    finally:
        watcher.left()
        _inside.called = False
        _turn.release()
