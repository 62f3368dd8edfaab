"""Many briefs at once: in order, as they come, shared out to processes."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, BinaryIO, TypeVar

from recommender.models.brief import Brief
from recommender.service.briefs import Briefs
from recommender.service.loaded import Loaded

if TYPE_CHECKING:  # what only some commands need is imported by them
    from recommender.engine.batch.rows import Kind, SweepRow
    from recommender.models.answer.sweep import Swept

T = TypeVar("T")
R = TypeVar("R")


@dataclass(frozen=True)
class Batch:
    """Answers rows of a stream."""

    loaded: Loaded

    def rows(self, stream: BinaryIO, base: Brief, kind: Kind | None = None) -> Iterator[SweepRow]:
        """Briefs from a stream of CSV or JSON Lines, over what a base says. Raises InputError for a bad CSV header."""
        from recommender.engine.batch.rows import read_rows

        return read_rows(stream, self.loaded.knowledge.tasks, base, kind)

    def sweep(self, rows: Iterable[SweepRow], jobs: int = 1) -> Generator[tuple[SweepRow, Swept], None, None]:
        """Answer rows in their order, each as soon as it can be, in several processes unless plug-ins are only here.

        Raises PluginError when strict, BevelwrightError when a process dies.
        """
        return shared_out(self.loaded, rows, _row_answered, jobs)


def shared_out(
    loaded: Loaded, items: Iterable[T], work: Callable[[Loaded], Callable[[T], R]], jobs: int
) -> Generator[tuple[T, R], None, None]:
    """Items with what comes of them, in order; other processes load for themselves and know no plug-ins given here."""
    from recommender.engine.batch.process_pool import in_order

    if jobs == 1 or loaded.plugins:
        return in_order(items, partial(work, loaded), 1)
    return in_order(items, partial(work, replace(loaded)), jobs)


def _row_answered(loaded: Loaded) -> Callable[[SweepRow], Swept]:
    """What answers a row in short, without flips."""
    from recommender.engine.batch.short_answers import sweep_row

    recommend = partial(Briefs(loaded).recommend, flips=False)
    return lambda row: sweep_row(row, recommend)
