"""`tasks`, `steels`, `gear`, `materials`, `grinds`, `metrics` and `fields`: what is known."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from recommender.commands.common import (
    Commands,
    nothing_says,
    packs_argument,
    page_width,
    write_json,
    write_text,
)
from recommender.text import texts

if TYPE_CHECKING:
    from recommender.service import Service

_USES = {
    "tasks": "--set tasks.food-prep=1 (or several, each with its share)",
    "steels": "--set steel.grade=1.4116 --set steel.hardness_hrc=57",
    "gear": "--set owner.gear=bench-stones,strop",
    "grinds": "--set wishes.grind=full-flat",
}


def add(commands: Commands) -> None:
    """Add the commands of this family."""
    for name in ("tasks", "steels", "gear", "materials", "grinds", "metrics", "fields"):
        listing = commands.add_parser(name)
        listing.set_defaults(run=_listing)
        listing.add_argument("words", nargs="*", metavar="WORD", help="only what says it, by its name first")
        packs_argument(listing)
        listing.add_argument("--json", action="store_true", help="print a JSON list")


def _listing(service: Service, args: argparse.Namespace) -> int:
    rows = service.loaded.listing(args.command, args.words)
    if args.json:
        write_json(rows)
        return 0
    if not rows:
        said = (word for row in service.loaded.listing(args.command) for word in texts(row))
        raise nothing_says(args.words, said)
    from recommender.drawing.text.answer.figures_text import listing_text

    write_text(listing_text(rows, width=page_width()))
    if use := _USES.get(args.command):
        write_text(f"\nUse: bevelwright recommend {use}\n")
    return 0
