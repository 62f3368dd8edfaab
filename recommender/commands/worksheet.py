"""`worksheet`: the set-up sheet of the answer to a brief."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from recommender.commands.common import (
    Commands,
    answered,
    brief_arguments,
    output_arguments,
    page_width,
    plugin_arguments,
    shop_argument,
    tell,
    tell_json,
)

if TYPE_CHECKING:
    from recommender.service import Service


def add(commands: Commands) -> None:
    """Add the command."""
    worksheet = commands.add_parser("worksheet", help="what to set, scribe and check, from bar to finished blade")
    worksheet.set_defaults(run=_worksheet)
    brief_arguments(worksheet)
    shop_argument(worksheet)
    output_arguments(worksheet)
    plugin_arguments(worksheet)


def _worksheet(service: Service, args: argparse.Namespace) -> int:
    from recommender.drawing.worksheet_text import worksheet_text

    shop = service.shop(args.shop)
    brief, answer = answered(service, args)
    sheet = service.worksheet(brief, answer, shop)
    if args.json:
        tell_json(sheet.as_json())
    else:
        tell(worksheet_text(sheet, width=page_width(), inches=args.inches))
    return 0
