"""Signals treated in another way for a while."""

from __future__ import annotations

import contextlib
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from typing import Any, NoReturn


def interrupts_ignored() -> bool:
    """Whether whatever started this process asked that ctrl+c pass it by, as a shell does for background jobs."""
    return signal.getsignal(signal.SIGINT) is signal.SIG_IGN


def raising_once(error: type[BaseException]) -> Callable[..., NoReturn]:
    """A handler that ends what runs by an exception; later ones are ignored, as they would break off its ending."""

    def end(number: int, *_: object) -> NoReturn:
        signal.signal(number, signal.SIG_IGN)
        raise error

    return end


@contextlib.contextmanager
def handling(number: int, handler: Any) -> Iterator[None]:
    """Treat a signal in another way for a while; only the main thread may.

    A handler that ends the program and ignores what comes after is not undone: until the process is gone, a second
    signal must not end it with another exit code.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(number, handler)
    try:
        yield
    finally:
        if handler is signal.SIG_IGN or signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, before)


@contextlib.contextmanager
def deferring(number: int) -> Iterator[None]:
    """Put a signal off until what must not be broken off is done; only the main thread may."""
    came: list[int] = []
    with handling(number, lambda *_: came.append(number)):
        yield
    if came:
        signal.raise_signal(number)


@contextlib.contextmanager
def blocked(number: int) -> Iterator[None]:
    """Hold a signal back; what came meanwhile comes after. Processes started meanwhile never hear it.

    They inherit the mask. It is the mask of one thread: where another takes the signal, its handler is put off too.
    Where a signal cannot be held back (Windows) it is ignored.
    """
    if sys.platform == "win32":
        with handling(number, signal.SIG_IGN):
            yield
        return
    with deferring(number):
        before = signal.pthread_sigmask(signal.SIG_BLOCK, {number})
        try:
            yield
        finally:
            signal.pthread_sigmask(signal.SIG_SETMASK, before)
