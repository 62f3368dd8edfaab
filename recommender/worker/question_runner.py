"""Questions worked on: each group in a thread of its own, and of each group only the newest."""

from __future__ import annotations

import contextlib
import threading
import traceback
from collections.abc import Callable

from recommender.cancellation import Cancelled, cancelled_once, checkpoint
from recommender.errors import BevelwrightError, describe
from recommender.service import Service
from recommender.worker.answering import parts
from recommender.worker.messages import Asked, Done, Dropped, Failed, FromEngine, Refused, Told

Send = Callable[[FromEngine, BaseException | None], None]
"""Takes a message, and with `Failed` the exception itself."""


class QuestionRunner:
    """Answers with a service, and tells by `send`, from the thread that answers."""

    def __init__(self, service: Service, send: Send) -> None:
        self.service, self.send = service, send
        self._lock = threading.Lock()
        self._loading = threading.Lock()
        self._newest: dict[str, int] = {}
        """Serial of the question that is wanted, by group."""
        self._waiting: dict[str, Asked] = {}
        self._busy: set[str] = set()
        """Groups that have a thread."""

    def begin(self) -> None:
        """Load what every question needs, before the first is asked; what fails of it is told at the question."""

        def load() -> None:
            with contextlib.suppress(BevelwrightError):
                self._load()

        threading.Thread(target=load, daemon=True).start()

    def put(self, asked: Asked) -> None:
        """Answer a question; what its group is answering stops at the next step, what waits is dropped."""
        group = asked.question.group
        with self._lock:
            self._newest[group] = asked.serial
            passed_over = self._waiting.pop(group, None)
            self._waiting[group] = asked
            start = group not in self._busy
            self._busy.add(group)
        if passed_over is not None:
            self.send(Dropped(serial=passed_over.serial), None)
        if start:
            threading.Thread(target=self._work, args=(group,), name=group, daemon=True).start()

    def drop(self, serial: int) -> None:
        """Stop a question, if it is the newest of its group."""
        with self._lock:
            for group, newest in self._newest.items():
                if newest == serial:
                    self._newest[group] = -1

    def _work(self, group: str) -> None:
        while True:
            with self._lock:
                asked = self._waiting.pop(group, None)
                if asked is None:
                    self._busy.discard(group)
                    return
            self._answer(asked, group)

    def _answer(self, asked: Asked, group: str) -> None:
        serial = asked.serial
        try:
            with cancelled_once(lambda: self._newest[group] != serial):
                self._load()
                for part in parts(self.service, asked.question):
                    checkpoint()
                    self.send(Told(serial=serial, part=part), None)
            self.send(Done(serial=serial), None)
        except Cancelled:
            self.send(Dropped(serial=serial), None)
        except BevelwrightError as error:
            self.send(Refused(serial=serial, words=str(error), exit_code=error.exit_code), None)
        except BaseException as error:
            report = "".join(traceback.format_exception(error))
            self.send(Failed(serial=serial, words=describe(error), report=report), error)

    def _load(self) -> None:
        """Load plug-ins and packs once, whatever is asked first, and whether it is still wanted or not."""
        with self._loading, cancelled_once(lambda: False):
            _ = self.service.registry, self.service.knowledge
