"""How well a blade serves a task: how much of what its goals ask is met, and in a word."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from recommender.models.base import Model

GOOD_FIT, POOR_FIT = 0.7, 0.45
"""From the one on a task is served well, below the other poorly."""
ESSENTIAL_MET = 0.4
"""Of a goal on what a task cannot do without: below this it is named, and the task is not served well."""
AS_GOOD_AS_MET = 0.95
"""Of a demand: what the numbers cannot tell from all of it."""

Verdict = Literal["well", "fairly", "poorly"]


class Served(Model):
    """How a blade serves one task, as though that were all its work."""

    met: float = 0.0
    """Of what the task's own goals ask, by their weights, 0..1."""
    verdict: Verdict = "poorly"
    short_of: tuple[str, ...] = ()
    """Titles of the essentials that it meets too little of, and of the demands that it fails."""


def verdict(met: float, essentials: Iterable[tuple[str, float]] = (), failed: Iterable[str] = ()) -> Served:
    """The verdict on a task: `essentials` by title with how far each is reached, `failed` demands by title.

    What a task cannot do without is made up for by nothing else: missed altogether, the task is served poorly.

    >>> verdict(0.77).verdict, verdict(0.77, [("Parts vegetables easily", 0.0)]).verdict
    ('well', 'poorly')
    >>> verdict(0.77, [("Parts vegetables easily", 0.3)])
    Served(met=0.77, verdict='fairly', short_of=('Parts vegetables easily',))
    """
    short = [(title, reached) for title, reached in essentials if reached < ESSENTIAL_MET]
    failed = list(failed)
    word: Verdict = "well"
    if failed or met < POOR_FIT or any(reached <= 0 for _, reached in short):
        word = "poorly"
    elif short or met < GOOD_FIT:
        word = "fairly"
    return Served(met=round(met, 3), verdict=word, short_of=(*(title for title, _ in short), *failed))
