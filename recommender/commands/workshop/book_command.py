"""`book`: the quote book. Lists, shows, moves on, revises, reprints, compares, exports, checks and backs up quotes."""

from __future__ import annotations

import argparse
import csv
import io
import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from recommender.commands.common import (
    Commands,
    NothingFitsError,
    check_documents,
    document_arguments,
    page_width,
    settings_argument,
    shop_argument,
    size,
    write_documents,
    write_json,
    write_text,
)
from recommender.commands.output_files import check_outputs, force_argument
from recommender.commands.workshop.quote_command import ORDERED, order_arguments
from recommender.errors import InputError
from recommender.text import clean, plural, shorten, spreadsheet_cell

if TYPE_CHECKING:
    from recommender.models.workshop.book import Doubt, Kept
    from recommender.models.workshop.quote import Status
    from recommender.service import QuoteBook, Service

EXIT_FOUND = 1
"""`check` has found something."""
_MOVES: dict[str, Status] = {
    "send": "sent",
    "accept": "accepted",
    "decline": "declined",
    "finish": "done",
    "reopen": "draft",
}


def add(commands: Commands) -> None:
    """Add the commands of the book."""
    book = commands.add_parser("book")
    book.set_defaults(run=lambda service, args: book.error("which of list, show, send, ... is missing; see --help"))
    parts = book.add_subparsers(dest="part", metavar="WHAT", parser_class=type(book))

    listing = _part(parts, "list", "quotes, the newest first", _list)
    listing.add_argument("words", nargs="*", metavar="WORD", help="that it holds: number, customer, title, grind")
    listing.add_argument("--status", choices=("draft", "sent", "accepted", "declined", "done", "superseded"))
    listing.add_argument("--json", action="store_true", help="print a JSON list")

    show = _numbered(parts, "show", "a quote: status, price line by line, what became of it", _show)
    show.add_argument("--json", action="store_true", help="print one JSON object")
    for name, status in _MOVES.items():
        move = _numbered(parts, name, f"note that a quote is {status}", _move)
        if status == "accepted":
            move.add_argument("--anyway", action="store_true", help="ask nothing where day or validity are doubtful")
    revise = _numbered(parts, "revise", "answer and price it anew, with some changes, as its next revision", _revise)
    settings_argument(revise)
    order_arguments(revise, kept=True)
    revise.add_argument("--renamed", action="store_true", help="--customer is the same one, written otherwise")
    shop_argument(revise)
    document_arguments(revise)
    revise.add_argument("--inches", action="store_true", help="show lengths in inches")
    reprint = _numbered(parts, "reprint", "the documents as they were given", _reprint)
    document_arguments(reprint)
    compare = _numbered(parts, "compare", "what asking again today would change", _compare)
    shop_argument(compare)
    compare.add_argument("--json", action="store_true", help="print a JSON list")
    time = _numbered(parts, "time", "note how long work took, for `shop fit`", _time)
    time.add_argument("minutes", nargs="+", metavar="WORK=MINUTES", help="such as primary=25 edge=12")
    export = _part(parts, "export", "all quotes as CSV or JSON", _export)
    force_argument(export)
    export.add_argument("--csv", metavar="FILE", help="one line a quote, for a spreadsheet")
    export.add_argument("--json", metavar="FILE", help="the quotes themselves as a JSON list, for other programs")
    export.add_argument(
        "--whole", metavar="FILE", help="the whole book as JSON: days, times and identities too, to merge books"
    )
    bring = _part(parts, "import", "quotes from the JSON of another book, all or none", _import)
    bring.add_argument("file", metavar="FILE.json")
    _part(parts, "check", "look through every quote, and name what is damaged", _check)
    backup = _part(parts, "backup", "copy the book to a new file, found sound", _backup)
    backup.add_argument("file", metavar="FILE")
    restore = _part(parts, "restore", "put a backup in the book's place, which is set aside", _restore)
    restore.add_argument("file", metavar="FILE")


def _part(parts: Commands, name: str, about: str, run: object) -> argparse.ArgumentParser:
    part: argparse.ArgumentParser = parts.add_parser(name, help=about)
    part.set_defaults(run=run)
    part.add_argument("--book", metavar="FILE", help="another quote book than your own")
    return part


def _numbered(parts: Commands, name: str, about: str, run: object) -> argparse.ArgumentParser:
    part = _part(parts, name, about, run)
    part.add_argument("number", type=_number, metavar="NUMBER", help="such as 12, or 12.2 for its second revision")
    return part


def _number(text: str) -> tuple[int, int | None]:
    number, dot, revision = text.partition(".")
    if not (number.isascii() and number.isdigit() and len(number) < 10):
        raise argparse.ArgumentTypeError(f"{shorten(text)} is no quote number, such as 12 or 12.2")
    if dot and not (revision.isascii() and revision.isdigit() and len(revision) < 10):
        raise argparse.ArgumentTypeError(f"{shorten(text)} is no quote number, such as 12 or 12.2")
    return int(number), int(revision) if dot else None


def _list(service: Service, args: argparse.Namespace) -> int:
    from recommender.drawing.text.workshop.quote_book_text import entries_text

    book = service.workshop.book(args.book)
    entries = book.entries(words=" ".join(args.words), status=args.status)
    if args.json:
        write_json([entry._asdict() for entry in entries])
    else:
        write_text(entries_text(entries, width=page_width(), sought=bool(args.words or args.status)))
    _name_damaged(book)
    return 0


def _show(service: Service, args: argparse.Namespace) -> int:
    from recommender.drawing.text.workshop.quote_book_text import entries_text, quote_text

    book, (number, revision) = service.workshop.book(args.book), args.number
    revisions = book.revisions(number) if revision is None else []
    if len(revisions) > 1:
        if args.json:
            write_json([entry._asdict() for entry in revisions])
        else:
            write_text(entries_text(revisions, width=page_width()))
    elif args.json:
        kept = book.as_stored(number, revision)
        write_json({**service.workshop.listed(kept), "history": [event._asdict() for event in kept.history]})
    else:
        quote, entry, history = book.quote(number, revision)
        write_text(quote_text(quote, entry, history, width=page_width()))
    _name_damaged(book)
    return 0


def _name_damaged(book: QuoteBook) -> None:
    """Say what of the book is damaged, and was worked round."""
    damaged = book.damaged()
    for each in damaged:
        print(clean(f"{each.name} cannot be read: {each.reason}", one_line=True), file=sys.stderr)
    if damaged:
        print("`book check` looks at everything, `book restore` puts a backup in its place", file=sys.stderr)


def _move(service: Service, args: argparse.Namespace) -> int:
    from datetime import date

    book, status = service.workshop.book(args.book), _MOVES[args.part]
    doubts = book.doubts(args.number, status, date.today())
    if status == "accepted" and doubts and not args.anyway:
        _confirm(doubts)
    else:
        _say(doubts)
    entry = book.move(args.number, status, date.today())
    write_text(f"Quote {entry.name} is {entry.status}.\n")
    others = [other for other in book.revisions(entry.number) if other.revision != entry.revision]
    if others:
        revisions = ", ".join(f"{other.number}.{other.revision} {other.status}" for other in others)
        write_text(f"Its other revisions: {revisions}.\n")
    return 0


def _say(doubts: Sequence[Doubt]) -> None:
    for doubt in doubts:
        print(doubt.words, file=sys.stderr)


def _confirm(doubts: Sequence[Doubt]) -> None:
    """Ask whether a quote is accepted all the same. Raises InputError where it is not.

    Where nobody can be asked a quote past its validity is accepted, which is for the maker to grant and what earlier
    versions did in scripts; by a clock that runs backwards it is not.
    """
    if sys.stdin is not None and sys.stdin.isatty() and sys.stderr.isatty():
        _say(doubts)
        print("Accept it all the same? [y/N] ", end="", file=sys.stderr, flush=True)
        if sys.stdin.readline().strip().casefold() not in ("y", "yes"):
            raise InputError("not accepted, the quote stays as it was", expected="y, or --anyway")
        return
    of_clock = [doubt.words for doubt in doubts if doubt.of_clock]
    if of_clock:
        raise InputError(
            f"not accepted: {of_clock[0].removesuffix('.')}", expected="a clock that is right, or --anyway"
        )
    _say(doubts)


def _revise(service: Service, args: argparse.Namespace) -> int:
    from datetime import date

    from recommender.service import with_settings

    check_documents(args)
    book, shop = service.workshop.book(args.book), service.workshop.shop(args.shop)
    old, entry, _ = book.quote(*args.number)
    changed = {name: getattr(args, name) for name in ORDERED if getattr(args, name) is not None}
    order = service.workshop.order({**old.order.model_dump(), **changed})
    brief = with_settings(old.brief, args.settings) if args.settings else old.brief
    answer = service.recommend(brief, f"quote {entry.name}")
    if answer.proposal is None:
        raise NothingFitsError("nothing fits the brief so changed: the quote stays as it was")
    _say_passed_over(book, args.number)
    new = book.add(
        service.workshop.quote(brief, answer, order, shop, date.today(), inches=args.inches),
        number=entry.number,
        renamed=args.renamed,
    )
    write_text(f"Saved as quote {new.name}: a draft, valid until {new.valid_until.isoformat()}. ")
    write_text(f"{entry.name} stays as it was.\n")
    write_documents(service, new, args)
    return 0


def _reprint(service: Service, args: argparse.Namespace) -> int:
    from recommender.drawing.documents.document_markdown import document_markdown

    check_documents(args)
    given = service.workshop.book(args.book).documents(*args.number)
    if not write_documents(service, given, args):
        write_text(clean(document_markdown(given.document)))
    return 0


def _compare(service: Service, args: argparse.Namespace) -> int:
    from recommender.drawing.text.workshop.quote_book_text import differences_text

    book = service.workshop.book(args.book)
    quote, entry, _ = book.quote(*args.number)
    _say_passed_over(book, args.number)
    found = service.workshop.fresh(quote, service.workshop.shop(args.shop))
    if args.json:
        write_json([difference._asdict() for difference in found])
    else:
        write_text(differences_text(entry.name, found, width=page_width()))
    return 0


def _say_passed_over(book: QuoteBook, number: tuple[int, int | None]) -> None:
    """Say what a quote of a later version asks that is not asked again here."""
    from recommender.drawing.text.workshop.quote_book_text import passed_over_text

    words = passed_over_text(book.passed_over(*number))
    if words:
        print(words, file=sys.stderr)


def _time(service: Service, args: argparse.Namespace) -> int:
    from datetime import date

    book = service.workshop.book(args.book)
    quote, kept, _ = book.quote(*args.number)
    planned = {work.id for work in quote.price.work}
    minutes: dict[str, float] = {}
    for pair in args.minutes:
        work, equals, text = pair.partition("=")
        if not equals:
            raise InputError(f"{shorten(pair)} does not fit", expected="WORK=MINUTES, such as primary=25")
        if work not in planned:
            raise InputError(
                f"quote {kept.name} has no work {shorten(work)}",
                expected=f"one of {', '.join(sorted(planned))}",
                given=work,
                valid=planned,
            )
        try:
            minutes[work] = size(text)
        except argparse.ArgumentTypeError as cause:
            raise InputError(str(cause), key=work, expected="minutes") from None
        if minutes[work] < 0:
            raise InputError(f"{shorten(text)} does not fit", key=work, expected="minutes, or 0 to take them back")
    entry = book.took(args.number, minutes, date.today())
    made = entry.status in ("accepted", "done")
    early = "" if made else f" It is {entry.status}, so nothing should be made of it yet."
    write_text(f"Noted {plural(len(minutes), 'time')} for quote {entry.name}. `shop fit` makes rates of them.{early}\n")
    return 0


def _export(service: Service, args: argparse.Namespace) -> int:
    from recommender.files import write_whole

    files = [Path(file) for file in (args.csv, args.json, args.whole) if file]
    if not files:
        raise InputError("nowhere to export to", expected="--csv FILE, --json FILE, --whole FILE or several of them")
    book = service.workshop.book(args.book)
    for file in files:
        book.store.refuse_as_output(file)
    check_outputs(args, [args.csv, args.json, args.whole])
    quotes, damaged = book.everything()
    if args.csv:
        write_whole(Path(args.csv), _csv(quotes).encode())
    if args.json:
        write_whole(Path(args.json), _json([service.workshop.listed(kept) for kept in quotes]))
    if args.whole:
        write_whole(Path(args.whole), _json(service.workshop.whole_book(quotes, damaged), None))
    for file in files:
        write_text(f"wrote {plural(len(quotes), 'quote')} to {clean(str(file), one_line=True)}\n")
    if not args.whole:
        write_text("Days, times noted and identities are kept by --whole FILE alone.\n")
    for each in damaged:
        print(clean(f"left out: {each.name}: {each.reason}", one_line=True), file=sys.stderr)
    return 0


def _json(data: object, indent: int | None = 1) -> bytes:
    return (json.dumps(data, ensure_ascii=False, indent=indent) + "\n").encode("utf-8", "replace")


def _import(service: Service, args: argparse.Namespace) -> int:
    quotes = service.workshop.exported_quotes(args.file)
    taken = service.workshop.book(args.book).take_in(quotes)
    write_text(f"{plural(taken.new, 'quote')} taken in, {taken.known} there already.\n")
    for there, here in taken.renamed:
        write_text(f"Quote {there} is {here} here, as its number was taken; `book list {there}` finds it too.\n")
    for name, status, kept in taken.otherwise:
        write_text(f"Quote {name} is {status} there and stays {kept} here.\n")
    return 0


def _check(service: Service, args: argparse.Namespace) -> int:
    book = service.workshop.book(args.book)
    found, count = book.check(), len(book.entries())
    for each in found:
        write_text(clean(f"{each.name}: {each.reason}", one_line=True) + "\n")
    write_text(f"{plural(count, 'quote')} can be listed, {plural(len(found), 'fault')} found.\n")
    return EXIT_FOUND if found else 0


def _backup(service: Service, args: argparse.Namespace) -> int:
    book = service.workshop.book(args.book)
    count = book.backup(Path(args.file))
    write_text(f"Backed up {plural(count, 'quote')} to {clean(args.file, one_line=True)}, found sound.\n")
    _name_damaged(book)
    return 0


def _restore(service: Service, args: argparse.Namespace) -> int:
    book = service.workshop.book(args.book)
    aside = book.restore(Path(args.file))
    write_text(f"The quote book is that of {clean(args.file, one_line=True)}.\n")
    if aside:
        shown = [clean(str(path), one_line=True) for path in aside]
        write_text(f"Set aside: {', '.join(shown)}. What can still be read of it comes back by\n")
        write_text(f"  bevelwright book export --whole FILE --book {shown[0]}\n  bevelwright book import FILE\n")
    return 0


def _csv(quotes: Sequence[Kept]) -> str:
    """One line a quote: as the list shows it, then what is tax in its total, and the last day of each step."""
    from recommender.models.workshop.book import Entry
    from recommender.models.workshop.quote import NEXT

    steps = [status for status in NEXT if status != "draft"]
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow([*Entry._fields, "net", "tax", *steps])
    for entry, stored, _, history, _ in quotes:
        days = {event.status: event.day for event in history}
        price = stored.get("price")
        net, tax = (price.get(name, "") if isinstance(price, dict) else "" for name in ("net", "tax"))
        writer.writerow([_cell(value) for value in (*entry, net, tax, *(days.get(step, "") for step in steps))])
    return out.getvalue()


def _cell(value: object) -> object:
    """Text that no spreadsheet takes for a formula."""
    return spreadsheet_cell(value) if isinstance(value, str) else value
