"""`recommend` and `life`: the answer to a brief, and its blades through their sharpenings."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import TYPE_CHECKING

from recommender.commands.common import (
    EXIT_NOTHING_FITS,
    Commands,
    brief_arguments,
    load_brief,
    output_arguments,
    page_width,
    strict_argument,
    write_json,
    write_text,
)

if TYPE_CHECKING:
    from recommender.drawing.text.answer.words_text import Audience
    from recommender.models.answer.proposal import Answer
    from recommender.service import Service


def add(commands: Commands) -> None:
    """Add the commands of this family."""
    recommend = commands.add_parser("recommend")
    recommend.set_defaults(run=_recommend)
    brief_arguments(recommend)
    output_arguments(recommend)
    recommend.add_argument(
        "--for",
        dest="audience",
        choices=("buyer", "maker"),
        help="whom cautions and advice are for (a maker where the brief names a workshop, else a buyer)",
    )
    strict_argument(recommend)

    life = commands.add_parser("life")
    life.set_defaults(run=_life)
    brief_arguments(life)
    output_arguments(life)
    strict_argument(life)


def _recommend(service: Service, args: argparse.Namespace) -> int:
    brief, file = load_brief(service, args)
    if args.json:
        answer = service.recommend(brief, file)
        write_json(answer.as_json())
        return 0 if answer.proposal is not None else EXIT_NOTHING_FITS

    from recommender.drawing.text.answer.answer_text import PART_NAMES, answer_text

    maker = args.audience == "maker" or (args.audience is None and bool(brief.workshop.model_fields_set))

    def page(answer: Answer, names: Sequence[str]) -> str:
        audience: Audience = "maker" if maker else "buyer"
        outline = service.drawings.outline_of(answer)
        return answer_text(answer, outline, audience=audience, width=page_width(), inches=args.inches, names=names)

    rest: Sequence[str] = PART_NAMES
    shown = None
    for answer in service.answers(brief, file):
        if answer.confidence is not None and rest is PART_NAMES:
            # The reader need not wait for what would flip the answer: that takes longer than the answer itself.
            at = PART_NAMES.index("change")
            write_text(page(answer, PART_NAMES[:at]) + "\n")
            rest, shown = PART_NAMES[at:], answer.proposal
    if shown is not None and answer.proposal != shown:
        # A plug-in was found to have changed what it was lent: the answer is another one without it.
        rest = PART_NAMES
    write_text(page(answer, rest))
    return 0 if answer.proposal is not None else EXIT_NOTHING_FITS


def _life(service: Service, args: argparse.Namespace) -> int:
    from recommender.drawing.text.answer.life_text import life_text

    found = service.briefs.life(*load_brief(service, args))
    if args.json:
        write_json(found.as_json())
    else:
        write_text(life_text(found, width=page_width(), inches=args.inches))
    return 0 if found.blades else EXIT_NOTHING_FITS
