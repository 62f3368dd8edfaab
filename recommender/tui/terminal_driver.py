"""The terminal as Textual drives it, given back as it was found without waiting for anybody."""

from __future__ import annotations

import contextlib
import sys
import termios
from typing import TYPE_CHECKING, Any, TextIO, cast

from textual.drivers.linux_driver import LinuxDriver

if TYPE_CHECKING:
    from recommender.tui.terminal_app import TerminalApp


class TerminalDriver(LinuxDriver):
    """Draws on standard output, which `cli` has found to be a terminal: standard error may lead elsewhere."""

    def __init__(self, *args: Any, **settings: Any) -> None:
        super().__init__(*args, **settings)
        assert sys.__stdout__ is not None
        self._file = cast(Any, _Output(sys.__stdout__))
        self._given_back = False

    @property
    def _interface(self) -> TerminalApp:
        return cast("TerminalApp", self._app)

    def start_application_mode(self) -> None:
        """Change the terminal."""
        self._interface.heed_signals()
        super().start_application_mode()  # type: ignore[no-untyped-call]

    def give_back(self) -> None:
        """Reset every mode that was set, and write out everything there is to write."""
        if self._writer_thread is not None and not self._given_back:
            self._given_back = True
            self.stop_application_mode()
            self.close()

    def disable_input(self) -> None:
        """Ask for no more input. The thread that reads it is not waited for, which takes a fifth of a second."""
        self._disable_mouse_support()
        # Textual sets these two where the terminal can, and resets neither in every case.
        self.write("\x1b[?1016l\x1b[?2048l")
        self.exit_event.set()
        with contextlib.suppress(termios.error):
            termios.tcflush(self.fileno, termios.TCIFLUSH)

    def _run_input_thread(self) -> None:
        try:
            self.run_input_thread()
        except BaseException as error:
            self._loop.call_soon_threadsafe(self._interface.input_failed, error)


class _Output:
    """A terminal that may be gone: what is written to it then is lost, and nobody waits for it."""

    def __init__(self, file: TextIO) -> None:
        self.file = file

    def write(self, text: str) -> None:
        with contextlib.suppress(OSError, ValueError):
            self.file.write(text)

    def flush(self) -> None:
        with contextlib.suppress(OSError, ValueError):
            self.file.flush()

    def fileno(self) -> int:
        return self.file.fileno()
