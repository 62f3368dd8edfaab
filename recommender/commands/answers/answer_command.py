"""`recommend` and `life`: the answer to a brief, and its blades through their sharpenings."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import TYPE_CHECKING

from recommender.commands.common import (
    EXIT_NOTHING_FITS,
    Commands,
    brief_arguments,
    load_brief,
    output_arguments,
    page_width,
    strict_argument,
    tell_old_form,
    write_json,
    write_text,
)

_PARTS = {
    "why": (("why", "assumed"), "print why this one, and what was assumed"),
    "others": (("others",), "print why not another grind"),
    "what_if": (("change",), "print what would make another grind the answer"),
    "care": (("care", "advice"), "print every caution in full, and what is worth knowing"),
    "figures": (("figures", "keeping", "shop"), "print the figures, and how closely each dimension must be kept"),
}
"""Option that prints a part of the answer -> parts of the page, and its help."""

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
    for name, (_, words) in _PARTS.items():
        recommend.add_argument(f"--{name.replace('_', '-')}", action="store_true", help=words)
    recommend.add_argument(
        "--two", action="store_true", help="two blades: one for what goes together, one for the rest"
    )
    recommend.add_argument("--full", action="store_true", help="print everything there is to say")
    strict_argument(recommend)

    life = commands.add_parser("life")
    life.set_defaults(run=_life)
    brief_arguments(life)
    output_arguments(life)
    strict_argument(life)


def _recommend(service: Service, args: argparse.Namespace) -> int:
    brief, file = load_brief(service, args)
    tell_old_form(service)
    if args.json:
        answer = service.two_blades(brief, file) if args.two else service.recommend(brief, file)
        write_json(answer.as_json())
        return 0 if answer.proposal is not None else EXIT_NOTHING_FITS

    from recommender.drawing.text.answer.answer_text import PART_NAMES, answer_text
    from recommender.drawing.text.answer.one_screen import screen_text

    asked = {part for option, (parts, _) in _PARTS.items() if getattr(args, option) for part in parts}
    names = PART_NAMES if args.full else [name for name in PART_NAMES if name in asked]
    maker = args.audience == "maker" or (args.audience is None and bool(brief.workshop.model_fields_set))
    audience: Audience = "maker" if maker else "buyer"

    def written(answer: Answer) -> tuple[str, str]:
        """What stands as soon as it is known how sure the answer is, and what needs to know what would flip it."""
        outline, width = service.drawings.outline_of(answer), page_width()
        if not names:
            return screen_text(answer, outline, audience=audience, width=width, inches=args.inches)
        before = [name for name in names if name in PART_NAMES[: PART_NAMES.index("change")]]
        first, rest = (
            answer_text(answer, outline, audience=audience, width=width, inches=args.inches, names=some)
            for some in (before, names[len(before) :])
        )
        return first, rest

    if args.two:
        return _two(service.two_blades(brief, file), written)
    shown, said = None, ""
    for answer in service.answers(brief, file, flips=not names or "change" in names):
        if answer.confidence is not None and shown is None:
            # The reader need not wait for what would flip the answer: that takes longer than the answer itself.
            shown, said = answer.proposal, written(answer)[0]
            write_text(said)
    head, tail = written(answer)
    if answer.proposal == shown and shown is not None:
        head = ""  # else a plug-in was found to have changed what it was lent: the answer is another without it
    rest = "\n".join(text for text in (head, tail) if text)
    write_text("\n" * bool(said and rest) + rest)
    return 0 if answer.proposal is not None else EXIT_NOTHING_FITS


def _two(first: Answer, written: Callable[[Answer], tuple[str, str]]) -> int:
    """Write two blades one after the other, each with what it is for."""
    blades = [first, *([first.second_blade] if first.second_blade else [])]
    for number, answer in enumerate(blades):
        write_text(f"{'The other' if number else 'One'} blade, for {', '.join(answer.brief.tasks)}\n")
        write_text("\n".join(text for text in written(answer) if text) + "\n" * (number == 0))
    return 0 if all(answer.proposal is not None for answer in blades) else EXIT_NOTHING_FITS


def _life(service: Service, args: argparse.Namespace) -> int:
    from recommender.drawing.text.answer.life_text import life_text

    found = service.briefs.life(*load_brief(service, args))
    if args.json:
        write_json(found.as_json())
    else:
        write_text(life_text(found, width=page_width(), inches=args.inches))
    return 0 if found.blades else EXIT_NOTHING_FITS
