"""What commands share: which brief is asked, how wide the page is, how answers are printed."""

from __future__ import annotations

import argparse
import json
import os
import re
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from recommender.commands.output_files import check_outputs, force_argument
from recommender.errors import BevelwrightError, InputError
from recommender.files import read_file, write_whole
from recommender.side_effects import side_effect
from recommender.text import clean, says, shorten

if TYPE_CHECKING:  # the models load pydantic, which `--version` does without
    from recommender.models.answer.proposal import Answer
    from recommender.models.brief import Brief
    from recommender.models.workshop.quote import Documents, Quote
    from recommender.models.workshop.sheet import Paper
    from recommender.service import Service

    # argparse has no public name for it, and this one takes no parameter at run time.
    Commands = argparse._SubParsersAction[Any]
else:
    Commands = argparse._SubParsersAction
EXIT_NOTHING_FITS = 1

OLD_FORM = (
    "pack {0} has one rule a file, a form that is read until the next release but one: "
    "bevelwright rules convert FOLDER turns it into topics"
)


def brief_arguments(parser: argparse.ArgumentParser) -> None:
    """Add a brief and its settings."""
    parser.add_argument("brief", nargs="?", metavar="BRIEF.toml", help="a brief as TOML, or - for standard input")
    settings_argument(parser)
    packs_argument(parser)
    shop_argument(parser)


def packs_argument(parser: argparse.ArgumentParser) -> None:
    """Add `--packs`."""
    parser.add_argument(
        "--packs", action="append", default=[], metavar="PATH", help="a pack, or a folder of packs, over all others"
    )


SET_A_FIELD = "set a field, such as tasks.food-prep=1, owner.gear=bench-stones,strop or steel.grade=1084"


def settings_argument(parser: argparse.ArgumentParser, help: str = SET_A_FIELD) -> None:
    """Add `--set`."""
    parser.add_argument("--set", dest="settings", action="append", default=[], metavar="KEY=VALUE", help=help)


def output_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the ways to print an answer."""
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.add_argument("--inches", action="store_true", help="show lengths in inches")


def strict_argument(parser: argparse.ArgumentParser) -> None:
    """Add `--strict`."""
    parser.add_argument("--strict", action="store_true", help="stop at the first plug-in that fails")


def size(text: str) -> float:
    """Read a number of an option."""
    try:
        value = float(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{shorten(text)} is no number") from None
    if not -1e5 < value < 1e5:
        raise argparse.ArgumentTypeError(f"{shorten(text)} is out of range")
    return value


def write_text(text: str) -> None:
    """Print an answer."""
    sys.stdout.write(text)
    sys.stdout.flush()


def write_json(data: Any) -> None:
    """Print an answer as JSON."""
    write_text(json.dumps(data, ensure_ascii=True, allow_nan=False, indent=2) + "\n")


def nothing_says(words: Sequence[str], said: Iterable[str]) -> InputError:
    """That nothing listed says some words, with the nearest of those that it says."""
    every = list(said)
    unsaid = next((word for word in words if not any(says(text, word) for text in every)), None)
    valid = {word for text in every for word in re.findall(r"[^\W_]+", text.casefold())}
    problem = f"nothing says {shorten(' '.join(words))}"
    return InputError(problem, expected="words of what is listed, in one entry", given=unsaid, valid=valid)


def page_width() -> int:
    """Columns to wrap to."""
    try:
        columns = int(os.environ.get("COLUMNS", "0")) or os.get_terminal_size(sys.stdout.fileno()).columns
    except (OSError, ValueError, AttributeError):  # no terminal
        columns = 80
    return max(40, min(columns, 100))


def load_brief(service: Service, args: argparse.Namespace) -> tuple[Brief, str]:
    """The brief that a command asks about, and the file it came from. Raises InputError."""
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


def _brief_bytes(name: str) -> tuple[bytes, str]:
    from recommender.service import MAX_BRIEF_BYTES

    if name == "-":
        if sys.stdin is None:
            raise InputError("closed", file="standard input", expected="a brief as TOML")
        side_effect()
        return sys.stdin.buffer.read(MAX_BRIEF_BYTES + 1), "standard input"
    return read_file(name, MAX_BRIEF_BYTES, "a brief as TOML"), clean(name, one_line=True)


def shop_argument(parser: argparse.ArgumentParser) -> None:
    """Add the shop that makes the blade."""
    parser.add_argument(
        "--shop",
        metavar="SHOP.toml",
        help="wheels, allowances, rates, paper (your own shop, else as shipped)",
    )


class NothingFitsError(BevelwrightError):
    """No blade fits the brief, so there is nothing to go on with."""

    exit_code = EXIT_NOTHING_FITS


def answered(service: Service, args: argparse.Namespace, *, flips: bool = True) -> tuple[Brief, Answer]:
    """A brief with its answer, for what needs a blade; without flips where no paper shows them.

    Raises NothingFitsError, InputError.
    """
    brief, file = load_brief(service, args)
    answer = service.recommend(brief, file, flips=flips)
    if answer.proposal is None:
        raise NothingFitsError("nothing fits this brief: recommend says why, and what would help")
    return brief, answer


def document_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the files that a customer's documents go to."""
    parser.add_argument("--document", action="append", default=[], metavar="FILE", help="the quote as .pdf or .md")
    parser.add_argument("--care", action="append", default=[], metavar="FILE", help="the care sheet as .pdf or .md")
    force_argument(parser)
    paper_argument(parser, "of PDFs")


def check_kind(file: str, kinds: tuple[str, ...], what: str) -> None:
    """Refuse a file's name that ends in none of some ways. Raises InputError."""
    if Path(file).suffix.lower() not in kinds:
        expected = f"a name in {' or '.join(kinds)}"
        raise InputError(f"no such kind of {what}", file=clean(file, one_line=True), expected=expected)


def paper_argument(parser: argparse.ArgumentParser, words: str) -> None:
    """Add the paper that is printed on."""
    parser.add_argument("--paper", choices=("a4", "letter"), help=f"{words} (the shop's, else a4)")


def paper(service: Service, args: argparse.Namespace) -> Paper:
    """The paper to print on. Raises InputError."""
    chosen: Paper = args.paper or service.workshop.shop(getattr(args, "shop", None)).business.paper
    return chosen


def check_documents(args: argparse.Namespace) -> None:
    """Refuse names of documents that cannot or should not be written, before anything is saved. Raises InputError."""
    for file in (*args.document, *args.care):
        check_kind(file, (".pdf", ".md"), "document")
    check_outputs(args, (*args.document, *args.care))


def write_documents(service: Service, quote: Quote | Documents, args: argparse.Namespace) -> int:
    """Write the documents asked for and tell which; gives how many. Raises InputError."""
    from recommender.drawing.documents.document_markdown import document_markdown
    from recommender.drawing.documents.document_pdf import document_pdf

    wanted = [(file, quote.document) for file in args.document] + [(file, quote.care) for file in args.care]
    for file, document in wanted:
        if Path(file).suffix.lower() == ".pdf":
            write_whole(Path(file), document_pdf(document, paper(service, args)))
        else:
            write_whole(Path(file), document_markdown(document).encode())
        print(f"wrote {clean(file, one_line=True)}", file=sys.stderr)
    return len(wanted)


def tell_old_form(service: Service) -> None:
    """A line on standard error for each pack whose rules are of the form that ends."""
    for pack in service.knowledge.of_old_form:
        print(f"bevelwright: {OLD_FORM.format(pack)}", file=sys.stderr)
