"""`quote`: what the answer to a brief costs to make, and the documents that a customer gets."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from recommender.commands.common import (
    Commands,
    answered,
    brief_arguments,
    check_documents,
    document_arguments,
    output_arguments,
    page_width,
    strict_argument,
    write_documents,
    write_json,
    write_text,
)
from recommender.errors import InputError

if TYPE_CHECKING:
    from recommender.models.workshop.quote import Order
    from recommender.service import Service

FITTINGS = ("finish", "handle", "sheath")
"""What `fitting_arguments` adds."""
ORDERED = ("pieces", *FITTINGS, "shipping", "customer", "reference")
"""What `order_arguments` adds: the fields of an order."""
_OF_THE_SHOP = "{}, one of the shop's: `shop show` lists them"


def add(commands: Commands) -> None:
    """Add the command."""
    quote = commands.add_parser("quote")
    quote.set_defaults(run=_quote)
    brief_arguments(quote)
    order_arguments(quote)
    quote.add_argument("--save", action="store_true", help="put it into the quote book, where it gets its number")
    quote.add_argument("--book", metavar="FILE", help="another quote book than your own; with --save")
    document_arguments(quote)
    output_arguments(quote)
    strict_argument(quote)


def order_arguments(parser: argparse.ArgumentParser, *, kept: bool = False) -> None:
    """Add what is ordered besides the blade; `kept`: what is not named stays as it was."""
    blank = None if kept else ""
    pieces = None if kept else 1
    parser.add_argument("--pieces", type=int, default=pieces, metavar="N", help="how many alike (1)")
    fitting_arguments(parser)
    parser.add_argument("--shipping", metavar="ID", help=_OF_THE_SHOP.format("how it is sent"))
    parser.add_argument("--customer", default=blank, metavar="NAME")
    parser.add_argument("--reference", default=blank, metavar="TEXT", help="the customer's own")


def fitting_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what is done to a blade besides its grind."""
    for part, about in (("finish", "how the faces are left"), ("handle", "which handle"), ("sheath", "which sheath")):
        parser.add_argument(f"--{part}", metavar="ID", help=_OF_THE_SHOP.format(about))


def order_of(service: Service, args: argparse.Namespace) -> Order:
    """The order that a command line asks for. Raises InputError."""
    return service.workshop.order({name: getattr(args, name) for name in ORDERED})


def _quote(service: Service, args: argparse.Namespace) -> int:
    from datetime import date

    from recommender.drawing.text.workshop.price_text import price_text
    from recommender.models.workshop.quote import UNSAVED

    if args.book and not args.save:
        raise InputError("--book without --save", expected="--save, which puts the quote into it")
    check_documents(args)
    shop, order = service.workshop.shop(args.shop), order_of(service, args)
    brief, answer = answered(service, args)
    make = service.workshop.quote(brief, answer, order, shop, date.today(), inches=args.inches)
    quote = service.workshop.book(args.book).add(make) if args.save else make(UNSAVED, 1)
    if args.json:
        write_json(quote.as_json())
    else:
        write_text(price_text(quote.price, quote.title, width=page_width()))
        if args.save:
            write_text(f"\nSaved as quote {quote.name}: a draft, valid until {quote.valid_until.isoformat()}.\n")
    write_documents(service, quote, args)  # last: whatever is wrong with a file, a saved quote has told its number
    return 0
