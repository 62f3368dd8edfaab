"""The commands: compare two commits, write the record, check the working tree against it."""

from __future__ import annotations

import argparse
import contextlib
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from . import record
from .briefs import SECTIONS, briefs_in
from .capturing import capture, captured
from .checkout import REPOSITORY, WORKING_TREE, Checkout, ComparisonError, check_out
from .differences import Tolerance
from .fields import fields_of
from .new_ids import renamed_ids, with_new_ids
from .papers import OF_THE_PROGRAM, PAPERS, PROGRAM, Item, items_of
from .summary import compared, summary

EXIT_ALIKE, EXIT_DIFFERENT, EXIT_BAD_CALL = 0, 1, 2


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; gives the exit code."""
    args = _parser().parse_args(argv)
    try:
        with tempfile.TemporaryDirectory(prefix="comparison-") as work:
            code: int = args.run(args, Path(work))
            return code
    except (ComparisonError, OSError) as error:
        print(f"comparison: {error}", file=sys.stderr)
        return EXIT_BAD_CALL


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m tests.comparison", description=__doc__)
    parts = parser.add_subparsers(dest="part", required=True, metavar="WHAT")

    compare = parts.add_parser("compare", help="the answers of two commits, field by field; exit 1 when they differ")
    compare.set_defaults(run=_compare)
    compare.add_argument("old", metavar="OLD", help="a commit; its scenarios are asked of both")
    compare.add_argument("new", metavar="NEW", nargs="?", default=WORKING_TREE, help="another (. the working tree)")
    compare.add_argument("--relative", type=float, default=0.0, metavar="R", help="numbers equal to this share (0)")
    compare.add_argument("--absolute", type=float, default=0.0, metavar="A", help="numbers equal to this distance (0)")
    compare.add_argument(
        "--within",
        action="append",
        default=[],
        type=_field_tolerance,
        metavar="FIELD=A",
        help="another distance for fields that a wildcard fits, such as '*_deg=0.5'; may be repeated",
    )
    compare.add_argument(
        "--ids", type=Path, metavar="FILE", help="a table of renamed ids (old, tab, new; a heading first): old as new"
    )
    compare.add_argument("--fields", type=int, default=30, metavar="N", help="fields that are listed at most (30)")

    write = parts.add_parser("record", help="write record.tsv anew: answers changed, and on purpose")
    write.set_defaults(run=_record)

    check = parts.add_parser(
        "check", help="which lines of record.tsv a commit does not reproduce; exit 1 when there are any"
    )
    check.set_defaults(run=_check)
    for part in (write, check):
        part.add_argument("commit", nargs="?", default=WORKING_TREE, help="a commit (. the working tree)")

    sections = ", ".join((PROGRAM, *SECTIONS))
    papers = (*PAPERS, *OF_THE_PROGRAM)
    for part in (compare, write, check):
        part.add_argument("--briefs", metavar="A,B", help=f"only these, by name or section: {sections}")
        part.add_argument("--jobs", type=int, default=2, metavar="N", help="processes at once (2)")
        part.add_argument("--keep", type=Path, metavar="FOLDER", help="where captures stay; a commit's are used again")
    for part in (compare, check):
        part.add_argument(
            "--only",
            type=_names(papers),
            default=(),
            metavar="A,B",
            help=f"these papers, of every brief: {', '.join(papers)}",
        )
    write.set_defaults(only=())
    return parser


def _names(known: Sequence[str]):
    def names(text: str) -> tuple[str, ...]:
        given = tuple(text.split(","))
        if unknown := [name for name in given if name not in known]:
            raise argparse.ArgumentTypeError(f"{unknown[0]!r} is none of {', '.join(known)}")
        return given

    return names


def _field_tolerance(text: str) -> tuple[str, float]:
    field, equals, far = text.rpartition("=")
    with contextlib.suppress(ValueError):
        if equals:
            return field, float(far)
    raise argparse.ArgumentTypeError(f"{text!r} is not FIELD=NUMBER")


def _compare(args: argparse.Namespace, work: Path) -> int:
    old, new = check_out(args.old, work / "old"), check_out(args.new, work / "new")
    # The same questions to both: the older commit's scenarios, and this folder's briefs.
    items = _items(args, old)
    folders = [_capture(args, checkout, items, old, work) for checkout in (old, new)]
    tolerance = Tolerance(args.relative, args.absolute, tuple(args.within))
    ids = renamed_ids(args.ids.read_text(encoding="utf-8")) if args.ids else {}
    found = [
        compared(item.name, with_new_ids(_fields(folders[0], item), ids), _fields(folders[1], item), tolerance)
        for item in items
    ]
    print(f"old: {old.label}\nnew: {new.label}")
    print("\n".join(summary(found, args.fields)))
    return EXIT_DIFFERENT if any(each.differences for each in found) else EXIT_ALIKE


def _record(args: argparse.Namespace, work: Path) -> int:
    checkout = check_out(args.commit, work / "checkout")
    found = {row.name: row for row in _rows(args, checkout, work)}
    known = record.read(record.FILE.read_text(encoding="utf-8")) if args.briefs and record.FILE.exists() else {}
    rows = known | found
    names = [item.name for item in items_of(briefs_in(checkout.scenarios))]
    record.FILE.write_text(record.written([rows[name] for name in names if name in rows]), encoding="utf-8")
    print(f"wrote {len(found)} lines of {record.FILE.relative_to(REPOSITORY)}")
    return EXIT_ALIKE


def _check(args: argparse.Namespace, work: Path) -> int:
    recorded = record.read(record.FILE.read_text(encoding="utf-8"))
    rows = _rows(args, check_out(args.commit, work / "checkout"), work)
    lines = list(record.not_reproduced(recorded, rows))
    print("\n".join((f"{len(rows) - len(lines)} of {len(rows)} lines are as recorded", *lines)))
    return EXIT_DIFFERENT if lines else EXIT_ALIKE


def _rows(args: argparse.Namespace, checkout: Checkout, work: Path) -> list[record.Row]:
    items = _items(args, checkout)
    folder = _capture(args, checkout, items, checkout, work)
    return [record.row_of(item.name, _fields(folder, item)) for item in items]


def _items(args: argparse.Namespace, checkout: Checkout) -> list[Item]:
    """What is asked. Raises ComparisonError for a brief that is not there."""
    items = items_of(briefs_in(checkout.scenarios), args.only)
    wanted = set(args.briefs.split(",")) if args.briefs else {PROGRAM, *SECTIONS}
    if unknown := wanted - {PROGRAM, *SECTIONS} - {item.name for item in items}:
        raise ComparisonError(f"there is no brief or section {', '.join(sorted(unknown))}")
    return [item for item in items if wanted & {item.name, item.section}]


def _capture(args: argparse.Namespace, checkout: Checkout, items: list[Item], asked: Checkout, work: Path) -> Path:
    return capture(checkout, items, asked.scenarios, args.keep or work / "captures", max(args.jobs, 1))


def _fields(folder: Path, item: Item) -> dict[str, dict[str, object]]:
    return {name: fields_of(paper) for name, paper in captured(folder, item).items()}


if __name__ == "__main__":
    sys.exit(main())
