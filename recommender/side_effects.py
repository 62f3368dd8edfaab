"""What a command does that cannot be taken back: told of just before, to whoever may want to run the command again.

Output that somebody reads, files of the user's, the quote book, and input that is gone once it is read.
"""

from __future__ import annotations

from collections.abc import Callable

_told: Callable[[], None] | None = None


def watch_side_effects(told: Callable[[], None] | None) -> None:
    """Have a function called before each side effect from now on; None ends that."""
    global _told
    _told = told


def side_effect() -> None:
    """Say that one comes now."""
    if _told is not None:
        _told()
