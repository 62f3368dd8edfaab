"""What went wrong when the interface itself failed, written where somebody can find it."""

from __future__ import annotations

import contextlib
import platform
import sys
import traceback
from datetime import datetime
from pathlib import Path

from recommender import __version__
from recommender.errors import InputError, describe
from recommender.files import write_whole
from recommender.text import clean

CRASHED = 3
"""Exit code of a failure of our own."""
_MOST_REPORTS = 9


def report_crash(folder: Path, error: BaseException) -> str:
    """Write a report of an error into a folder; gives the line that says so."""
    return report_failure(folder, describe(error), "".join(traceback.format_exception(error)), what="the interface")


def report_failure(folder: Path, words: str, report: str, *, what: str = "the engine") -> str:
    """Write a report of a failure into a folder; gives the line that says so."""
    failure = f"bevelwright: {what} failed ({clean(words, one_line=True)})"
    now = datetime.now()
    head = (
        f"bevelwright {__version__}, Python {platform.python_version()} on {sys.platform}, "
        f"{now.isoformat(sep=' ', timespec='seconds')}\n\n"
    )
    path = folder / f"crash-{now:%Y%m%d-%H%M%S}.txt"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        write_whole(path, clean(head + report).encode())
    except (OSError, InputError) as cause:
        return f"{failure}; no report of it could be written ({clean(str(cause), one_line=True)})"
    for old in sorted(folder.glob("crash-*.txt"))[:-_MOST_REPORTS]:
        with contextlib.suppress(OSError):
            old.unlink()
    return f"{failure}; the report lies in {clean(str(path), one_line=True)}"
