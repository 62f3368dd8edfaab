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
from tests.fuzz.mutation import as_bytes, mutated

CORE = Path(bevelwright_rules.__file__).parent / "core"
SCENARIOS = Path(__file__).parents[2] / "scenarios"
EVERY = 40
"""Of so many briefs one is answered in full."""


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


def briefs(seed: int) -> Iterator[FileCase]:
    """Shipped briefs with anything put in."""
    texts = [p.read_text("utf-8") for p in sorted(SCENARIOS.glob("*.toml")) if not p.name.endswith(".expected.toml")]
    for number in itertools.count():
        chance = random.Random(f"briefs {seed} {number}")
        raw = as_bytes(mutated(chance.choice(texts), chance), chance)
        argv = ["recommend", "b.toml", *(["--json"] if chance.random() < 0.3 else [])]
        yield FileCase(f"briefs-{seed}-{number}", argv, {"b.toml": raw}, quick=number % EVERY != EVERY - 1)


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
            f"p/{path.relative_to(CORE)}": as_bytes(mutated(text, chance), chance),
        }
        yield FileCase(f"packs-{seed}-{number}", ["rules", "list", "--packs", "p"], files)


def shops(seed: int) -> Iterator[FileCase]:
    """The shipped shop file with anything put in."""
    text = shipped().decode()
    for number in itertools.count():
        chance = random.Random(f"shops {seed} {number}")
        raw = as_bytes(mutated(text, chance), chance)
        yield FileCase(f"shops-{seed}-{number}", ["shop", "show", "--shop", "s.toml"], {"s.toml": raw})
