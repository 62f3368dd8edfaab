"""Names of files that do not exist yet."""

from __future__ import annotations

import os
from pathlib import Path

from recommender.errors import InputError


def free(folder: Path, stem: str, ending: str) -> Path:
    """The first of `stem.ending`, `stem-2.ending` ... that does not exist yet. Raises InputError."""
    for number in range(1, 1000):
        path = folder / (f"{stem}.{ending}" if number == 1 else f"{stem}-{number}.{ending}")
        if not os.path.lexists(path):
            return path
    raise InputError("too many files here", file=str(folder), expected="a folder with fewer than 1,000")
