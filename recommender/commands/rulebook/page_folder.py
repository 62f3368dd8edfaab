"""A folder of files that are written anew: ours by their first line, what is somebody else's left alone."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

from recommender.errors import InputError
from recommender.files import write_whole
from recommender.text import clean


def write_pages(folder: Path, pages: Mapping[str, bytes], mark: str, folders: Iterable[str]) -> tuple[int, int]:
    """Write pages by their paths, each whole, and remove those of ours that are no more; gives how many of each.

    `mark` is the first line of every file of ours, `folders` where else than at the top they may lie. Where something
    that is not ours is in the way, raises InputError before anything is written.
    """
    for place in (folder, *(folder / name for name in folders)):
        if place.exists() and not place.is_dir():
            raise _in_the_way(place, "a folder to write to")
        if place != folder and place.is_symlink():
            raise _in_the_way(place, "a folder of its own")
    for name in pages:
        target = folder / name
        if (target.exists() or target.is_symlink()) and not _is_ours(target, mark):
            raise _in_the_way(target, "another folder, or this file moved")
    written = 0
    for name, content in pages.items():
        target = folder / name
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
        except OSError as cause:
            problem = f"cannot be made ({cause.strerror})"
            raise InputError(problem, file=clean(str(target.parent), one_line=True), expected="a folder") from None
        if not target.exists() or target.read_bytes() != content:
            write_whole(target, content)
            written += 1
    stale = [p for place in (folder, *(folder / n for n in folders)) for p in _ours_in(place, mark)]
    gone = [path for path in stale if path.relative_to(folder).as_posix() not in pages]
    for path in gone:
        path.unlink()
    return written, len(gone)


def _ours_in(place: Path, mark: str) -> list[Path]:
    files = place.iterdir() if place.is_dir() else ()
    return sorted(path for path in files if path.suffix in (".md", ".svg") and _is_ours(path, mark))


def _is_ours(path: Path, mark: str) -> bool:
    if path.is_symlink() or not path.is_file():
        return False
    with path.open("rb") as handle:
        return handle.readline(len(mark) + 2).rstrip(b"\r\n") == mark.encode()


def _in_the_way(path: Path, expected: str) -> InputError:
    return InputError("is in the way and not ours", file=clean(str(path), one_line=True), expected=expected)
