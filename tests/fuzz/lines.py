"""What is typed or read line by line: settings, rows of a sweep, readings of a blade."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator
from functools import cache
from typing import Any

from recommender.packs.facts import BRIEF
from recommender.service import read_brief
from tests.fuzz.files import FileCase, in_full, run, shipped_briefs
from tests.fuzz.mutation import HOSTILE, as_bytes, mutated, varied

__all__ = ["readings", "rows", "run", "settings"]
KEYS = (*(fact.key for fact in BRIEF), "tasks.food-prep", "tasks.prying", "title", "x", "owner", "tasks.", ".")
WORDS = (
    *HOSTILE, "1", "18", "0.4", "57", "440c", "full-flat", "bench-stones,strop", "beginner", "wet", "50,100", "1e5",
    "left",
)  # fmt: skip


@cache
def stated() -> tuple[tuple[str, str], ...]:
    """Every field that a shipped brief states, with its value as it is typed."""
    briefs = [read_brief(text.encode(), "brief").model_dump(exclude_defaults=True) for text in shipped_briefs()]
    return tuple(
        (f"{table}.{key}", _typed(value))
        for brief in briefs
        for table, fields in brief.items()
        if isinstance(fields, dict)
        for key, value in fields.items()
    )


def _typed(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return ",".join(map(str, value)) if isinstance(value, tuple) else str(value)


def _setting(chance: random.Random) -> str:
    """One that a shipped brief states, as it is or changed; now and then any key and any value."""
    if chance.random() < 0.8:
        key, value = chance.choice(stated())
        return f"{key}={varied(value, chance)}"
    text = f"{chance.choice(KEYS)}={chance.choice(WORDS)}"
    return (mutated(text, chance) if chance.random() < 0.5 else text).replace("\0", "")  # no argument holds a NUL


def settings(seed: int) -> Iterator[FileCase]:
    """`--set` with keys and values, most of them such as are typed."""
    for number in itertools.count():
        chance = random.Random(f"settings {seed} {number}")
        given = [f"--set={_setting(chance)}" for _ in range(chance.randint(1, 3))]
        yield FileCase(f"settings-{seed}-{number}", ["recommend", *given], {}, quick=not in_full(number))


def rows(seed: int) -> Iterator[FileCase]:
    """CSV to sweep: most cells are such as are written, and in some columns or cells stands anything."""
    for number in itertools.count():
        chance = random.Random(f"rows {seed} {number}")
        columns: dict[str, list[str]] = {}
        for key, value in stated():
            columns.setdefault(key, []).append(value)
        keys = [*chance.sample(sorted(columns), chance.randint(1, 4)), *chance.choices(("id", "title", *KEYS), k=2)]
        keys = keys if chance.random() < 0.3 else keys[:-2]
        lines = [",".join(keys)]
        for _ in range(chance.randint(1, 4)):
            cells = [
                chance.choice(WORDS)
                if chance.random() < 0.1
                else varied(chance.choice(columns.get(key, WORDS)), chance)
                for key in keys
            ]
            lines.append(",".join(f'"{cell}"' if chance.random() < 0.5 or "," in cell else cell for cell in cells))
        text = "\n".join(lines) + "\n"
        raw = as_bytes(mutated(text, chance) if chance.random() < 0.3 else text, chance)
        argv = ["sweep", "r.csv", "--jobs", "1", "--to", chance.choice(("csv", "jsonl"))]
        yield FileCase(f"rows-{seed}-{number}", argv, {"r.csv": raw}, quick=not in_full(number))


def readings(seed: int) -> Iterator[FileCase]:
    """Caliper readings with anything put in."""
    for number in itertools.count():
        chance = random.Random(f"readings {seed} {number}")
        given = [f"{y}:{0.4 + 0.09 * y:.2f}" for y in sorted(chance.sample(range(1, 40), chance.randint(5, 14)))]
        at = chance.randrange(len(given))
        if chance.random() < 0.7:
            word = mutated(given[at], chance) if chance.random() < 0.8 else chance.choice(HOSTILE)
            given[at] = word.replace("\0", "")
        yield FileCase(f"readings-{seed}-{number}", ["measure", "--", *given], {})
