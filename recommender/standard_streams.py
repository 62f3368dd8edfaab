"""Standard streams that are closed or full: what belongs to one is never written to another, and codes stay right."""

from __future__ import annotations

import contextlib
import errno
import io
import os
import sys
from typing import Any, TextIO, cast


def open_closed_streams() -> None:
    """Put something in the place of each standard stream that is closed, and let no message to a full one matter."""
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:  # the next file opened would go by its number
            os.set_inheritable(os.open(os.devnull, os.O_RDWR), True)
    if cast("TextIO | None", sys.stdout) is None:
        sys.stdout = cast(TextIO, _Closed())
    messages: Any = sys.stderr
    if messages is None or (not messages.isatty() and messages is sys.__stderr__):
        # `print` takes None for standard output.
        encoding = "utf-8" if messages is None else messages.encoding
        unheard = cast(io.RawIOBase, _Unheard(2, "w", closefd=False))
        sys.stderr = io.TextIOWrapper(
            io.BufferedWriter(unheard), encoding, errors="backslashreplace", line_buffering=True
        )


def discard_output() -> None:
    """What is still to be written to standard output never will be: the end of the program is not to try again."""
    with contextlib.suppress(OSError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


class _Closed(io.TextIOBase):
    """Standard output that nobody has opened: whoever writes an answer to it is told."""

    encoding = "utf-8"

    def write(self, text: str) -> int:
        raise OSError(errno.EBADF, "standard output is closed")

    @property
    def buffer(self) -> Any:
        return self


class _Unheard(io.FileIO):
    """Takes messages that may find no room, or nobody to read them."""

    def write(self, data: Any) -> int:
        with contextlib.suppress(OSError):
            return super().write(data) or 0
        return len(data)
