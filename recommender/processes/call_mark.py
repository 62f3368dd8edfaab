"""A mark that outlives a process: which foreign plug-in it was calling, and since which call."""

from __future__ import annotations

import contextlib
import json
import signal
from dataclasses import dataclass
from typing import Literal

from recommender.processes.shared_page import BYTES, SharedPage

CALL_SECONDS = 10.0
"""How long one call of a foreign plug-in may take."""
GRACE_S = 1.0
"""What it gets to end by itself, once it is asked to."""
MOST_COUNTED_S = 1.0
"""Of the time between two looks."""
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


class CallMark(SharedPage):
    """The mark, as its maker reads it or the worker writes it."""

    def __init__(self, name: str | None = None) -> None:
        """A new mark, or with a name that of somebody else."""
        super().__init__(name)
        self._number = 0

    # As the worker writes it

    def entered(self, plugin: str, distribution: str, version: str, doing: str) -> None:
        """Mark that a call begins."""
        words = json.dumps([plugin, distribution, version, doing]).encode()
        if len(words) > BYTES - _HEAD:
            words = json.dumps([plugin[:80], distribution[:80], version[:80], ""]).encode()
        self._number += 1
        self.write(self._number.to_bytes(_HEAD, "big") + words + b"\n")

    def left(self) -> None:
        """Mark that it is over."""
        self._number += 1
        self.write(self._number.to_bytes(_HEAD, "big"))

    @property
    def number(self) -> int:
        """Of the call that is under way, odd, or the last one, even."""
        return self._number

    # As its maker reads it

    def call(self) -> MarkedCall | None:
        """The call that is under way."""
        data = self.read()
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
        self.write(bytes(_HEAD))


class CallLimit:
    """How long one call may take: looked at every now and then, it says when to ask for its end and when to make one.

    Time in which nobody looked, as while both were stopped by ctrl+z, does not count.
    """

    def __init__(self, mark: CallMark, seconds: float) -> None:
        self.mark, self.seconds = mark, seconds
        self.stopped: MarkedCall | None = None
        """The call that was asked to stop."""
        self._call: MarkedCall | None = None
        self._spent_s, self._looked = 0.0, 0.0

    def look(self, now_s: float) -> Literal["", "ask", "kill"]:
        """What is to be done now, by a clock that never goes back: nothing, ask it to stop, or kill it."""
        call = self.mark.call()
        if call is None or self._call is None or call.number != self._call.number:
            self._call, self._spent_s = call, 0.0
        else:
            self._spent_s += min(now_s - self._looked, MOST_COUNTED_S)
        self._looked = now_s
        if self.stopped is not None:
            return "kill" if self._spent_s > GRACE_S or call != self.stopped else ""
        if call is not None and self._spent_s > self.seconds:
            self.stopped, self._spent_s = call, 0.0
            return "ask"
        return ""


def ended(limit: CallLimit, code: int) -> tuple[MarkedCall | None, str]:
    """The call in which a process ended, and how it ended, by its exit code as `subprocess` gives it."""
    if limit.stopped is not None:
        return limit.stopped, f"was still busy after {limit.seconds:g} s"
    how = f"ended the program with exit code {code}"
    if code < 0:
        how = f"crashed (signal {-code})"
        with contextlib.suppress(ValueError):
            how = f"crashed ({signal.Signals(-code).name})"
    return limit.mark.call(), how
