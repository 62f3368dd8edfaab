"""Work that nobody wants any more stops between two of its steps.

Whoever asks says with `cancelled_once` how to tell; the work looks at every `checkpoint`, of which each call of a
plug-in is one: some thousand an answer. A context variable carries it, so that several questions may be worked on at
once, each in its thread.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from contextvars import ContextVar


class Cancelled(BaseException):
    """The question was dropped while it was being answered; no Exception, as nothing has failed."""


_unwanted: ContextVar[Callable[[], bool] | None] = ContextVar("unwanted", default=None)


@contextlib.contextmanager
def cancelled_once(unwanted: Callable[[], bool]) -> Iterator[None]:
    """Let work within raise Cancelled at its next checkpoint once `unwanted` is true."""
    token = _unwanted.set(unwanted)
    try:
        yield
    finally:
        _unwanted.reset(token)


def checkpoint() -> None:
    """Stand between two steps. Raises Cancelled where the work is wanted no longer."""
    unwanted = _unwanted.get()
    if unwanted is not None and unwanted():
        raise Cancelled
