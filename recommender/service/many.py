"""Many questions at once: in order, as they come, shared out to processes."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from operator import attrgetter
from typing import TYPE_CHECKING, Any, BinaryIO, TypeVar

from recommender.models.brief import Brief
from recommender.service.loaded import Loaded

if TYPE_CHECKING:  # what only some commands need is imported by them
    from recommender.engine.batch.rows import Kind, SweepRow
    from recommender.models.answer.sweep import Swept

T = TypeVar("T")


@dataclass
class Many(Loaded):
    """Asked about many briefs."""

    def rows(self, stream: BinaryIO, base: Brief, kind: Kind | None = None) -> Iterator[SweepRow]:
        """Briefs from a stream of CSV or JSON Lines, over what a base says. Raises InputError for a bad CSV header."""
        from recommender.engine.batch.rows import read_rows

        return read_rows(stream, self.knowledge.tasks, base, kind)

    def sweep(self, rows: Iterable[SweepRow], jobs: int = 1) -> Generator[tuple[SweepRow, Swept], None, None]:
        """Answer rows in their order, each as soon as it can be, in several processes unless plug-ins are only here.

        Raises PluginError when strict, BevelwrightError when a process dies.
        """
        return self._shared_out(rows, attrgetter("sweep_row"), jobs)

    def _shared_out(
        self, items: Iterable[T], work: Callable[[Many], Callable[[T], Any]], jobs: int
    ) -> Generator[tuple[T, Any], None, None]:
        """Items with what a service makes of them, in order; other processes know no plug-ins that are only here."""
        from recommender.engine.batch.process_pool import in_order

        if jobs == 1 or self.plugins:
            return in_order(items, partial(work, self), 1)
        another = partial(_another, self.strict, tuple(self.packs), self.own_packs, tuple(self.without), work)
        return in_order(items, another, jobs)

    def sweep_row(self, row: SweepRow) -> Swept:
        """Answer one row of many in short, without flips."""
        from recommender.engine.batch.short_answers import sweep_row

        return sweep_row(row, partial(self.recommend, flips=False))


def _another(
    strict: bool,
    packs: Sequence[str],
    own_packs: bool,
    without: Sequence[str],
    work: Callable[[Many], Callable[[T], Any]],
) -> Callable[[T], Any]:
    """What a service of its own does, for another process."""
    from recommender.service import Service

    return work(Service(strict=strict, packs=packs, own_packs=own_packs, without=without))
