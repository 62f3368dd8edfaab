"""How far a long job is: one line on standard error, only where that is a terminal."""

from __future__ import annotations

import os
import sys
import time

from recommender.text import plural


class Progress:
    """A line that is overwritten; it has to be cleared before anything else is printed."""

    def __init__(self) -> None:
        self._since = time.monotonic()
        self._shown = 0
        try:
            self._columns = os.get_terminal_size(sys.stderr.fileno()).columns or 80 if sys.stderr.isatty() else 0
        except (OSError, ValueError, AttributeError):
            self._columns = 0

    def show(self, done: int, noun: str, share: float | None, more: str = "") -> None:
        """Show how many are done, and, where the share of the whole is known, how long the rest will take."""
        if not self._columns:
            return
        passed = time.monotonic() - self._since
        parts = [plural(done, noun)]
        if share is not None:
            parts.append(f"{100 * share:.0f} %")
        if done:
            parts.append(f"{done / passed:.1f} a second")
        if done and share:
            parts.append(f"about {_lasting(passed * (1 - share) / share)} to go")
        text = "  " + ", ".join(part for part in (*parts, more) if part)
        text = text[: self._columns - 1]
        sys.stderr.write("\r" + text.ljust(self._shown))
        sys.stderr.flush()
        self._shown = len(text)

    def clear(self) -> None:
        """Take the line away."""
        if self._shown:
            sys.stderr.write("\r" + " " * self._shown + "\r")
            sys.stderr.flush()
            self._shown = 0


def _lasting(seconds: float) -> str:
    if seconds < 90:
        return f"{seconds:.0f} s"
    return f"{seconds / 60:.0f} min" if seconds < 5400 else f"{seconds / 3600:.1f} h"
