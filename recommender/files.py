"""Files of the user's: read no further than allowed, written whole or not at all."""

from __future__ import annotations

import contextlib
import os
import shutil
import stat
from pathlib import Path

from recommender.errors import InputError
from recommender.text import clean


def read_file(name: str | Path, most_bytes: int, expected: str) -> bytes:
    """Read a regular file, one byte further than allowed at most. Raises InputError, with what was expected."""
    shown = clean(str(name), one_line=True)
    try:
        # Without O_NONBLOCK a pipe that nobody writes to would hang before it could be refused.
        with open(os.open(name, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0)), "rb") as handle:
            if not stat.S_ISREG(os.fstat(handle.fileno()).st_mode):
                raise InputError("not a regular file", file=shown, expected=expected)
            return handle.read(most_bytes + 1)
    except (OSError, ValueError) as cause:
        reason = getattr(cause, "strerror", None) or str(cause)
        raise InputError(f"cannot be read ({reason})", file=shown, expected=expected) from None


def write_whole(path: Path, data: bytes) -> None:
    """Write a file whole or not at all: beside it first, then renamed over it. Raises InputError."""
    shown = clean(str(path), one_line=True)
    beside: Path | None = None
    try:
        target = path.resolve()
        if not path.name or (target.exists() and not target.is_file()):
            raise InputError("not a regular file", file=shown, expected="a file to write")
        beside = target.with_name(f".{target.name[:80]}.{os.getpid()}.part")
        beside.write_bytes(data)
        if target.exists():
            shutil.copymode(target, beside)
        beside.replace(target)
    except (OSError, ValueError) as cause:
        if beside is not None:
            with contextlib.suppress(OSError):
                beside.unlink(missing_ok=True)
        reason = getattr(cause, "strerror", None) or str(cause)
        raise InputError(f"cannot be written ({reason})", file=shown, expected="a writable file") from None
