"""`draw`: the answer to a brief as a drawing."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from recommender.commands.common import EXIT_NOTHING_FITS, Commands, asked, brief_arguments, tell
from recommender.files import write_whole
from recommender.text import clean

if TYPE_CHECKING:
    from recommender.service import Service


def add(commands: Commands) -> None:
    """Add the commands of this family."""
    draw = commands.add_parser("draw", help="draw the answer to a brief to a file")
    draw.set_defaults(run=_draw)
    brief_arguments(draw)
    draw.add_argument("--svg", required=True, metavar="FILE", help="the section with its dimensions as SVG")


def _draw(service: Service, args: argparse.Namespace) -> int:
    brief, file = asked(service, args)
    answer = service.recommend(brief, file)
    if answer.proposal is None:
        print("bevelwright: nothing fits this brief, so there is nothing to draw; see recommend", file=sys.stderr)
        return EXIT_NOTHING_FITS
    write_whole(Path(args.svg), service.document(answer, "svg"))
    tell(f"wrote {clean(args.svg, one_line=True)}\n")
    return 0
