"""What plug-ins print: kept from the program's own output, cleaned, and no more than a reader would read.

Standard output and standard error are each replaced by one proxy, once. A proxy asks a context variable where to write:
into the capture of the plug-in call under way in this thread or task, or else through to the stream that it stands for.
Nothing is swapped to and fro, so that calls may run in several threads at once.
"""

from __future__ import annotations

import contextlib
import io
import sys
import threading
from collections.abc import Iterator
from contextvars import ContextVar
from typing import Any, TextIO, cast

from recommender.text import clean

MOST_PRINTED = 64_000
"""Characters that a plug-in may print while it does one thing."""


class OutputCapture:
    """Takes what is printed, counts it, and drops what comes after `MOST_PRINTED` characters."""

    def __init__(self, *, shown: bool = True) -> None:
        self.shown = shown
        """Whether what is kept is passed on to standard error, cleaned."""
        self.printed = 0

    @property
    def flooded(self) -> bool:
        """Whether more was printed than anybody wants to read."""
        return self.printed > MOST_PRINTED

    def write(self, text: str) -> int:
        """Pass text on while there is room for it."""
        self.printed += len(text)
        if self.shown and not self.flooded:
            stream = _behind(sys.stderr)
            if stream is not None:
                stream.write(clean(text))
        return len(text)


_current: ContextVar[OutputCapture | None] = ContextVar("output capture", default=None)
_installing = threading.Lock()


@contextlib.contextmanager
def captured(capture: OutputCapture) -> Iterator[None]:
    """Send what this thread or task prints meanwhile into a capture."""
    _install()
    token = _current.set(capture)
    streams = sys.stdout, sys.stderr
    try:
        yield
    finally:
        _current.reset(token)
        if threading.current_thread() is threading.main_thread():  # elsewhere it may be ours that changed meanwhile
            sys.stdout, sys.stderr = streams


class _Proxy(io.TextIOBase):
    """Stands for a standard stream: everything goes through to it, but what a capture takes."""

    def __init__(self, stream: TextIO) -> None:
        self.stream = stream

    def write(self, text: str) -> int:
        capture = _current.get()
        if capture is not None:
            return capture.write(text)
        if threading.current_thread() is not threading.main_thread() and _stands_for_output(self):
            # A thread that a plug-in has started knows no capture; standard output is for answers alone.
            stream = _behind(sys.stderr)
            return len(text) if stream is None else stream.write(clean(text))
        return self.stream.write(text)

    def writelines(self, lines: Any) -> None:
        for line in lines:
            self.write(line)

    def flush(self) -> None:
        if _current.get() is None:
            self.stream.flush()

    @property
    def buffer(self) -> Any:
        capture = _current.get()
        return self.stream.buffer if capture is None else _Bytes(capture)

    def writable(self) -> bool:
        return True

    def isatty(self) -> bool:
        return _current.get() is None and self.stream.isatty()

    def fileno(self) -> int:
        return self.stream.fileno()

    def close(self) -> None:
        """The stream is not ours to close."""

    @property
    def encoding(self) -> str:  # type: ignore[override]
        return self.stream.encoding

    @property
    def errors(self) -> str | None:  # type: ignore[override]
        return self.stream.errors

    def __getattr__(self, name: str) -> Any:
        return getattr(self.stream, name)


class _Bytes(io.RawIOBase):
    """The binary side of a stream while a capture takes what is printed."""

    def __init__(self, capture: OutputCapture) -> None:
        self.capture = capture

    def writable(self) -> bool:
        return True

    def write(self, data: Any) -> int:
        raw = bytes(data)
        self.capture.write(raw.decode("utf-8", "replace"))
        return len(raw)


def _stands_for_output(proxy: _Proxy) -> bool:
    return proxy is sys.stdout


def _behind(stream: Any) -> TextIO | None:
    return stream.stream if isinstance(stream, _Proxy) else stream


def _install() -> None:
    """Put a proxy before each standard stream that has none: also where somebody has set another stream since."""
    if isinstance(sys.stdout, _Proxy) and isinstance(sys.stderr, _Proxy):
        return
    with _installing:
        for name in ("stdout", "stderr"):
            stream = getattr(sys, name)
            if stream is not None and not isinstance(stream, _Proxy):
                setattr(sys, name, cast(TextIO, _Proxy(stream)))
