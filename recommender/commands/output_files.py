"""Files that a command writes: none that anything is read from, none of somebody else's without `--force`."""

from __future__ import annotations

import argparse
import os
import re
from collections.abc import Iterable, Iterator
from pathlib import Path

from recommender.errors import InputError
from recommender.folders import user_folders
from recommender.text import clean

_OURS = re.compile(
    rb'Bevelwright \d+\.\d|/Creator \(Bevelwright\)|"bevelwright\.[a-z_]+/\d|\Arow,id,outcome,|\Anumber,revision,'
)
"""Titles and creators of what is printed and drawn, the schema of JSON, the heads of the two kinds of CSV."""
_READ_FROM = ("brief", "briefs", "file", "shop", "book", "packs", "times")
"""Options and arguments that name what a command reads."""
_LOOKED_AT_BYTES = 1 << 20
_SQLITE = b"SQLite format 3\0"


def force_argument(parser: argparse.ArgumentParser) -> None:
    """Add `--force`."""
    parser.add_argument("--force", action="store_true", help="write over files that Bevelwright did not write")


def check_outputs(args: argparse.Namespace, names: Iterable[str | None]) -> None:
    """Refuse to write over what is read or kept, or over somebody else's file unless `--force`. Raises InputError.

    To be called before anything is computed or saved; None and "-" are no files.
    """
    outputs = [Path(name) for name in names if name not in (None, "-")]
    for at, path in enumerate(outputs):
        if any(_same(path, other) for other in outputs[:at]):
            raise _refused(path, "would be written twice", "a file for each document")
        if not os.path.lexists(path) or not path.is_file():
            continue  # whether it can be written shows when it is
        if any(_same(path, place) or (path.suffix == ".toml" and _lies_in(path, place)) for place in _read_by(args)):
            raise _refused(path, "is read by this command", "another file to write to")
        ends = _ends(path)
        is_database = ends is not None and ends[0].startswith(_SQLITE)
        if is_database or any(_lies_in(path, folder) for folder in user_folders()):
            raise _refused(path, "is kept by Bevelwright", "another file to write to")
        if not args.force and not _is_ours(ends):
            raise _refused(path, "is there already and was not written by Bevelwright", "--force, or another file")


def _read_by(args: argparse.Namespace) -> Iterator[Path]:
    for option in _READ_FROM:
        named = getattr(args, option, None) or ()
        yield from map(Path, [named] if isinstance(named, str) else named)


def _same(one: Path, other: Path) -> bool:
    try:
        return os.path.samefile(one, other)
    except (OSError, ValueError):
        return os.path.realpath(one) == os.path.realpath(other)


def _lies_in(path: Path, folder: Path) -> bool:
    return folder.is_dir() and path.resolve().is_relative_to(folder.resolve())


def _ends(path: Path) -> tuple[bytes, bytes] | None:
    """The beginning and the end of a file; None where it cannot be read."""
    try:
        with path.open("rb") as handle:
            head = handle.read(_LOOKED_AT_BYTES)
            handle.seek(max(0, os.fstat(handle.fileno()).st_size - _LOOKED_AT_BYTES))
            return head, handle.read()
    except OSError:
        return None


def _is_ours(ends: tuple[bytes, bytes] | None) -> bool:
    """Whether a file says so at its beginning or its end; an empty file is nobody's."""
    return ends is not None and (ends == (b"", b"") or any(_OURS.search(part) is not None for part in ends))


def _refused(path: Path, problem: str, expected: str) -> InputError:
    return InputError(problem, file=clean(str(path), one_line=True), expected=expected)
