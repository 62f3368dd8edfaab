"""Findings, and calls of foreign functions that turn whatever goes wrong into one."""

from __future__ import annotations

import warnings
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np

from recommender.errors import describe
from recommender.plugin.lending import digest, twin
from recommender.plugin.output_capture import OutputCapture, captured
from recommender.text import clean

_LONGEST = 600


@dataclass(frozen=True)
class Finding:
    """Something a contribution does not keep to: where, and what."""

    where: str
    problem: str

    def __str__(self) -> str:
        return clean(f"{self.where}: {self.problem}"[:_LONGEST], one_line=True)


class Calls:
    """Calls of one contribution's functions, and what was found of it, each thing once."""

    def __init__(self, where: str) -> None:
        self.where = where
        self._found: dict[Finding, None] = {}

    @property
    def findings(self) -> list[Finding]:
        """In the order in which they were found."""
        return list(self._found)

    def find(self, problem: str) -> None:
        """Note a problem."""
        self._found[Finding(self.where, problem)] = None

    def find_all(self, problems: Iterable[str]) -> None:
        """Note several."""
        for problem in problems:
            self.find(problem)

    def call(self, doing: str, function: Callable[..., Any], *args: Any, gives: type = object) -> Any:
        """Call a function; None, and a finding, where it raises, exits or gives something else than it has to.

        Prints and warnings are findings too.
        """
        capture = OutputCapture(shown=False)
        with warnings.catch_warnings(record=True) as warned, captured(capture):
            warnings.simplefilter("always")
            try:
                answer = function(*args)
                if not isinstance(answer, gives):
                    self.find(f"{doing} gives {type(answer).__name__} instead of {gives.__name__}")
                    answer = None
            except KeyboardInterrupt:
                raise
            except BaseException as cause:
                self.find(f"{doing} raises {describe(cause)}")
                answer = None
        if capture.printed:
            self.find(f"{doing} prints ({'more than' if capture.flooded else ''} {capture.printed:,} characters)")
        self.find_all(f"{doing} warns: {w.category.__name__}: {w.message}" for w in warned)
        return answer

    def lend(self, doing: str, function: Callable[..., Any], *args: Any, gives: type = object) -> Any:
        """Like `call`, with twins of what is shared; a finding where those are not left as they were."""
        twins = [twin(value) for value in args]
        before = [digest(value) for value in twins]
        answer = self.call(doing, function, *twins, gives=gives)
        for value, was in zip(twins, before, strict=True):
            if digest(value) != was:
                self.find(f"{doing} changes the {type(value).__name__} that it is given")
        return answer


def same(one: Any, other: Any, *, relative: float = 0.0) -> bool:
    """Whether two arrays hold the same, NaN at the same places; numbers within a relative tolerance."""
    a, b = np.asarray(one), np.asarray(other)
    if a.shape != b.shape or a.dtype.kind != b.dtype.kind:
        return False
    if a.dtype.kind != "f":
        return bool((a == b).all())
    return bool(np.allclose(a, b, rtol=relative, atol=relative, equal_nan=True))
