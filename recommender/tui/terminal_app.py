"""The interface on a real terminal: whatever ends it, the terminal is given back and the process gone at once.

Everything that is kept is on the disk as soon as it changes, so nothing is left to be done at the end, and threads that
still compute are not waited for.
"""

from __future__ import annotations

import os
import signal
import sys
import threading
from typing import TYPE_CHECKING, Any, NoReturn

from textual.worker import WorkerFailed

from recommender.tui.app import BevelwrightApp
from recommender.tui.state.crash_report import CRASHED, report_crash, report_failure
from recommender.worker.messages import Failed, Refused

if TYPE_CHECKING:
    from textual.driver import Driver

_ENDED_BY = tuple(getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name))
_PATIENCE_S = 1.0


class TerminalApp(BevelwrightApp):
    """Ends the process instead of returning from `run`."""

    def get_driver_class(self) -> type[Driver]:
        """One that gives the terminal back at once, where there is one for this system."""
        if sys.platform == "win32":
            return super().get_driver_class()
        from recommender.tui.terminal_driver import TerminalDriver

        return TerminalDriver

    def exit(self, result: Any = None, return_code: int = 0, message: Any = None) -> None:
        """Leave: the terminal as it was, the form as it is."""
        if self.is_headless:
            super().exit(result, return_code, message)
        else:
            self._end(return_code)

    def crash(self, error: BaseException) -> NoReturn:
        """Leave after a failure of our own, saying where the report of it lies."""
        self._end(CRASHED, report_crash(self.session.folder, error.error if isinstance(error, WorkerFailed) else error))

    def end_without_engine(self, why: Refused | Failed) -> None:
        """Leave with the line that says why, as if the form had never been there."""
        if self.is_headless:
            super().end_without_engine(why)
        elif isinstance(why, Refused):
            self._end(why.exit_code, f"bevelwright: {why.words}")
        else:
            self._end(CRASHED, report_failure(self.session.folder, why.words, why.report))

    def input_failed(self, error: BaseException) -> NoReturn:
        """Leave when no more can be read: a terminal that is gone is no failure of ours."""
        if isinstance(error, OSError):
            self._end(128 + signal.SIGHUP)
        self.crash(error)

    def _handle_exception(self, error: Exception) -> None:
        """What Textual calls for an exception that nobody has caught."""
        if self.is_headless:
            super()._handle_exception(error)
        else:
            self.crash(error)

    def heed_signals(self) -> None:
        """From now on, while the terminal is changed, signals end it in order."""
        for number in _ENDED_BY:
            signal.signal(number, self._end_by_signal)

    def _end_by_signal(self, number: int, _: object) -> None:
        """Between two steps of the loop, so that a file under way is written whole; by force if that is not to be."""
        hard = threading.Timer(_PATIENCE_S, os._exit, [128 + number])
        hard.daemon = True
        hard.start()
        assert self._loop is not None
        self._loop.call_soon_threadsafe(self._end, 128 + number)

    def _end(self, code: int, words: str = "") -> NoReturn:
        try:
            if code != CRASHED:
                self.session.settle()
            give_back = getattr(self._driver, "give_back", None) or getattr(self._driver, "stop_application_mode", None)
            if give_back is not None:
                give_back()
            if words:
                os.write(2, f"{words}\n".encode(errors="replace"))
        finally:
            os._exit(code)
