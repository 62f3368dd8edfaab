"""Files of the user's: read no further than allowed, written whole or not at all."""

from __future__ import annotations

import contextlib
import hashlib
import os
import shutil
import stat
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from recommender.errors import InputError
from recommender.side_effects import side_effect
from recommender.text import clean


class FilesDigest:
    """A SHA-256 over names and contents of files, of which the first digits tell one set of files from another."""

    DIGITS = 12

    def __init__(self) -> None:
        self._seen = hashlib.sha256()

    def add(self, name: str, raw: bytes) -> str:
        """Take a file in; gives the digest of its content alone."""
        content = hashlib.sha256(raw).hexdigest()
        self._seen.update(f"{name} {content}\n".encode("utf-8", "surrogateescape"))
        return content

    def __str__(self) -> str:
        return self._seen.hexdigest()[: self.DIGITS]


def read_file(name: str | Path, most_bytes: int, expected: str) -> bytes:
    """Read a regular file, one byte further than allowed at most. Raises InputError, with what was expected."""
    with reading(name, expected) as handle:
        return handle.read(most_bytes + 1)


@contextlib.contextmanager
def reading(name: str | Path, expected: str) -> Iterator[BinaryIO]:
    """A regular file that is read piece by piece. Raises InputError, with what was expected."""
    shown = clean(str(name), one_line=True)
    with (
        _naming_the_file("cannot be read", shown, expected),
        # Without O_NONBLOCK a pipe that nobody writes to would hang before it could be refused.
        open(os.open(name, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0)), "rb") as handle,
    ):
        if not stat.S_ISREG(os.fstat(handle.fileno()).st_mode):
            raise InputError("not a regular file", file=shown, expected=expected)
        yield handle


def open_stream(name: str | Path, expected: str) -> BinaryIO:
    """Open a file or pipe that is read as it comes. Raises InputError, with what was expected."""
    with _naming_the_file("cannot be read", clean(str(name), one_line=True), expected):
        return open(name, "rb")


def write_whole(path: Path, data: bytes, *, cache: bool = False) -> None:
    """Write a file whole or not at all; one of a `cache` is no side effect. Raises InputError."""
    with writing_whole(path, cache=cache) as handle, _naming_what_is_written(path):
        handle.write(data)


@contextlib.contextmanager
def writing_whole(path: Path, *, cache: bool = False) -> Iterator[BinaryIO]:
    """Write a file piece by piece, whole or not at all: beside it, then renamed over it. Raises InputError."""
    with _naming_what_is_written(path):
        target = path.resolve()
        if not path.name or (target.exists() and not target.is_file()):
            raise InputError("not a regular file", file=clean(str(path), one_line=True), expected="a file to write")
        beside = target.with_name(f".{target.name[:80]}.{os.getpid()}.part")
        handle = beside.open("wb")
    try:
        yield handle
        with _naming_what_is_written(path):
            handle.close()
            if target.exists():
                shutil.copymode(target, beside)
            if not cache:
                side_effect()
            beside.replace(target)
    except BaseException:
        with contextlib.suppress(OSError):
            handle.close()
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)
        raise


def _naming_what_is_written(path: Path) -> contextlib.AbstractContextManager[None]:
    return _naming_the_file("cannot be written", clean(str(path), one_line=True), "a writable file")


@contextlib.contextmanager
def _naming_the_file(problem: str, shown: str, expected: str) -> Iterator[None]:
    """Say in one line what the system refuses."""
    try:
        yield
    except (OSError, ValueError) as cause:
        reason = getattr(cause, "strerror", None) or str(cause)
        raise InputError(f"{problem} ({reason})", file=shown, expected=expected) from None
