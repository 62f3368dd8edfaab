"""Plug-ins that a user has shut out: they are not even imported."""

from __future__ import annotations

from pathlib import Path

from recommender.errors import InputError
from recommender.files import read_file, write_whole
from recommender.folders import user_folder
from recommender.text import clean

FILE = "blocked-plugins.txt"
_MOST_BYTES = 100_000
_EXPECTED = "the names of plug-ins, one a line; # starts a remark"


def blocked_file() -> Path:
    """Where a user's own block list lies."""
    return user_folder("config") / FILE


def blocked_names() -> frozenset[str]:
    """The plug-ins of the user's block list, by name. Raises InputError for a list that cannot be read.

    Nothing is let in because its list is broken.
    """
    file = blocked_file()
    if not file.is_symlink() and not file.exists():
        return frozenset()
    raw, shown = read_file(file, _MOST_BYTES, _EXPECTED), clean(str(file), one_line=True)
    if len(raw) > _MOST_BYTES:
        raise InputError("too long", file=shown, expected=_EXPECTED)
    try:
        lines = raw.decode("utf-8-sig").splitlines()
    except UnicodeDecodeError as cause:
        raise InputError(f"byte {cause.start} is not UTF-8", file=shown, expected=_EXPECTED) from None
    return frozenset(name for line in lines if (name := line.partition("#")[0].strip()))


def block_plugin(name: str) -> str:
    """Put a plug-in on the user's block list, what is there staying as it is; gives the line that says so.

    Raises InputError for a list that cannot be read or written.
    """
    file = blocked_file()
    shown = clean(str(file), one_line=True)
    if name in blocked_names():
        return f"The plug-in {name} is blocked already, in {shown}"
    before = read_file(file, _MOST_BYTES, _EXPECTED) if file.exists() else b""
    between = b"" if not before or before.endswith(b"\n") else b"\n"
    file.parent.mkdir(parents=True, exist_ok=True)
    write_whole(file, before + between + name.encode() + b"\n")
    return f"The plug-in {name} is blocked from the next start on; a line of {shown} says so"
