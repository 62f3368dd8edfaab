"""What plug-ins print: told on standard error, never mixed with an answer, and no more than a reader would read."""

from __future__ import annotations

import contextlib
import io
import sys
from collections.abc import Iterator
from typing import TextIO

from recommender.text import clean

MOST_PRINTED = 64_000
"""Characters that a plug-in may print while it does one thing."""


class Aside(io.TextIOBase):
    """Takes what is printed, cleaned, and counts it; past `MOST_PRINTED` characters the rest is dropped."""

    def __init__(self) -> None:
        self.to: TextIO | None = None
        self.printed = 0

    @property
    def flooded(self) -> bool:
        """Whether more was printed than anybody wants to read."""
        return self.printed > MOST_PRINTED

    def writable(self) -> bool:
        """It is there to be written to."""
        return True

    def write(self, text: str) -> int:
        """Pass text on while there is room for it."""
        self.printed += len(text)
        if not self.flooded and self.to is not None:
            self.to.write(clean(text))
        return len(text)


@contextlib.contextmanager
def printing_to(aside: Aside, *, told: bool = True) -> Iterator[None]:
    """Send what is printed meanwhile to an aside, which tells it on standard error, or keeps it quiet."""
    aside.to = sys.stderr if told else None
    with contextlib.redirect_stdout(aside), contextlib.redirect_stderr(aside):
        yield
