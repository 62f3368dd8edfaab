"""A mark that outlives a process: which foreign plug-in it was calling, and since which call.

On POSIX a file without a name, written and read at one place: it is not mapped, as a mapped file that a plug-in cuts
short would kill who reads it. On Windows, where file descriptors are not handed down, memory by name.
"""

from __future__ import annotations

import contextlib
import json
import mmap
import os
import secrets
import sys
import tempfile
from dataclasses import dataclass

_BYTES = 4096
_HEAD = 8
"""The number of the call; odd while it is under way."""


@dataclass(frozen=True)
class MarkedCall:
    """A call that is under way."""

    number: int
    plugin: str
    distribution: str
    version: str
    doing: str


class CallMark:
    """The mark, as its maker reads it or the worker writes it."""

    def __init__(self, name: str | None = None) -> None:
        """A new mark, or with a name that of somebody else."""
        self._number = 0
        self._memory: mmap.mmap | None = None
        self._file = -1
        if sys.platform == "win32":
            self.name = name or f"bevelwright-{os.getpid()}-{secrets.token_hex(8)}"
            self._memory = mmap.mmap(-1, _BYTES, tagname=self.name)
        elif name is None:
            with tempfile.TemporaryFile() as file:
                self._file = os.dup(file.fileno())
            os.ftruncate(self._file, _BYTES)
            self.name = str(self._file)
        else:
            self.name, self._file = name, int(name)
            os.set_inheritable(self._file, False)

    @property
    def handed_down(self) -> tuple[int, ...]:
        """File descriptors that a process has to be given to know the mark by its name."""
        return (self._file,) if self._file >= 0 else ()

    # As the worker writes it

    def entered(self, plugin: str, distribution: str, version: str, doing: str) -> None:
        """Mark that a call begins."""
        words = json.dumps([plugin, distribution, version, doing]).encode()
        if len(words) > _BYTES - _HEAD:
            words = json.dumps([plugin[:80], distribution[:80], version[:80], ""]).encode()
        self._number += 1
        self._write(self._number.to_bytes(_HEAD, "big") + words + b"\n")

    def left(self) -> None:
        """Mark that it is over."""
        self._number += 1
        self._write(self._number.to_bytes(_HEAD, "big"))

    @property
    def number(self) -> int:
        """Of the call that is under way, odd, or the last one, even."""
        return self._number

    # As its maker reads it

    def call(self) -> MarkedCall | None:
        """The call that is under way."""
        data = self._read()
        number = int.from_bytes(data[:_HEAD], "big")
        if not number % 2:
            return None
        with contextlib.suppress(ValueError):  # it was being written when the process ended
            plugin, distribution, version, doing = json.loads(data[_HEAD:].split(b"\n", 1)[0])
            return MarkedCall(number, str(plugin), str(distribution), str(version), str(doing))
        return None

    def wipe(self) -> None:
        """Forget the call: the process that made it is gone."""
        self._number = 0
        self._write(bytes(_HEAD))

    def close(self) -> None:
        """Give back what the mark takes."""
        if self._memory is not None:
            self._memory.close()
        elif self._file >= 0:
            os.close(self._file)
            self._file = -1

    def _write(self, data: bytes) -> None:
        if self._memory is not None:
            self._memory[: len(data)] = data
        elif sys.platform != "win32":
            with contextlib.suppress(OSError):
                os.pwrite(self._file, data, 0)

    def _read(self) -> bytes:
        if self._memory is not None:
            return self._memory[:_BYTES]
        if sys.platform != "win32":
            with contextlib.suppress(OSError):
                return os.pread(self._file, _BYTES, 0)
        return b""
