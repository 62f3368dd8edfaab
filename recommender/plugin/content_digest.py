"""What a plug-in's files hold, as a short digest: two that call themselves alike are told apart by it."""

from __future__ import annotations

import functools
from pathlib import Path
from typing import Any

from recommender.files import FilesDigest

MOST_FILES = 2_000
MOST_BYTES = 50_000_000
"""Of a plug-in's package; a larger one has no digest."""


def content_digest(plugin: Any) -> str:
    """The first digits of a SHA-256 over names and contents of a plug-in's files; empty where it has none of its own.

    Of a package that is its folder without what Python compiles, of a module its file.
    """
    file = getattr(plugin, "__file__", None)
    return _of_files(file) if isinstance(file, str) else ""


@functools.cache
def _of_files(file: str) -> str:
    # Once a process: what was imported from it does not change any more.
    path = Path(file)
    folder = path.parent
    try:
        files = [path]
        if path.name == "__init__.py":
            files = sorted(p for p in folder.rglob("*") if p.is_file() and "__pycache__" not in p.parts)
        if len(files) > MOST_FILES or sum(p.stat().st_size for p in files) > MOST_BYTES:
            return ""
        found = FilesDigest()
        for each in files:
            found.add(each.relative_to(folder).as_posix(), each.read_bytes())
        return str(found)
    except OSError:
        return ""
