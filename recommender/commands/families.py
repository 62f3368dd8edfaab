"""Every command with its line of help, by the family that it belongs to; a family is imported when it is asked for."""

from __future__ import annotations

import argparse
import importlib
import textwrap
from collections.abc import Iterator
from typing import Any

FAMILIES = {
    "answers.answer_command": {
        "recommend": "answer a brief: grind, angles, thickness, grind line, and why",
        "life": "follow the blade sharpening after sharpening: thickness, force, years",
    },
    "answers.sweep_command": {"sweep": "answer many briefs: CSV or JSON Lines, a result for every row"},
    "answers.blade_command": {
        "section": "measure one section of a grind exactly",
        "measure": "say which grind a blade has, from caliper readings",
    },
    "workshop.worksheet_command": {"worksheet": "what to set, scribe and check, from bar to finished blade"},
    "workshop.draw_command": {"draw": "draw the answer to a brief to a file"},
    "workshop.quote_command": {"quote": "what it costs to make, line by line, and the customer's documents"},
    "workshop.book_command": {"book": "the quote book: list, show, move on, revise, reprint, compare, export"},
    "workshop.shop_command": {"shop": "the rates that quotes are reckoned with: show, new, fit"},
    "rulebook.rules_command": {"rules": "the rules: list, show, new, why, check, and reports on them"},
    "extensions.plugins_command": {"plugins": "plug-ins: list, check, new"},
    "answers.listing_command": {
        "tasks": "list what a blade can be asked to do",
        "steels": "list steels by standard designation",
        "gear": "list sharpening gear",
        "materials": "list cut materials with their numbers",
        "grinds": "list grind families",
        "metrics": "list figures that goals and limits go by",
        "fields": "list what conditions of rules may ask for",
    },
}
"""Modules below this package -> name of a command -> its line of help; in the order in which help lists them."""
GROUPS = {
    "for a buyer": ("recommend", "life", "measure", "tasks", "gear", "steels", "grinds"),
    "for a maker": ("worksheet", "draw", "quote", "book", "shop", "section", "sweep"),
    "for a contributor": ("rules", "plugins", "materials", "metrics", "fields"),
}
"""Whom a command is for; every command once."""
COMMANDS = tuple(name for family in FAMILIES.values() for name in family)


class LateCommands(argparse._SubParsersAction):  # type: ignore[type-arg]  # it takes no parameter at run time
    """All commands by name; the family of the one that is asked for is imported, and adds what it takes, then."""

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self._family_of: dict[str, str] = {}
        for family, commands in FAMILIES.items():
            for name in commands:  # no help: they are listed by whom they are for
                self.add_parser(name)
                self._family_of[name] = family

    def __call__(
        self, parser: argparse.ArgumentParser, namespace: argparse.Namespace, values: Any, option_string: Any = None
    ) -> None:
        """Go on with the arguments of a command."""
        family = self._family_of.get(values[0])
        if family is not None:
            self._bring_in(family)
        super().__call__(parser, namespace, values, option_string)

    def _bring_in(self, family: str) -> None:
        for name in FAMILIES[family]:
            del self.choices[name], self._family_of[name]
        importlib.import_module(f"{__package__}.{family}").add(self)
        for name in FAMILIES[family]:
            for command in _each_command(self.choices[name]):
                plugin_arguments(command)


def commands_text() -> str:
    """Every command with its line of help, by whom it is for."""
    words = {name: line for family in FAMILIES.values() for name, line in family.items()}
    room = max(map(len, words)) + 2
    lines = []
    for group, names in GROUPS.items():
        lines += ["", f"{group}:"]
        for name in names:
            lines += textwrap.wrap(
                words[name], 78, initial_indent=f"  {name:<{room}}", subsequent_indent=" " * (room + 2)
            )
    return "\n".join(lines).lstrip()


def _each_command(command: argparse.ArgumentParser) -> Iterator[argparse.ArgumentParser]:
    """The command itself, or where it has parts each of them."""
    parts = [action for action in command._actions if isinstance(action, argparse._SubParsersAction)]
    if not parts:
        yield command
    for part in parts:
        for each in part.choices.values():
            yield from _each_command(each)


def plugin_arguments(parser: argparse.ArgumentParser, *, before_command: bool = False) -> None:
    """Add `--no-plugins` and `--without`, which stand before a command or after it."""
    where = "_before_command" if before_command else ""
    parser.add_argument(
        "--no-plugins", dest=f"no_plugins{where}", action="store_true", help="import none but the shipped plug-ins"
    )
    parser.add_argument(
        "--without",
        dest=f"without{where}",
        action="append",
        default=[],
        metavar="PLUGIN",
        help="do not import this plug-in; may be repeated",
    )
