"""The bars that are usual for several tasks together."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

SETS_THE_BAR_FROM = 0.5
"""Of the work: from here on the tasks with the stouter bars set it."""


def usual_stock_mm(tasks: Sequence[Any], *, one_sided: bool = False) -> tuple[float, float]:
    """Thinnest and thickest bar usual for tasks, each with its table `task` and its `share` of the work, mm.

    `one_sided`: of a blade ground on one side; where a task says nothing of that, its bar is the same.

    Steel can be taken off a bar, never put on: rough work that is half of it has its own bar, and one that is a fifth
    spoils little of a thin blade. With S the share of the tasks whose bars are as stout or stouter, those weigh
    min(S / 0.5, 1)^2 together: one more percent of a task moves the bar by little, wherever it stands.
    Source: common practice for where it ends, estimate for the way there.

    >>> from types import SimpleNamespace as Thing
    >>> def load(share, low, high):
    ...     envelope = Thing(stock_thickness_mm=Thing(low=low, high=high), one_sided_stock_thickness_mm=None)
    ...     return Thing(share=share, task=Thing(envelope=envelope))
    >>> [usual_stock_mm([load(1 - rough, 1.5, 3.0), load(rough, 4.0, 7.0)]) for rough in (0.0, 0.25, 0.5, 1.0)]
    [(1.5, 3.0), (2.125, 4.0), (4.0, 7.0), (4.0, 7.0)]
    >>> slicer = load(1.0, 1.5, 2.5)
    >>> slicer.task.envelope.one_sided_stock_thickness_mm = Thing(low=2.5, high=4.5)
    >>> usual_stock_mm([slicer]), usual_stock_mm([slicer], one_sided=True)
    ((1.5, 2.5), (2.5, 4.5))
    """
    envelopes = ((load.task.envelope, float(load.share)) for load in tasks)
    bars = sorted(
        (((one_sided and e.one_sided_stock_thickness_mm) or e.stock_thickness_mm, share) for e, share in envelopes),
        key=lambda bar: -(bar[0].low + bar[0].high),
    )
    low = high = counted = together = 0.0
    for bar, share in bars:
        together += share
        weight = min(together / SETS_THE_BAR_FROM, 1.0) ** 2
        low += (weight - counted) * bar.low
        high += (weight - counted) * bar.high
        counted = weight
    return low, high
