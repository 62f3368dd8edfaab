"""The briefs that are asked: every scenario, and those of briefs.toml."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path

FILE = Path(__file__).with_name("briefs.toml")
SCENARIOS, DESIGNED, BY_HAND, IMPOSSIBLE = SECTIONS = ("scenarios", "designed", "by-hand", "impossible")


@dataclass(frozen=True)
class Brief:
    """A brief as the command line takes it."""

    name: str
    section: str
    arguments: tuple[str, ...]


def briefs_in(scenarios: Path) -> list[Brief]:
    """The briefs of a folder of scenarios and those of briefs.toml, in an order that is always the same."""
    files = sorted(path.name for path in scenarios.glob("*.toml") if not path.name.endswith(".expected.toml"))
    # The folder is named as it lies where the commands run: names of files come into messages.
    found = [Brief(name.removesuffix(".toml"), SCENARIOS, (f"scenarios/{name}",)) for name in files]
    for section, briefs in tomllib.loads(FILE.read_text(encoding="utf-8")).items():
        for name, settings in briefs.items():
            found.append(Brief(name, section, tuple(word for each in settings for word in ("--set", each))))
    return found
