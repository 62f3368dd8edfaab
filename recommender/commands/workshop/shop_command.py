"""`shop`: the maker's own rates. Shows them, writes a file to fill in, fits rates to past times."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from recommender.commands.common import Commands, page_width, shop_argument, write_json, write_text
from recommender.text import clean

if TYPE_CHECKING:
    from recommender.service import Service


def add(commands: Commands) -> None:
    """Add the commands of the shop."""
    shop = commands.add_parser("shop")
    shop.set_defaults(run=lambda service, args: shop.error("which of show, new and fit is missing; see --help"))
    parts = shop.add_subparsers(dest="part", metavar="WHAT", parser_class=type(shop))

    show = parts.add_parser("show", help="the shop that quotes go by, and what it offers")
    show.set_defaults(run=_show)
    shop_argument(show)
    show.add_argument("--json", action="store_true", help="print one JSON object")

    new = parts.add_parser("new", help="write a shop.toml to fill in; its values are invented")
    new.set_defaults(run=_new)
    new.add_argument("file", nargs="?", metavar="FILE", help="where (the place where it is looked for)")

    fit = parts.add_parser("fit", help="rates from the times of past jobs, with their spread")
    fit.set_defaults(run=_fit)
    shop_argument(fit)
    fit.add_argument("--book", metavar="FILE", help="another quote book than your own: its noted times count")
    fit.add_argument("--times", metavar="FILE.csv", help="more times: columns rate, amount, minutes")
    fit.add_argument("--json", action="store_true", help="print a JSON list")


def _show(service: Service, args: argparse.Namespace) -> int:
    from recommender.drawing.text.workshop.shop_rates_text import shop_rates_text

    shop = service.workshop.shop(args.shop)
    if args.json:
        write_json(shop.model_dump(mode="json"))
    else:
        write_text(
            shop_rates_text(shop, service.workshop.shop_file(args.shop), service.knowledge.steels, width=page_width())
        )
    return 0


def _new(service: Service, args: argparse.Namespace) -> int:
    file = service.workshop.new_shop(Path(args.file) if args.file else None)
    write_text(f'wrote {clean(str(file), one_line=True)}: put in your own figures, then set values = "own"\n')
    return 0


def _fit(service: Service, args: argparse.Namespace) -> int:
    from recommender.drawing.text.workshop.shop_rates_text import fits_text

    shop = service.workshop.shop(args.shop)
    found = service.workshop.fitted_rates(shop, service.workshop.book(args.book), args.times)
    if args.json:
        write_json([fitted._asdict() for fitted in found])
    else:
        write_text(fits_text(found, width=page_width()))
    return 0
