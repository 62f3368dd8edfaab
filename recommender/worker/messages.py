"""What goes to and fro between interface and engine; every question has a serial number, which its replies bear."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, TypeAdapter

from recommender.models.base import Model
from recommender.processes.left_out import LeftOut
from recommender.worker.parts import Part
from recommender.worker.questions import Question


class Start(Model):
    """What the engine is to load; given when it is started."""

    without: tuple[str, ...] = ()
    foreign: bool = True
    left_out: tuple[LeftOut, ...] = ()


class Asked(Model):
    """A question; older ones of its group are dropped."""

    message: Literal["question"] = "question"
    serial: int
    question: Question


class Drop(Model):
    """A question is not wanted any more."""

    message: Literal["drop"] = "drop"
    serial: int


class StopCall(Model):
    """A call of a plug-in has taken too long and is asked to stop."""

    message: Literal["stop call"] = "stop call"
    number: int


class Told(Model):
    """A part of what was asked for."""

    message: Literal["part"] = "part"
    serial: int
    part: Part


class Done(Model):
    """Everything has been told."""

    message: Literal["done"] = "done"
    serial: int


class Refused(Model):
    """The question makes no sense."""

    message: Literal["refused"] = "refused"
    serial: int
    words: str
    exit_code: int = 2


class Failed(Model):
    """The program failed at the question."""

    message: Literal["failed"] = "failed"
    serial: int
    words: str
    report: str


class Dropped(Model):
    """The question was stopped, as it was asked to be."""

    message: Literal["dropped"] = "dropped"
    serial: int


ToEngine = Annotated[Asked | Drop | StopCall, Field(discriminator="message")]
FromEngine = Annotated[Told | Done | Refused | Failed | Dropped, Field(discriminator="message")]
_TO: TypeAdapter[ToEngine] = TypeAdapter(ToEngine)
_FROM: TypeAdapter[FromEngine] = TypeAdapter(FromEngine)


def encoded(message: ToEngine | FromEngine) -> bytes:
    """A message as JSON."""
    return message.model_dump_json(by_alias=True).encode()


def for_engine(data: bytes) -> ToEngine:
    """A message to the engine. Raises ValueError."""
    return _TO.validate_json(data)


def from_engine(data: bytes) -> FromEngine:
    """A message from the engine. Raises ValueError."""
    return _FROM.validate_json(data)
