"""Messages on a pipe: each is the length of its JSON, four bytes, the highest first, and the JSON."""

from __future__ import annotations

import os

MOST_BYTES = 256 << 20
"""Of one message: a length beyond it is no length."""
_CHUNK = 1 << 20


def write_frame(pipe: int, data: bytes) -> None:
    """Write a message to a file descriptor. Raises OSError where nobody reads any more."""
    rest = memoryview(len(data).to_bytes(4, "big") + data)
    while rest:
        rest = rest[os.write(pipe, rest[:_CHUNK]) :]


def read_frame(pipe: int) -> bytes | None:
    """Read a message from a file descriptor; None once the other side has closed it, or has died within a message.

    Raises ValueError for a length that cannot be one.
    """
    head = _read(pipe, 4)
    if head is None:
        return None
    length = int.from_bytes(head, "big")
    if length > MOST_BYTES:
        raise ValueError(f"a message of {length:,} bytes")
    return _read(pipe, length)


def _read(pipe: int, count: int) -> bytes | None:
    data = bytearray()
    while len(data) < count:
        piece = os.read(pipe, min(_CHUNK, count - len(data)))
        if not piece:
            return None
        data += piece
    return bytes(data)
