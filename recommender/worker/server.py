"""The worker process: reads questions, has them answered in threads, and ends when nobody is left to tell.

The main thread only reads, so that a question is dropped as soon as that is asked for and the end of the pipe is seen
while something is being computed.
"""

from __future__ import annotations

import contextlib
import faulthandler
import os
import signal
import threading

from recommender.processes.process_care import CallStoppedError, end_with, stop_thread, take_pipes
from recommender.processes.process_limits import limit_file_size, limit_memory
from recommender.worker.framing import read_frame, write_frame

MOST_WRITTEN = 64 << 20
"""Bytes in one file: a flood of print ends here."""


def main(parent: int, mark_name: str, start: str) -> None:
    """Serve the process that started this one, and end with it."""
    questions, answers = take_pipes()
    end_with(parent)
    with contextlib.suppress(ValueError):
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # the terminal's, which is the interface's business
    limit_memory()
    limit_file_size(MOST_WRITTEN)
    faulthandler.enable()
    # Only now: what is imported here may take memory or print.
    from recommender.plugin.foreign_calls import watch_foreign_calls
    from recommender.processes.call_mark import CallMark
    from recommender.worker.answering import service_of
    from recommender.worker.messages import Asked, Drop, FromEngine, Start, StopCall, encoded, for_engine
    from recommender.worker.question_runner import QuestionRunner

    class Marker(CallMark):
        """The mark, with the thread that is in the call."""

        thread = 0

        def entered(self, plugin: str, distribution: str, version: str, doing: str) -> None:
            self.thread = threading.get_ident()
            super().entered(plugin, distribution, version, doing)

    mark = Marker(mark_name)
    watch_foreign_calls(mark)
    writing = threading.Lock()

    def send(message: FromEngine, _: BaseException | None) -> None:
        data = encoded(message)
        with writing:
            try:
                write_frame(answers, data)
            except OSError:
                os._exit(0)

    runner = QuestionRunner(service_of(Start.model_validate_json(start)), send)
    runner.begin()
    while (data := _next(questions)) is not None:
        match for_engine(data):
            case Asked() as asked:
                runner.put(asked)
            case Drop() as drop:
                runner.drop(drop.serial)
            case StopCall() as stop if stop.number == mark.number:
                stop_thread(mark.thread, CallStoppedError)
    os._exit(0)


def _next(pipe: int) -> bytes | None:
    try:
        return read_frame(pipe)
    except (OSError, ValueError):
        return None
