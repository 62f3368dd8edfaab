"""The questions an empty form begins with: what is mostly cut, how it is sharpened, which steel."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from recommender.worker.parts import Catalogue, Choice

UNKNOWN = "I don't know"
FIRST_FAMILY = "stainless"
"""Steels of this family come first: most knives that are bought are of them; common practice."""


@dataclass(frozen=True)
class OpeningChoice:
    """One answer to a question, with the fields that it sets."""

    words: str
    sets: Mapping[str, str] = field(default_factory=dict)
    meaning: str = ""


@dataclass(frozen=True)
class OpeningQuestion:
    """A question with its answers, the first of which leaves it open."""

    words: str
    choices: tuple[OpeningChoice, ...]


def opening_questions(catalogue: Catalogue) -> tuple[OpeningQuestion, ...]:
    """The three of them, with what is loaded to choose from."""
    gear = tuple(g for g in catalogue.gear if g.id != "none")
    steels = sorted(catalogue.steels, key=lambda steel: (steel.meaning != FIRST_FAMILY, steel.meaning))
    return (
        _question("What will it mostly do?", "tasks.{}", catalogue.tasks),
        _question("How will it be sharpened?", "owner.gear.{}", gear),
        OpeningQuestion(
            "Which steel is it made of?",
            (
                OpeningChoice(UNKNOWN),
                *(OpeningChoice(s.label, {"steel.grade": s.id}, f"{s.meaning} steel") for s in steels),
            ),
        ),
    )


def _question(words: str, key: str, choices: tuple[Choice, ...]) -> OpeningQuestion:
    known = tuple(OpeningChoice(c.label, {key.format(c.id): "1"}, c.meaning) for c in choices)
    return OpeningQuestion(words, (OpeningChoice(UNKNOWN), *known))
