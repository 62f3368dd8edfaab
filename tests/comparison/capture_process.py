"""Runs commands of one checkout, one after the other, and writes down what they print. Started by capturing.py.

It knows nothing of the program but its command line, so that it serves commits whose inner modules lie elsewhere.
"""

from __future__ import annotations

import contextlib
import datetime
import io
import json
import os
import shutil
import sys
import time
from pathlib import Path

OUT = Path("out")


def stop_the_clock(seconds: float) -> None:
    """Let it be the same day, for whoever asks.

    `date.today` reads `time.time` wherever it is asked from, so nothing inside the program has to be replaced.
    """
    time.time = lambda: seconds
    if datetime.date.today() != datetime.datetime.fromtimestamp(seconds).date():
        raise SystemExit("the date could not be fixed: this Python's date.today() does not read time.time()")


def check_origin(packages: list[str], folder: Path) -> None:
    """End the process when a module of the program comes from anywhere but the checkout."""
    for name, module in list(sys.modules.items()):
        file = getattr(module, "__file__", None)
        if name.partition(".")[0] in packages and file and not Path(file).resolve().is_relative_to(folder):
            raise SystemExit(f"{name} was imported from {file}, not from the commit's checkout {folder}")


def run(main, argv: list[str]) -> dict[str, object]:
    """What a command gives: exit code, what it prints, and the files that it writes below out/."""
    shutil.rmtree(OUT, ignore_errors=True)
    OUT.mkdir()
    printed, errors = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8", write_through=True) for _ in range(2))
    with contextlib.redirect_stdout(printed), contextlib.redirect_stderr(errors):
        try:
            code: object = main(argv)
        except SystemExit as end:
            code = end.code
        except Exception as error:
            code = f"{type(error).__name__}: {error}"
    files = sorted(path for path in OUT.rglob("*") if path.is_file())
    return {
        "exit": code,
        "printed": printed.buffer.getvalue().decode(),
        "errors": errors.buffer.getvalue().decode(),
        "files": {path.relative_to(OUT).as_posix(): path.read_bytes().decode("latin-1") for path in files},
    }


def capture(manifest: Path) -> None:
    """Run everything that a manifest names; each item is written whole, so that what is there is finished."""
    asked = json.loads(manifest.read_text(encoding="utf-8"))
    stop_the_clock(asked["clock_s"])
    folder = Path(asked["folder"])
    from recommender.cli import main

    for item in asked["items"]:
        papers = {name: run(main, argv) for name, argv in item["commands"].items()}
        check_origin(asked["packages"], folder)
        target = Path(asked["output"], item["file"])
        unfinished = target.with_suffix(f".{os.getpid()}")
        unfinished.write_text(json.dumps(papers), encoding="utf-8")
        unfinished.replace(target)


if __name__ == "__main__":
    capture(Path(sys.argv[1]))
