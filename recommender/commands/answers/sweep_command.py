"""`sweep`: many briefs answered, row after row."""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import stat
import sys
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from itertools import chain, islice
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from recommender.commands.common import (
    EXIT_NOTHING_FITS,
    Commands,
    packs_argument,
    settings_argument,
    shop_argument,
    strict_argument,
)
from recommender.commands.jobs import jobs_argument, usual_jobs
from recommender.commands.output_files import check_outputs, force_argument
from recommender.commands.progress import Progress
from recommender.errors import InputError
from recommender.files import open_stream, writing_whole
from recommender.side_effects import side_effect
from recommender.signals import interrupts_ignored
from recommender.text import clean, plural

if TYPE_CHECKING:
    from recommender.models.answer.sweep import Swept
    from recommender.service import RowsKind, Service, SweepRow

EXIT_BAD_ROWS = 2
FEW_ROWS = 4
"""Fewer are answered before other processes have started."""
ROWS_NAMED = 20
_ENDINGS: dict[str, RowsKind] = {".csv": "csv", ".jsonl": "jsonl", ".ndjson": "jsonl"}
_EXPECTED = "briefs as CSV or JSON Lines"


def add(commands: Commands) -> None:
    """Add the commands of this family."""
    sweep = commands.add_parser("sweep")
    sweep.set_defaults(run=_sweep)
    sweep.add_argument("briefs", nargs="?", metavar="FILE", help=f"{_EXPECTED}, or - for standard input")
    sweep.add_argument("--from", dest="kind", choices=("csv", "jsonl"), help="what FILE is, where its name hides it")
    sweep.add_argument("--to", choices=("csv", "jsonl"), help="what is written (as the ending of --out, else jsonl)")
    sweep.add_argument("--out", metavar="FILE", help="write there, whole or not at all, not to standard output")
    force_argument(sweep)
    settings_argument(sweep, help="set a field for every row that does not say otherwise")
    packs_argument(sweep)
    shop_argument(sweep)
    jobs_argument(sweep)
    strict_argument(sweep)


def _sweep(service: Service, args: argparse.Namespace) -> int:
    from recommender.models.brief import Brief
    from recommender.service import with_settings

    base = with_settings(Brief(), args.settings)
    check_outputs(args, [args.out])
    kind = args.kind or _ENDINGS.get(Path(args.briefs or "-").suffix.lower())
    name = clean(args.briefs, one_line=True) if args.briefs not in (None, "-") else "standard input"
    with _input(args.briefs) as stream:
        try:
            rows = service.batch.rows(stream, base, kind)
        except InputError as problem:
            raise InputError(f"{name}: {problem}") from None
        share = _share_read(stream)
        if share is None and interrupts_ignored():  # a pipe may stay open for ever
            words = "interrupts are ignored, as whatever started this asked for; a termination signal ends it"
            print(f"bevelwright: {words} (kill {os.getpid()})", file=sys.stderr)
        if args.jobs is None:
            args.jobs, rows = _suited_jobs(rows, endless=share is None)
        to = args.to or _ENDINGS.get(Path(args.out or "").suffix.lower(), "jsonl")
        with _output(args.out) as out, contextlib.closing(service.batch.sweep(rows, args.jobs)) as answered:
            return _write(answered, out, to, share)


def _write(
    answered: Iterable[tuple[SweepRow, Swept]], out: BinaryIO, to: str, share: Callable[[SweepRow], float] | None
) -> int:
    """Write every result as soon as it is there, and last, on standard error, how many came out how."""
    progress, tally = Progress(), _Tally()
    line = _line_writer(out, to)
    progress.show(0, "brief", None)
    try:
        for row, swept in answered:
            tally.count(swept)
            if out.isatty():
                progress.clear()
            line(swept)
            bad = f"{tally.bad:,} bad" if tally.bad else ""
            progress.show(tally.total, "brief", share(row) if share else None, bad)
    except KeyboardInterrupt:
        progress.clear()
        print(f"bevelwright: interrupted after {tally.text()}", file=sys.stderr)
        raise
    finally:
        progress.clear()
    print(tally.text(), file=sys.stderr)
    for failure in tally.failures:
        print(f"bevelwright: {failure}", file=sys.stderr)
    for plugin in tally.blocked:
        print(f"bevelwright: blocked, not imported: plug-in {plugin}", file=sys.stderr)
    return tally.exit_code


def _line_writer(out: BinaryIO, to: str) -> Callable[[Swept], None]:
    # Bytes, as data is UTF-8 whatever the terminal speaks.
    def put(text: str) -> None:
        out.write(text.encode())
        out.flush()

    if to == "jsonl":
        return lambda swept: put(json.dumps(swept.as_json(), allow_nan=False) + "\n")
    from recommender.drawing.text.workshop.sweep_csv import csv_line, header

    put(header())
    return lambda swept: put(csv_line(swept))


class _Tally:
    """How the rows came out."""

    def __init__(self) -> None:
        self.outcomes: Counter[str] = Counter()
        self.failures: dict[str, None] = {}
        self.blocked: dict[str, None] = {}
        self._named: list[int] = []

    def count(self, swept: Swept) -> None:
        """Count one more."""
        self.outcomes[swept.outcome] += 1
        self.failures.update(dict.fromkeys(swept.failed))
        self.blocked.update(dict.fromkeys(swept.plugins_blocked))
        if swept.outcome == "bad input" and len(self._named) < ROWS_NAMED:
            self._named.append(swept.row)

    @property
    def total(self) -> int:
        """Rows."""
        return self.outcomes.total()

    @property
    def bad(self) -> int:
        """Rows that could not be answered."""
        return self.outcomes["bad input"]

    @property
    def exit_code(self) -> int:
        """What the shell gets."""
        return EXIT_BAD_ROWS if self.bad else EXIT_NOTHING_FITS if self.outcomes["nothing fits"] else 0

    def text(self) -> str:
        """All of it in a line."""
        parts = [f"{self.outcomes['answered']:,} answered"]
        if nothing := self.outcomes["nothing fits"]:
            parts.append(f"{nothing:,} nothing fits")
        if self.bad:
            named = ", ".join(map(str, self._named)) + (" ..." if self.bad > len(self._named) else "")
            parts.append(f"{self.bad:,} bad (row{'s' if self.bad > 1 else ''} {named})")
        return f"{plural(self.total, 'brief')}: {', '.join(parts)}"


@contextlib.contextmanager
def _input(name: str | None) -> Iterator[BinaryIO]:
    """The stream of briefs. Raises InputError."""
    if name not in (None, "-"):
        with open_stream(name, _EXPECTED) as stream:
            yield stream
        return
    if sys.stdin is None or (name is None and sys.stdin.isatty()):
        raise InputError("no briefs", expected=f"a file of {_EXPECTED}, or - and the briefs on standard input")
    side_effect()
    # Not closed and not shared: a thread may wait in it to the end of the program.
    yield open(sys.stdin.fileno(), "rb", closefd=False)  # noqa: SIM115


@contextlib.contextmanager
def _output(name: str | None) -> Iterator[BinaryIO]:
    """Where results go. Raises InputError."""
    if name in (None, "-"):
        yield sys.stdout.buffer
    else:
        with writing_whole(Path(name)) as out:
            yield out


def _share_read(stream: BinaryIO) -> Callable[[SweepRow], float] | None:
    """How much of a file's rows has been read up to a row's end, 0..1; None for a pipe, which has no end yet."""
    found = os.fstat(stream.fileno())
    if not stat.S_ISREG(found.st_mode):
        return None
    header = stream.tell()
    # A file may grow while it is read.
    return lambda row: min(1.0, max(0, row.end - header) / max(1, found.st_size - header))


def _suited_jobs(rows: Iterator[SweepRow], *, endless: bool) -> tuple[int, Iterator[SweepRow]]:
    """As many processes as there are processors, one for a few rows; and the rows."""
    if not endless:  # a pipe would make the first result wait
        first = list(islice(rows, FEW_ROWS))
        if len(first) < FEW_ROWS:
            return 1, iter(first)
        rows = chain(first, rows)
    return usual_jobs(), rows
