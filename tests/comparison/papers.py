"""What is captured: the papers of a brief, those of the program as a whole, and which brief gives which."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import cycle

from .briefs import BY_HAND, DESIGNED, IMPOSSIBLE, SCENARIOS, Brief

PAPERS: dict[str, tuple[str, ...]] = {
    "recommend": ("recommend", "--json"),
    "text": ("recommend",),
    "life": ("life", "--json"),
    "worksheet": ("worksheet", "--json"),
    "quote": ("quote", "--json"),
    "drawing": ("draw", "--svg", "out/drawing.svg", "--dxf", "out/drawing.dxf", "--pdf", "out/drawing.pdf"),
}
"""Papers of a brief: a command and its options, between which the brief stands."""

_IN_TURN = ("text", "life", "worksheet", "drawing")

PROGRAM = "program"
"""The name, and the section, of what no brief is needed for."""
OF_THE_PROGRAM: dict[str, tuple[str, ...]] = {
    **{name: (name, "--json") for name in ("tasks", "steels", "gear", "materials", "grinds", "metrics", "fields")},
    "plugins": ("plugins", "list", "--json"),
    "rules": ("rules", "list", "--json"),
    **{
        f"schema-{kind}": ("rules", "schema", "--for", kind)
        for kind in ("rule", "pack", "task", "steel", "gear", "material", "brief", "shop")
    },
    "pages": ("rules", "pages", "out/pages"),
}


@dataclass(frozen=True)
class Item:
    """A brief, or the program as a whole, with the commands that write its papers."""

    name: str
    section: str
    commands: dict[str, tuple[str, ...]]


def items_of(briefs: Sequence[Brief], only: Sequence[str] = ()) -> list[Item]:
    """The program as a whole and every brief, each with its papers, or with those of a list.

    Each paper of each brief would take twice as long as anybody waits, most of it for the same answer found anew. So
    scenarios give every paper. The others give the quote, which holds the answer and the price, and one more in turn;
    what nothing fits has no quote and gives the answer.
    """
    items = [Item(PROGRAM, PROGRAM, {name: argv for name, argv in OF_THE_PROGRAM.items() if not only or name in only})]
    turns = {section: cycle(_IN_TURN) for section in (DESIGNED, BY_HAND)}
    for brief in briefs:
        names: Sequence[str]
        if brief.section == SCENARIOS:
            names = tuple(PAPERS)
        elif brief.section == IMPOSSIBLE:
            names = ("recommend",)
        else:
            names = ("quote", next(turns[brief.section]))
        commands = {name: _command(brief, *PAPERS[name]) for name in (only or names) if name in PAPERS}
        items.append(Item(brief.name, brief.section, commands))
    return [item for item in items if item.commands]


def _command(brief: Brief, command: str, *options: str) -> tuple[str, ...]:
    return (command, *brief.arguments, *options)
