"""An export cut into its quotes, so that never more than one of them is parsed: a shop has thousands of them.

Nothing is checked here but sizes. The objects of the outermost list, or of a list in the outermost object, lie in a
file of nobody's; what stands around them is kept as text, with an empty object for each of them.
"""

from __future__ import annotations

import re
import tempfile
from typing import BinaryIO

from recommender.errors import InputError

MOST_BYTES = 1_000_000_000
MOST_PARTS = 50_000
MOST_PART_BYTES = 1_000_000
"""Of a quote: ten times a long one."""
MOST_AROUND_BYTES = 1_000_000
_IN_MEMORY_BYTES = 8_000_000
_CHUNK_BYTES = 250_000
_TOKENS = re.compile(rb'"(?:[^"\\]|\\.)*+(?P<closed>")?|[\[\]{}]', re.DOTALL)


class ExportParts:
    """The quotes of an export as bytes, and what stands around them. Raises InputError for what is too long."""

    def __init__(self, stream: BinaryIO, file: str) -> None:
        self.around = bytearray()
        self._file = file
        self._kept = tempfile.SpooledTemporaryFile(_IN_MEMORY_BYTES)  # noqa: SIM115 - closed with the last use of its parts
        self._places: list[tuple[int, int]] = []
        """Where each begins and how long it is."""
        self._begun: int | None = None
        """Where the one begins that is being cut out."""
        self._end = 0
        self._cut(stream)

    def __len__(self) -> int:
        return len(self._places)

    def __getitem__(self, place: int) -> bytes:
        begin, length = self._places[place]
        self._kept.seek(begin)
        return self._kept.read(length)

    def _cut(self, stream: BinaryIO) -> None:
        rest, read, depth, brackets = b"", 0, 0, bytearray()
        while chunk := stream.read(_CHUNK_BYTES):
            read += len(chunk)
            if read > MOST_BYTES:
                raise InputError("too long", file=self._file, expected=f"at most {MOST_BYTES:,} bytes")
            text, at = rest + chunk, 0
            rest = b""
            for token in _TOKENS.finditer(text):
                mark = token[0]
                if mark[:1] == b'"':
                    if not token["closed"]:  # the next chunk has more of it
                        rest = text[token.start() :]
                        self._check_length(len(rest))
                        break
                elif self._begun is not None:
                    depth += 1 if mark in b"[{" else -1
                    if depth == 0:
                        self._put(text[at : token.end()])
                        self._finish()
                        at = token.end()
                elif mark == b"{" and len(brackets) < 3 and bytes(brackets) in (b"[", b"{["):
                    self._put(text[at : token.start()] + b"{}")
                    self._begun, depth, at = self._end, 1, token.start()
                elif mark in b"[{":
                    brackets += mark
                else:
                    del brackets[-1:]
            self._put(text[at : len(text) - len(rest)])
        self._put(rest)
        if self._begun is not None:
            self._finish()

    def _put(self, text: bytes) -> None:
        """Add to the quote that is being cut out, else to what is around them."""
        if self._begun is None:
            self.around += text
            if len(self.around) > MOST_AROUND_BYTES:
                expected = f"at most {MOST_AROUND_BYTES:,} bytes of it"
                raise InputError("too much besides quotes", file=self._file, expected=expected)
            return
        self._end += self._kept.write(text)
        self._check_length(self._end - self._begun)

    def _check_length(self, length: int) -> None:
        if length > MOST_PART_BYTES:
            file = self._file if self._begun is None else f"{self._file}: quote {len(self._places) + 1}"
            raise InputError("too long", file=file, expected=f"at most {MOST_PART_BYTES:,} bytes")

    def _finish(self) -> None:
        assert self._begun is not None
        self._places.append((self._begun, self._end - self._begun))
        self._begun = None
        if len(self._places) > MOST_PARTS:
            raise InputError("too much in it", file=self._file, expected=f"at most {MOST_PARTS:,} quotes")
