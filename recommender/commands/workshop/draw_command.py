"""`draw`: the answer to a brief as a workshop drawing."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from recommender.commands.common import (
    EXIT_NOTHING_FITS,
    Commands,
    brief_arguments,
    load_brief,
    paper,
    paper_argument,
    strict_argument,
    write_text,
)
from recommender.commands.output_files import check_outputs, force_argument
from recommender.errors import InputError
from recommender.files import write_whole
from recommender.text import clean

if TYPE_CHECKING:
    from recommender.service import Service

_FORMATS = {
    "svg": "the drawing for a browser: side view, sections, edge, dimensions",
    "dxf": "the same at true size for CAD and cutting",
    "pdf": "the same to print, with a second page of 1:1 templates",
}


def add(commands: Commands) -> None:
    """Add the commands of this family."""
    draw = commands.add_parser("draw")
    draw.set_defaults(run=_draw)
    brief_arguments(draw)
    for kind, words in _FORMATS.items():
        draw.add_argument(f"--{kind}", metavar="FILE", help=words)
    draw.add_argument(
        "--write",
        nargs=2,
        action="append",
        default=[],
        metavar=("WRITER", "FILE"),
        help="any other document, by the id of a plug-in's writer",
    )
    force_argument(draw)
    paper_argument(draw, "lying")
    draw.add_argument("--inches", action="store_true", help="show lengths in inches")
    strict_argument(draw)


def _draw(service: Service, args: argparse.Namespace) -> int:
    wanted = {kind: getattr(args, kind) for kind in _FORMATS if getattr(args, kind) is not None} | dict(args.write)
    if not wanted:
        raise InputError("no file to draw to", expected=" or ".join(f"--{kind} FILE" for kind in _FORMATS))
    check_outputs(args, wanted.values())
    brief, file = load_brief(service, args)
    answer = service.recommend(brief, file, flips=False)
    if answer.proposal is None:
        print("bevelwright: nothing fits this brief, so there is nothing to draw; see recommend", file=sys.stderr)
        return EXIT_NOTHING_FITS
    # All are drawn before any is written.
    size = paper(service, args)
    drawn = {kind: service.drawings.document(answer, kind, paper=size, inches=args.inches) for kind in wanted}
    for kind, name in wanted.items():
        write_whole(Path(name), drawn[kind])
        write_text(f"wrote {clean(name, one_line=True)}\n")
    return 0
