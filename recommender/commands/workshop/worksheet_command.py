"""`worksheet`: the set-up sheet of the answer to a brief."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from recommender import __version__
from recommender.commands.common import (
    Commands,
    answered,
    brief_arguments,
    check_kind,
    output_arguments,
    page_width,
    paper,
    paper_argument,
    strict_argument,
    write_json,
    write_text,
)
from recommender.commands.output_files import check_outputs, force_argument
from recommender.commands.workshop.quote_command import FITTINGS, fitting_arguments
from recommender.files import write_whole
from recommender.text import clean

if TYPE_CHECKING:
    from recommender.service import Service


def add(commands: Commands) -> None:
    """Add the command."""
    worksheet = commands.add_parser("worksheet")
    worksheet.set_defaults(run=_worksheet)
    brief_arguments(worksheet)
    worksheet.add_argument("--out", metavar="FILE", help="the sheet to print, as .pdf or .txt")
    fitting_arguments(worksheet)
    force_argument(worksheet)
    paper_argument(worksheet, "of a PDF")
    output_arguments(worksheet)
    strict_argument(worksheet)


def _worksheet(service: Service, args: argparse.Namespace) -> int:
    from recommender.drawing.documents.text_pdf import COLUMNS, text_pdf
    from recommender.drawing.text.workshop.worksheet_text import worksheet_text

    if args.out:
        check_kind(args.out, (".pdf", ".txt"), "sheet")
    check_outputs(args, [args.out])
    shop = service.workshop.shop(args.shop)
    brief, answer = answered(service, args, flips=False)
    order = service.workshop.order({name: getattr(args, name) for name in FITTINGS})
    sheet = service.workshop.worksheet(brief, answer, shop, order)
    if args.out:
        text = worksheet_text(sheet, width=COLUMNS, inches=args.inches)
        if Path(args.out).suffix.lower() == ".pdf":
            content = text_pdf(text, f"Set-up sheet: {sheet.title}", paper(service, args))
        else:
            content = f"{text}\nmade with Bevelwright {__version__}\n".encode()
        write_whole(Path(args.out), content)
        print(f"wrote {clean(args.out, one_line=True)}", file=sys.stderr)
    if args.json:
        write_json(sheet.as_json())
    elif not args.out:
        write_text(worksheet_text(sheet, width=page_width(), inches=args.inches))
    return 0
