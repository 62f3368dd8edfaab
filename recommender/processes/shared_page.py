"""A page that two processes write and read, and that outlives either.

On POSIX a file without a name, written and read at one place: it is not mapped, as a mapped file that a plug-in cuts
short would kill who reads it. On Windows, where file descriptors are not handed down, memory by name.
"""

from __future__ import annotations

import contextlib
import mmap
import os
import secrets
import sys
import tempfile

BYTES = 4096


class SharedPage:
    """The page, as its maker has it or whoever was handed it."""

    def __init__(self, name: str | None = None) -> None:
        """A new page of zeros, or with a name that of somebody else."""
        self._memory: mmap.mmap | None = None
        self._file = -1
        if sys.platform == "win32":
            self.name = name or f"bevelwright-{os.getpid()}-{secrets.token_hex(8)}"
            self._memory = mmap.mmap(-1, BYTES, tagname=self.name)
        elif name is None:
            with tempfile.TemporaryFile() as file:
                self._file = os.dup(file.fileno())
            os.ftruncate(self._file, BYTES)
            self.name = str(self._file)
        else:
            self.name, self._file = name, int(name)
            os.set_inheritable(self._file, False)

    @property
    def handed_down(self) -> tuple[int, ...]:
        """File descriptors that a process has to be given to know the page by its name."""
        return (self._file,) if self._file >= 0 else ()

    def write(self, data: bytes) -> None:
        """Put something at its beginning."""
        if self._memory is not None:
            self._memory[: len(data)] = data
        elif sys.platform != "win32":
            with contextlib.suppress(OSError):
                os.pwrite(self._file, data, 0)

    def read(self) -> bytes:
        """All of it; nothing where it cannot be read."""
        if self._memory is not None:
            return self._memory[:BYTES]
        if sys.platform != "win32":
            with contextlib.suppress(OSError):
                return os.pread(self._file, BYTES, 0)
        return b""

    def close(self) -> None:
        """Give back what it takes."""
        if self._memory is not None:
            self._memory.close()
        elif self._file >= 0:
            os.close(self._file)
            self._file = -1
