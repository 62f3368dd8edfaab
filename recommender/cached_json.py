"""JSON in the user's cache folder, with a checksum: what is damaged or somebody else's is as if it were not there."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import stat
from pathlib import Path
from typing import Any, NoReturn

from recommender.errors import InputError
from recommender.files import write_whole


def read_cached(file: Path) -> dict[str, Any]:
    """The object that was kept; an empty one where it is damaged, not ours alone to write or cannot be read."""
    try:
        if not (_is_ours(file.parent, stat.S_ISDIR) and _is_ours(file, stat.S_ISREG)):
            return {}
        digest, _, body = file.read_bytes().partition(b"\n")
        if hashlib.sha256(body).hexdigest().encode() != digest:
            return {}
        data = json.loads(body, parse_constant=_refuse)
        return data if isinstance(data, dict) else {}
    except (OSError, ValueError, RecursionError):
        return {}


def write_cached(file: Path, data: dict[str, Any], most_kept: int) -> bool:
    """Keep an object, and of its folder the files used last; whether that could be, and it is JSON."""
    try:
        return _write(file, json.dumps(data, ensure_ascii=True, allow_nan=False).encode(), most_kept)
    except (OSError, InputError, TypeError):
        return False


def _is_ours(path: Path, is_kind: Any) -> bool:
    """Whether it is what it should be and no link, and nobody but this user can have written it."""
    found = path.lstat()
    if not is_kind(found.st_mode):
        return False
    return not hasattr(os, "getuid") or (found.st_uid == os.getuid() and not found.st_mode & 0o022)


def _refuse(name: str) -> NoReturn:
    raise ValueError(name)


def _write(file: Path, body: bytes, most_kept: int) -> bool:
    folder = file.parent
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    if not _is_ours(folder, stat.S_ISDIR):
        return False
    if file.is_symlink():
        file.unlink()
    write_whole(file, hashlib.sha256(body).hexdigest().encode() + b"\n" + body, cache=True)
    file.chmod(0o600)
    found = sorted(folder.iterdir(), key=lambda path: -path.lstat().st_mtime)
    for path in found[most_kept:]:
        with contextlib.suppress(OSError):
            path.unlink()
    return True
