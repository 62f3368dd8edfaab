"""Briefs, packs and shop files: shipped ones with anything put in."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import bevelwright_rules

from recommender.shop.rates.shop_file import shipped
from tests.fuzz.command import outcome
from tests.fuzz.mutation import as_bytes, changed, mutated

CORE = Path(bevelwright_rules.__file__).parent / "core"
SCENARIOS = Path(__file__).parents[2] / "scenarios"
EVERY = 200
"""Of so many cases one is answered in full."""


@dataclass(frozen=True)
class FileCase:
    """A command and the files that it is given."""

    name: str
    argv: list[str]
    files: dict[str, bytes] = field(repr=False)
    quick: bool = True


def run(case: FileCase) -> str:
    """Run the command. Raises AssertionError for a promise that is not kept."""
    return outcome(case.argv, case.files, quick=case.quick)


def shipped_briefs() -> list[str]:
    """As text."""
    return [p.read_text("utf-8") for p in sorted(SCENARIOS.glob("*.toml")) if not p.name.endswith(".expected.toml")]


def in_full(number: int) -> bool:
    """Whether the case of that number is answered as a user's brief would be."""
    return number % EVERY == EVERY - 1


def briefs(seed: int) -> Iterator[FileCase]:
    """Shipped briefs with anything put in."""
    texts = shipped_briefs()
    for number in itertools.count():
        chance = random.Random(f"briefs {seed} {number}")
        raw = as_bytes(changed(chance.choice(texts), chance), chance)
        argv = ["recommend", "b.toml", *(["--json"] if chance.random() < 0.3 else [])]
        yield FileCase(f"briefs-{seed}-{number}", argv, {"b.toml": raw}, quick=not in_full(number))


def packs(seed: int) -> Iterator[FileCase]:
    """A pack of one shipped file with anything put in, over those shipped."""
    paths = sorted([*CORE.glob("rules/*.toml"), *CORE.glob("tables/*/*.toml")])
    for number in itertools.count():
        chance = random.Random(f"packs {seed} {number}")
        path = chance.choice(paths)
        text = path.read_text("utf-8")
        top = 'id = "fuzzed"\ntitle = "Fuzzed"\nversion = "1"\n'
        files = {
            "p/pack.toml": as_bytes(mutated(top, chance) if chance.random() < 0.2 else top, chance),
            f"p/{path.relative_to(CORE)}": as_bytes(changed(text, chance), chance),
        }
        asked = chance.choice((["rules", "list"], ["recommend"]))
        yield FileCase(f"packs-{seed}-{number}", [*asked, "--packs", "p"], files, quick=not in_full(number))


def shops(seed: int) -> Iterator[FileCase]:
    """The shipped shop file with anything put in."""
    text = shipped().decode()
    for number in itertools.count():
        chance = random.Random(f"shops {seed} {number}")
        raw = as_bytes(changed(text, chance), chance)
        yield FileCase(f"shops-{seed}-{number}", ["shop", "show", "--shop", "s.toml"], {"s.toml": raw})
