"""The engine in threads of this process: for tests, and for plug-ins that are handed in as objects."""

from __future__ import annotations

from recommender.service import Service
from recommender.worker.client import Engine
from recommender.worker.messages import Asked, Failed, FromEngine, encoded, for_engine, from_engine
from recommender.worker.question_runner import QuestionRunner


class InProcessEngine(Engine):
    """Answers with a service; every message goes through its JSON, as between processes."""

    def __init__(self, service: Service) -> None:
        super().__init__()
        self.service = service
        self.failures: list[BaseException] = []
        """What the program failed at: nothing of it is to go unseen."""
        self._runner: QuestionRunner | None = QuestionRunner(service, self._sent)

    def close(self) -> None:
        """Drop everything."""
        with self._lock:
            for group in list(self._pending):
                self.drop(group)
            self._runner = None

    def _send(self, asked: Asked) -> None:
        message = for_engine(encoded(asked))
        if self._runner is not None and isinstance(message, Asked):
            self._runner.put(message)

    def _send_drop(self, serial: int) -> None:
        if self._runner is not None:
            self._runner.drop(serial)

    def _sent(self, message: FromEngine, error: BaseException | None) -> None:
        if isinstance(message, Failed) and error is not None:
            self.failures.append(error)
        self._received(from_engine(encoded(message)))
