"""Text changed as chance has it: with numbers that another might have written, or with something wrong put in."""

from __future__ import annotations

import random
import re

HOSTILE = (
    "", "\0", "\x1b[31m", "\x1b]0;x\x07", "\x9b2J", "\u202eright", "\u2066", "\ufeff", "nan", "-inf", "1e999", "-1",
    "0", "9" * 400, "9" * 5000, "0x1F", "1_000", "true", "[]", "{}", "[[", "]]", '"', "'''", '"""', "\\", "\n",
    "\r", "=",
    "==", ".", "a." * 60 + "a=1", "a." * 3000 + "a=1", "[" * 30, "[" * 3000, "{a=" * 40, "[tasks]", "{ x = 1 }",
    "a" * 3000, "1979-05-27T00:00:00Z", "é" * 300, "\ud7ff", "😀", ",", ";", "\t", "#", "$(x)", "%s", "{0}",
    "../../etc/passwd",
    "=1+1",
)  # fmt: skip
"""Pieces that have hurt some reader."""
VALUES = ("1", "-1", "0", "3.5", "1e308", "1e-308", "nan", "true", '"x"', '"\\u001b[31m"', "[]", "[1, 2]", "{}", '""')


_NUMBER = re.compile(r"(?<![\w.#-])\d+(?:\.\d+)?(?![\w.-])")


def changed(text: str, chance: random.Random) -> str:
    """The text varied, or mutated, or both."""
    way = chance.random()
    text = varied(text, chance) if way < 0.7 else text
    return mutated(text, chance) if way > 0.5 else text


def varied(text: str, chance: random.Random) -> str:
    """The text with one to three of its numbers somewhat larger or smaller."""
    for _ in range(chance.randint(1, 3)):
        found = [*_NUMBER.finditer(text)]
        if found:
            number = chance.choice(found)
            new = f"{float(number[0]) * chance.uniform(0.8, 1.25):.{len(number[0].partition('.')[2])}f}"
            text = text[: number.start()] + new + text[number.end() :]
    return text


def mutated(text: str, chance: random.Random) -> str:
    """The text with one to three things done to it."""
    for _ in range(chance.randint(1, 3)):
        text = chance.choice((_insert, _cut, _swap_value, _twice, _drop_line, _rename))(text, chance)
    return text


def as_bytes(text: str, chance: random.Random) -> bytes:
    """The text as bytes, now and then with some that are none of UTF-8."""
    raw = text.encode()
    if chance.random() < 0.05:
        at = chance.randint(0, len(raw))
        raw = raw[:at] + bytes(chance.choices(range(256), k=chance.randint(1, 8))) + raw[at:]
    return raw


def _insert(text: str, chance: random.Random) -> str:
    at = chance.randint(0, len(text))
    return text[:at] + chance.choice(HOSTILE) + text[at:]


def _cut(text: str, chance: random.Random) -> str:
    at = chance.randint(0, len(text))
    return text[:at] + text[at + chance.randint(1, 20) :]


def _swap_value(text: str, chance: random.Random) -> str:
    lines = text.split("\n")
    at = chance.randrange(len(lines))
    key, equals, _ = lines[at].partition("=")
    lines[at] = f"{key}{equals} {chance.choice(VALUES)}" if equals else lines[at]
    return "\n".join(lines)


def _twice(text: str, chance: random.Random) -> str:
    lines = text.split("\n")
    at = chance.randrange(len(lines))
    return "\n".join([*lines[:at], lines[at], *lines[at:]])


def _drop_line(text: str, chance: random.Random) -> str:
    lines = text.split("\n")
    lines.pop(chance.randrange(len(lines)))
    return "\n".join(lines)


def _rename(text: str, chance: random.Random) -> str:
    at = chance.randint(0, len(text))
    return text[:at] + text[at : at + 1].swapcase() + chance.choice("abxyz") + text[at + 1 :]
