"""What is typed or read line by line: settings, rows of a sweep, readings of a blade."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator

from recommender.packs.facts import BRIEF
from tests.fuzz.files import FileCase, run
from tests.fuzz.mutation import HOSTILE, as_bytes, mutated

__all__ = ["readings", "rows", "run", "settings"]
KEYS = (*(fact.key for fact in BRIEF), "tasks.food-prep", "tasks.prying", "title", "x", "owner", "tasks.", ".")
WORDS = (
    *HOSTILE, "1", "18", "0.4", "57", "440c", "full-flat", "bench-stones,strop", "beginner", "wet", "50,100", "1e5",
    "left",
)  # fmt: skip


def _setting(chance: random.Random) -> str:
    text = f"{chance.choice(KEYS)}={chance.choice(WORDS)}"
    return (mutated(text, chance) if chance.random() < 0.3 else text).replace("\0", "")  # no argument holds a NUL


def settings(seed: int) -> Iterator[FileCase]:
    """`--set` with any keys and values."""
    for number in itertools.count():
        chance = random.Random(f"settings {seed} {number}")
        given = [f"--set={_setting(chance)}" for _ in range(chance.randint(1, 3))]
        yield FileCase(f"settings-{seed}-{number}", ["recommend", *given], {})


def rows(seed: int) -> Iterator[FileCase]:
    """CSV to sweep, whose rows are refused one by one: few are answered, as that takes its time."""
    for number in itertools.count():
        chance = random.Random(f"rows {seed} {number}")
        keys = chance.sample(KEYS, chance.randint(1, 4))
        # A hardness that no steel has keeps rows from being answered in full.
        lines = [",".join(["steel.hardness_hrc", *keys])]
        lines += [",".join(["900", *chance.choices(WORDS, k=len(keys))]) for _ in range(chance.randint(1, 4))]
        text = "\n".join(lines) + "\n"
        raw = as_bytes(mutated(text, chance) if chance.random() < 0.5 else text, chance)
        argv = ["sweep", "r.csv", "--jobs", "1", "--to", chance.choice(("csv", "jsonl"))]
        yield FileCase(f"rows-{seed}-{number}", argv, {"r.csv": raw})


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
