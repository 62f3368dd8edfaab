"""Work shared out to processes: results in the order of the items, bounded memory, no end of the items needed."""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Generator, Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from queue import Queue
from typing import Any, TypeVar

from recommender.errors import BevelwrightError
from recommender.signals import blocked, deferring, handling, interrupts_ignored, raising_once

T = TypeVar("T")
R = TypeVar("R")
IN_FLIGHT = 4
"""Items a process that are read ahead, so that a slow one holds up none of the others."""


def in_order(
    items: Iterable[T], start: Callable[[], Callable[[T], R]], jobs: int
) -> Generator[tuple[T, R], None, None]:
    """Yield every item with its result, in order, each as soon as it is there, though the next item is yet to come.

    `start` makes the function that works on an item, once a process, and with `jobs` of 2 or more can be pickled, as
    items and results can; with 1 all is done here. Raises what reading or the work raises, and BevelwrightError when a
    process dies.
    """
    if jobs == 1:
        work = start()
        for item in items:
            yield item, work(item)
        return
    try:
        # Another one, while processes are being ended in order, would leave some behind.
        once = raising_once(KeyboardInterrupt)
        with contextlib.nullcontext() if interrupts_ignored() else handling(signal.SIGINT, once):
            yield from _shared_out(items, start, jobs)
    except BrokenProcessPool:
        raise BevelwrightError(
            "a worker process died (killed, or out of memory), so the rest stays unanswered; try fewer with --jobs"
        ) from None


def _shared_out(items: Iterable[T], start: Callable[[], Callable[[T], R]], jobs: int) -> Iterator[tuple[T, R]]:
    # Spawned, as a fork of a process with threads may hang.
    context = multiprocessing.get_context("spawn")
    left = context.Event()
    pool = ProcessPoolExecutor(jobs, mp_context=context, initializer=_begin, initargs=(start, left))
    waiting: Queue[tuple[T, Future[R]] | Future[R] | None] = Queue(IN_FLIGHT * jobs)
    try:
        # Ctrl+c reaches every process of a terminal; those started while it is blocked never hear it. One that is
        # broken off while it is started says so with a traceback.
        with blocked(signal.SIGINT), deferring(signal.SIGTERM):
            for _ in range(jobs):
                pool.submit(_ready)
        # A thread, as reading may wait long for an item while results are ready to be handed on; a daemon, as nothing
        # ends a wait for an item that never comes.
        threading.Thread(target=_feed, args=(items, pool, waiting), daemon=True).start()
        while (next_one := waiting.get()) is not None:
            if isinstance(next_one, Future):
                next_one.result()  # raises why there are no more items
            else:
                item, future = next_one
                yield item, future.result()
    finally:
        left.set()
        pool.shutdown(cancel_futures=True)
        while not waiting.empty():  # lets go of the thread, which then finds the pool shut
            waiting.get_nowait()


def _feed(items: Iterable[Any], pool: ProcessPoolExecutor, waiting: Queue[Any]) -> None:
    try:
        for item in items:
            waiting.put((item, pool.submit(_do, item)))
    except Exception as cause:
        why: Future[Any] = Future()
        why.set_exception(cause)
        waiting.put(why)
    waiting.put(None)


# What follows runs in the other processes.

_own: dict[str, Any] = {}


def _begin(start: Callable[[], Callable[[Any], Any]], left: Any) -> None:
    threading.Thread(target=_end_with_the_first, daemon=True).start()
    _own.update(work=start(), left=left)


def _end_with_the_first() -> None:
    # A first process that is killed says nothing, and its workers would wait for ever.
    first = multiprocessing.parent_process()
    if first is not None:
        first.join()
        os._exit(1)


def _ready() -> None:
    """Do nothing but be there."""


def _do(item: Any) -> Any:
    # What was handed out already cannot be called back; nobody waits for it any more.
    return None if _own["left"].is_set() else _own["work"](item)
