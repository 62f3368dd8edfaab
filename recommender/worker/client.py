"""The engine as the interface holds it: questions go out, what is told on the newest of each group comes back."""

from __future__ import annotations

import itertools
import threading
from collections.abc import Callable
from dataclasses import dataclass, field

from recommender.errors import BevelwrightError
from recommender.processes.left_out import LeftOut
from recommender.worker.messages import Asked, Done, Dropped, Failed, FromEngine, Refused, Told
from recommender.worker.parts import Catalogue, Part
from recommender.worker.questions import CatalogueQuestion, Question

Reply = Part | Done | Refused | Failed
Tell = Callable[[Reply], None]
"""Takes what comes on a question, in a thread of the engine's: a part, and last done, refused or failed.

It must not wait for anything."""


class EngineRefusedError(BevelwrightError):
    """What the engine refused."""

    def __init__(self, words: str, exit_code: int) -> None:
        super().__init__(words)
        self.exit_code = exit_code


class EngineFailedError(Exception):
    """The engine failed at a question; the message is its own report."""


@dataclass(frozen=True)
class Trouble:
    """What happened to the engine that the user has to know."""

    words: str
    plugin: LeftOut | None = None
    """The plug-in that it goes on without."""


@dataclass
class Pending:
    """A question that has not been answered to the end."""

    asked: Asked
    tell: Tell
    told: list[Reply] = field(default_factory=list)
    crashes: int = 0
    """How often the engine ended over it."""


class Engine:
    """What both carriers have in common; each puts a message on its way in `_send` and ends in `close`."""

    def __init__(self) -> None:
        self._lock = threading.RLock()
        self._serials = itertools.count(1)
        self._pending: dict[str, Pending] = {}
        """The newest question of each group."""
        self.troubles: list[Trouble] = []
        """All so far."""
        self.on_trouble: Callable[[Trouble], None] = lambda trouble: None
        """Called with each new one, in a thread of the engine's."""

    def ask(self, question: Question, tell: Tell) -> None:
        """Ask; nothing more is told on an older question of the same group.

        What is being answered already is not asked again: what was told on it until now is told once more.
        """
        with self._lock:
            same = self._pending.get(question.group)
            if same is not None and same.asked.question == question:
                same.tell = tell
                for reply in same.told:
                    tell(reply)
                return
            pending = Pending(Asked(serial=next(self._serials), question=question), tell)
            self._pending[question.group] = pending
            self._send(pending.asked)

    def drop(self, group: str) -> None:
        """Want what was asked last in a group no longer."""
        with self._lock:
            pending = self._pending.pop(group, None)
            if pending is not None:
                self._send_drop(pending.asked.serial)

    @property
    def pending(self) -> bool:
        """Whether anything that was asked has not been answered to the end."""
        return bool(self._pending)

    def catalogue(self) -> Catalogue:
        """What there is to choose from, once it is loaded. Raises BevelwrightError, EngineFailedError."""
        told = threading.Event()
        replies: list[Reply] = []

        def tell(reply: Reply) -> None:
            replies.append(reply)
            told.set()

        self.ask(CatalogueQuestion(), tell)
        told.wait()
        match replies[0]:
            case Catalogue() as catalogue:
                return catalogue
            case Refused() as refused:
                raise EngineRefusedError(refused.words, refused.exit_code)
            case Failed() as failed:
                raise EngineFailedError(failed.report)
            case other:
                raise AssertionError(other)

    def close(self) -> None:
        """End the engine."""
        raise NotImplementedError

    def _send(self, asked: Asked) -> None:
        raise NotImplementedError

    def _send_drop(self, serial: int) -> None:
        raise NotImplementedError

    def _received(self, message: FromEngine) -> None:
        """Hand a message on, unless a newer question of its group has been asked since."""
        with self._lock:  # so that replies keep their order; no `tell` waits for anybody
            pending = next((p for p in self._pending.values() if p.asked.serial == message.serial), None)
            if pending is None:
                return
            if isinstance(message, Told):
                pending.told.append(message.part)
                pending.tell(message.part)
                return
            if not isinstance(message, Dropped):
                pending.tell(message)
            group = pending.asked.question.group
            if self._pending.get(group) is pending:  # and nothing was asked by whoever was told
                del self._pending[group]

    def _tell_trouble(self, trouble: Trouble) -> None:
        self.troubles.append(trouble)
        self.on_trouble(trouble)
