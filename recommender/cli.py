"""The command line: every answer without a terminal interface."""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

from recommender import __version__
from recommender.errors import BevelwrightError, InputError
from recommender.files import read_file, write_whole
from recommender.text import clean, shorten

if TYPE_CHECKING:
    from recommender.models.brief import Brief
    from recommender.service import Service

COMMANDS = ("recommend", "life", "draw", "section", "measure", "tasks", "steels", "gear", "materials", "grinds")
_USES = {
    "tasks": "--set tasks.food-prep=1 (or several, each with its share)",
    "steels": "--set steel.grade=1.4116 --set steel.hardness_hrc=57",
    "gear": "--set owner.gear=bench-stones,strop",
    "grinds": "--set wishes.grind=full-flat",
}
_EXAMPLES = """examples:
  bevelwright recommend --set tasks.food-prep=1 --set owner.gear=pull-through
  bevelwright recommend scenarios/left-handed-hunter.toml
  bevelwright tasks
"""
EXIT_NOTHING_FITS = 1


class _Parser(argparse.ArgumentParser):
    """Errors in one line, with the nearest valid name, exit 2."""

    def error(self, message: str) -> NoReturn:
        self.exit(2, f"{self.prog}: {clean(message, one_line=True)}\n")


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="bevelwright",
        description="Recommends how a blade should be ground.",
        epilog=_EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action="version", version=f"bevelwright {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", parser_class=_Parser)

    recommend = commands.add_parser("recommend", help="answer a brief: grind, angles, thickness, grind line, and why")
    _brief_arguments(recommend)
    recommend.add_argument("--json", action="store_true", help="print one JSON object")
    recommend.add_argument("--inches", action="store_true", help="show lengths in inches")
    recommend.add_argument(
        "--for",
        dest="audience",
        choices=("buyer", "maker"),
        help="whom cautions and advice are for (a maker where the brief names a workshop, else a buyer)",
    )
    recommend.add_argument("--strict", action="store_true", help="stop at the first plug-in that fails")

    life = commands.add_parser("life", help="follow the blade sharpening after sharpening: thickness, force, years")
    _brief_arguments(life)
    life.add_argument("--json", action="store_true", help="print one JSON object")
    life.add_argument("--inches", action="store_true", help="show lengths in inches")
    life.add_argument("--strict", action="store_true", help="stop at the first plug-in that fails")

    draw = commands.add_parser("draw", help="draw the answer to a brief to a file")
    _brief_arguments(draw)
    draw.add_argument("--svg", required=True, metavar="FILE", help="the section with its dimensions as SVG")

    section = commands.add_parser("section", help="measure one section of a grind exactly")
    section.add_argument("--grind", required=True, metavar="ID")
    section.add_argument("--stock", required=True, type=_size, metavar="MM")
    section.add_argument("--height", required=True, type=_size, metavar="MM")
    section.add_argument("--line", type=_size, metavar="MM", help="grind line above the edge")
    section.add_argument("--edge-thickness", type=_size, metavar="MM")
    section.add_argument("--edge-angle-per-side", type=_size, metavar="DEG")
    section.add_argument("--wheel", type=_size, metavar="DIAMETER_MM", help="contact wheel; hollows require it")
    section.add_argument(
        "--wheel-hardness",
        type=_size,
        metavar="SHORE_A",
        help="its rubber; taken as hard if not given",
    )
    section.add_argument("--param", action="append", default=[], metavar="NAME=VALUE", help="a knob of the grind")
    section.add_argument("--json", action="store_true", help="print one JSON object")
    section.add_argument("--inches", action="store_true", help="show lengths in inches")

    measure = commands.add_parser("measure", help="say which grind a blade has, from caliper readings")
    measure.add_argument("readings", nargs="+", metavar="READING", help="HEIGHT:THICKNESS in mm, such as 5:0.8")
    measure.add_argument("--edge-angle-per-side", type=_size, metavar="DEG")
    measure.add_argument("--height", type=_size, metavar="MM", help="edge to spine")
    measure.add_argument("--stock", type=_size, metavar="MM", help="thickness of the spine")
    measure.add_argument("--flat-face", choices=("none", "left", "right"), help="seen edge down and tip forward")
    measure.add_argument("--tip", choices=("same", "other"), help="whether the grind changes towards the tip")
    measure.add_argument("--largest-wheel", type=_size, metavar="DIAMETER_MM", help="that the maker may have had")
    measure.add_argument("--uncertainty", type=_size, default=0.03, metavar="MM", help="of a reading (0.03)")
    measure.add_argument("--original-height", type=_size, metavar="MM", help="when new")
    measure.add_argument("--original-edge-thickness", type=_size, metavar="MM", help="behind the edge when new")
    measure.add_argument(
        "--set",
        action="append",
        default=[],
        metavar="KEY=VALUE",
        help="what it is wanted for, such as tasks.food-prep=1, owner.gear=belt-grinder or steel.grade=1084",
    )
    measure.add_argument("--json", action="store_true", help="print one JSON object")
    measure.add_argument("--inches", action="store_true", help="show lengths in inches")

    for name, about in (
        ("tasks", "what a blade can be asked to do"),
        ("steels", "steels by standard designation"),
        ("gear", "sharpening gear"),
        ("materials", "cut materials with their numbers"),
        ("grinds", "grind families"),
    ):
        listing = commands.add_parser(name, help=f"list {about}")
        listing.add_argument("--json", action="store_true", help="print a JSON list")
    return parser


def _brief_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("brief", nargs="?", metavar="BRIEF.toml", help="a brief as TOML, or - for standard input")
    parser.add_argument(
        "--set",
        dest="settings",
        action="append",
        default=[],
        metavar="KEY=VALUE",
        help="set a field, such as tasks.food-prep=1, owner.gear=bench-stones,strop or steel.grade=1084",
    )


def _size(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{shorten(text)} is no number") from None
    if not -1e5 < value < 1e5:
        raise argparse.ArgumentTypeError(f"{shorten(text)} is out of range")
    return value


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code: 0 answered, 1 nothing fits, 2 bad input."""
    # One thread is faster for arrays this small; it has to be said before numpy is imported.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    if sys.stdout is None:
        return 2
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    given = list(sys.argv[1:] if argv is None else argv)
    try:
        if given and not given[0].startswith("-") and given[0] not in COMMANDS:
            raise InputError(
                f"unknown command {shorten(given[0])}",
                expected=f"one of {', '.join(COMMANDS)}",
                given=given[0],
                valid=COMMANDS,
            )
        args = _parser().parse_args(given)
        if args.command is None:
            return _interface()
        _keep_answers_apart()
        return _run(args)
    except BevelwrightError as error:
        print(f"bevelwright: {error}", file=sys.stderr)
        return error.exit_code
    except BrokenPipeError:
        # The reader went away (a pager closed); nothing is wrong with the answer.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except OSError as error:
        print(f"bevelwright: the answer could not be written ({error.strerror})", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        return 130


def _interface() -> int:
    """Open the terminal interface; without a terminal say what to run instead."""
    if not (sys.stdin and sys.stdin.isatty() and sys.stdout.isatty()) or os.environ.get("TERM") in (None, "", "dumb"):
        print(
            "bevelwright: no terminal to draw on; try: bevelwright recommend --set tasks.food-prep=1, "
            "or bevelwright --help",
            file=sys.stderr,
        )
        return 2
    from recommender.tui import run

    run()
    return 0


def _keep_answers_apart() -> None:
    """Keep standard output for answers alone, to the end.

    What plug-ins write to file descriptor 1, by whatever way and however late it is flushed, goes to standard error.
    """
    try:
        if sys.stdout.fileno() != 1:
            return  # somebody else has it already
        try:
            os.fstat(2)
        except OSError:  # closed: nobody wants to hear what goes there
            os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
        kept = os.dup(1)
    except (OSError, ValueError, AttributeError):  # no file behind it
        return
    os.dup2(2, 1)
    sys.stdout = open(kept, "w", encoding=sys.stdout.encoding, errors="replace")  # noqa: SIM115 - open to the end


def _run(args: argparse.Namespace) -> int:
    from recommender.service import Service

    service = Service(strict=getattr(args, "strict", False))
    if args.command == "recommend":
        return _recommend(service, args)
    if args.command == "life":
        return _life(service, args)
    if args.command == "draw":
        return _draw(service, args)
    if args.command == "section":
        return _section(service, args)
    if args.command == "measure":
        return _measure(service, args)
    return _listing(service, args)


def _print(text: str) -> None:
    sys.stdout.write(text)
    sys.stdout.flush()


def _print_json(data: Any) -> None:
    _print(json.dumps(data, ensure_ascii=True, allow_nan=False, indent=2) + "\n")


def _width() -> int:
    try:
        columns = int(os.environ.get("COLUMNS", "0")) or os.get_terminal_size(sys.stdout.fileno()).columns
    except (OSError, ValueError, AttributeError):  # no terminal
        columns = 80
    return max(40, min(columns, 100))


def _brief(service: Service, args: argparse.Namespace) -> tuple[Brief, str]:
    from recommender.models.brief import Brief
    from recommender.service import read_brief, with_settings

    brief, file = Brief(), "--set"
    if args.brief is not None:
        if args.brief in service.knowledge.tasks and not Path(args.brief).exists():
            raise InputError(
                f"{args.brief} is a task, not a file", expected=f"--set tasks.{args.brief}=1, or a brief as TOML"
            )
        raw, file = _brief_bytes(args.brief)
        brief = read_brief(raw, file)
    if args.settings:
        brief = with_settings(brief, args.settings)
    return brief, file


def _recommend(service: Service, args: argparse.Namespace) -> int:
    from recommender.drawing.answer_text import answer_text

    brief, file = _brief(service, args)
    answer = service.recommend(brief, file)
    if args.json:
        _print_json(answer.as_json())
    else:
        outline = service.outline_of(answer)
        maker = args.audience == "maker" or (args.audience is None and bool(brief.workshop.model_fields_set))
        _print(answer_text(answer, outline, audience="maker" if maker else "buyer", width=_width(), inches=args.inches))
    return 0 if answer.proposal is not None else EXIT_NOTHING_FITS


def _brief_bytes(name: str) -> tuple[bytes, str]:
    from recommender.service import MAX_BRIEF_BYTES

    if name == "-":
        if sys.stdin is None:
            raise InputError("closed", file="standard input", expected="a brief as TOML")
        return sys.stdin.buffer.read(MAX_BRIEF_BYTES + 1), "standard input"
    return read_file(name, MAX_BRIEF_BYTES, "a brief as TOML"), clean(name, one_line=True)


def _life(service: Service, args: argparse.Namespace) -> int:
    from recommender.drawing.life_text import life_text

    found = service.life(*_brief(service, args))
    if args.json:
        _print_json(found.as_json())
    else:
        _print(life_text(found, width=_width(), inches=args.inches))
    return 0 if found.blades else EXIT_NOTHING_FITS


def _draw(service: Service, args: argparse.Namespace) -> int:
    brief, file = _brief(service, args)
    answer = service.recommend(brief, file)
    if answer.proposal is None:
        print("bevelwright: nothing fits this brief, so there is nothing to draw; see recommend", file=sys.stderr)
        return EXIT_NOTHING_FITS
    write_whole(Path(args.svg), service.document(answer, "svg"))
    _print(f"wrote {clean(args.svg, one_line=True)}\n")
    return 0


def _section(service: Service, args: argparse.Namespace) -> int:
    from recommender.drawing.figures_text import section_text
    from recommender.service import SectionRequest

    parameters = {}
    for setting in args.param:
        name, equals, value = setting.partition("=")
        if not equals:
            raise InputError(f"{shorten(setting)} does not fit", key="--param", expected="NAME=VALUE")
        parameters[name.strip()] = value.strip()
    figures = service.section(
        SectionRequest(
            grind=args.grind,
            stock_thickness_mm=args.stock,
            height_mm=args.height,
            grind_line_mm=args.line,
            edge_thickness_mm=args.edge_thickness,
            edge_angle_per_side_deg=args.edge_angle_per_side,
            wheel_diameter_mm=args.wheel,
            wheel_shore_a=args.wheel_hardness,
            parameters=parameters,
        )
    )
    if args.json:
        _print_json(figures.as_json())
    else:
        _print(section_text(figures, service.grinds[args.grind].label, width=_width(), inches=args.inches))
    return 0


def _measure(service: Service, args: argparse.Namespace) -> int:
    from recommender.drawing.identify_text import identify_text
    from recommender.drawing.in_hand_text import in_hand_json, in_hand_text
    from recommender.models.brief import Brief
    from recommender.service import LARGEST_WHEEL_MM, CaliperBlade, parse_readings, with_settings

    found, back = service.measure(
        CaliperBlade(
            parse_readings(args.readings),
            height_mm=args.height,
            edge_angle_per_side_deg=args.edge_angle_per_side,
            stock_thickness_mm=args.stock,
            flat_face=args.flat_face,
            tip=args.tip,
            uncertainty_mm=args.uncertainty,
            largest_wheel_mm=LARGEST_WHEEL_MM if args.largest_wheel is None else args.largest_wheel,
        ),
        original_height_mm=args.original_height,
        original_edge_thickness_mm=args.original_edge_thickness,
    )
    suited, regrinds = None, None
    if found.verdict != "none fits":
        suited, regrinds = service.in_hand(found, with_settings(Brief(), args.set), "--set")
    if args.json:
        _print_json({**found.as_json(), "sharpened_back_mm": back, **in_hand_json(suited, regrinds)})
    else:
        _print(identify_text(found, back_mm=back, width=_width(), inches=args.inches))
        if suited is not None:
            _print("\n" + in_hand_text(suited, regrinds, width=_width(), inches=args.inches))
    return EXIT_NOTHING_FITS if found.verdict == "none fits" else 0


def _listing(service: Service, args: argparse.Namespace) -> int:
    rows = service.listing(args.command)
    if args.json:
        _print_json(rows)
        return 0
    from recommender.drawing.figures_text import listing_text

    _print(listing_text(rows, width=_width()))
    if use := _USES.get(args.command):
        _print(f"\nUse: bevelwright recommend {use}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
