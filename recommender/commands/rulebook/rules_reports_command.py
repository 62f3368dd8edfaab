"""`rules coverage` and `rules diff`, what rules come to over many briefs; `rules pages` and `rules schema`."""

from __future__ import annotations

import argparse
import contextlib
import sys
from collections.abc import Generator, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from recommender.commands.common import Commands, packs_argument, page_width, strict_argument, write_json, write_text
from recommender.commands.jobs import jobs_argument, usual_jobs
from recommender.commands.progress import Progress
from recommender.errors import InputError
from recommender.text import clean, shorten

if TYPE_CHECKING:
    from recommender.service import Question, Service

T = TypeVar("T")
SAMPLE = 120
MOST_SAMPLE = 10_000
SCHEMAS = ("rule", "pack", "task", "steel", "gear", "material", "brief", "shop")
EXIT_NEVER = 1
EXIT_CHANGED = 1


def add(parts: Commands) -> None:
    """Add the reports on rules."""
    coverage = parts.add_parser("coverage", help="which rules fire, decide and never matter over many briefs")
    coverage.set_defaults(run=_coverage)
    _brief_arguments(coverage)
    packs_argument(coverage)
    coverage.add_argument("--never", action="store_true", help="only rules that never fire; exit 1 when there are any")
    coverage.add_argument("--json", action="store_true", help="print one JSON object")
    strict_argument(coverage)

    diff = parts.add_parser("diff", help="which briefs other rules would change, by how much and through which rule")
    diff.set_defaults(run=_diff)
    for name in ("old", "new"):
        diff.add_argument(name, metavar=name.upper(), help="a pack or a folder of packs over those loaded; - for none")
    _brief_arguments(diff)
    packs_argument(diff)
    diff.add_argument("--json", action="store_true", help="print one JSON object")

    pages = parts.add_parser("pages", help="a folder of Markdown pages: every rule, task, steel, gear, grind, metric")
    pages.set_defaults(run=_pages)
    pages.add_argument("folder", metavar="FOLDER", help="where they are written; what is not ours there stays")
    packs_argument(pages)

    schema = parts.add_parser("schema", help="JSON Schema of a kind of file, for editors")
    schema.set_defaults(run=_schema)
    schema.add_argument("--for", dest="kind", choices=SCHEMAS, default="rule", help="the kind of file (rule)")
    packs_argument(schema)


def _brief_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--briefs", metavar="FOLDER", help="a folder of briefs (the shipped scenarios, where there)")
    parser.add_argument(
        "--sample", type=_sample, default=SAMPLE, metavar="N", help=f"designed briefs besides, at most ({SAMPLE})"
    )
    jobs_argument(parser)


def _sample(text: str) -> int:
    with contextlib.suppress(ValueError):
        if 0 <= (sample := int(text)) <= MOST_SAMPLE:
            return sample
    raise argparse.ArgumentTypeError(f"{shorten(text)} is no whole number from 0 to {MOST_SAMPLE}")


def _asked(service: Service, args: argparse.Namespace) -> list[Question]:
    """The briefs that a report goes over. Raises InputError."""
    checkout = Path(__file__).parents[3]  # what is installed has no scenarios
    shipped = checkout / "scenarios"
    folder = args.briefs or (str(shipped) if (checkout / "pyproject.toml").is_file() and shipped.is_dir() else None)
    asked = service.rules.questions(folder, args.sample)
    if not asked:
        raise InputError("no brief to go over", expected="--briefs FOLDER, or a --sample above 0")
    return asked


def _with_progress(results: Generator[tuple[Question, T], None, None], count: int) -> Iterator[tuple[Question, T]]:
    progress = Progress()
    progress.show(0, "brief", None)
    try:
        with contextlib.closing(results):
            for done, item in enumerate(results, 1):
                progress.show(done, "brief", done / count)
                yield item
    finally:
        progress.clear()


def _coverage(service: Service, args: argparse.Namespace) -> int:
    from recommender.drawing.text.rules.coverage_text import coverage_text

    asked = _asked(service, args)
    results = service.rules.parts_of_all(asked, args.jobs or usual_jobs())
    found = service.rules.coverage(parts for _, parts in _with_progress(results, len(asked)))
    never = tuple(rule for rule in found.rules if rule.matters == "never fires")
    if args.json:
        write_json((found.model_copy(update={"rules": never}) if args.never else found).as_json())
    else:
        write_text(coverage_text(found, width=page_width(), never_only=args.never))
    return EXIT_NEVER if args.never and never else 0


def _diff(service: Service, args: argparse.Namespace) -> int:
    from recommender.drawing.text.rules.rules_diff_text import rules_diff_text
    from recommender.models.knowledge.rules_diff import RulesDiff

    old, new = (None if place == "-" else place for place in (args.old, args.new))
    compared, asked = service.rules.comparison(old, new), _asked(service, args)
    for words in dict.fromkeys((*map(str, service.registry.failures), *service.knowledge.left_out)):
        print(f"bevelwright: left out: {words}", file=sys.stderr)
    results = service.rules.consequences(asked, old, new, args.jobs or usual_jobs())
    found_of = [one for _, one in _with_progress(results, len(asked))]
    changed = tuple(one.changed for one in found_of if one.changed is not None)
    found = RulesDiff(
        old=clean(args.old, one_line=True),
        new=clean(args.new, one_line=True),
        changes=tuple(compared.changes),
        briefs=len(asked),
        unchanged=len(asked) - len(changed),
        changed=changed,
        reaches=service.rules.reaches(compared.changes, found_of),
    )
    if args.json:
        write_json(found.as_json())
    else:
        write_text(rules_diff_text(found, width=page_width()))
    return EXIT_CHANGED if changed else 0


def _pages(service: Service, args: argparse.Namespace) -> int:
    from recommender.commands.rulebook.page_folder import write_pages
    from recommender.drawing.pages.markup import MARK
    from recommender.drawing.pages.site import FOLDERS

    progress = Progress()
    try:
        pages = service.drawings.pages(lambda done: progress.show(done, "task", done / len(service.knowledge.tasks)))
    finally:
        progress.clear()
    written, gone = write_pages(Path(args.folder), pages, MARK, FOLDERS)
    removed = f", {gone} removed" if gone else ""
    write_text(f"{len(pages)} pages and pictures in {clean(args.folder, one_line=True)}: {written} written{removed}\n")
    return 0


def _schema(service: Service, args: argparse.Namespace) -> int:
    write_json(service.rules.schema(args.kind))
    return 0
