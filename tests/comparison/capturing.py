"""Captures what a checkout answers, in processes that see nothing of whoever runs them."""

from __future__ import annotations

import contextlib
import datetime
import hashlib
import importlib.metadata
import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

from .checkout import Checkout, ComparisonError
from .papers import Item

CLOCK_S = datetime.datetime(2026, 1, 15, 12, tzinfo=datetime.UTC).timestamp()
"""The moment at which everything is asked."""
_PROCESS = Path(__file__).with_name("capture_process.py")


def capture(checkout: Checkout, items: Sequence[Item], scenarios: Path, keep: Path, jobs: int) -> Path:
    """Capture every item that the folder `keep` does not have of this commit yet; gives the folder of the captures.

    `scenarios` is the folder that scenarios are read from, whichever commit is asked. Raises ComparisonError.
    """
    output = keep / _key(checkout, scenarios)
    if not checkout.commit:
        shutil.rmtree(output, ignore_errors=True)  # a working tree is another one every time
    output.mkdir(parents=True, exist_ok=True)
    missing = [item for item in items if not (output / _file(item)).exists()]
    with contextlib.ExitStack() as stack:
        processes = [
            stack.enter_context(_process(checkout, share, scenarios, output))
            for share in (missing[start::jobs] for start in range(jobs))
            if share
        ]
        while any(process.poll() is None for process, _ in processes):
            failed = [each for each in processes if each[0].poll() not in (None, 0)]
            if failed:
                break
            _show_progress(checkout, len(items), sum((output / _file(item)).exists() for item in items))
            time.sleep(0.2)
        for process, errors in processes:
            if process.poll() not in (None, 0):
                words = errors.read_text(errors="replace").strip().splitlines() or ["no word why"]
                raise ComparisonError(f"{checkout.label}: {words[-1]}")
    _show_progress(checkout, len(items), len(items), end="\n")
    return output


def captured(folder: Path, item: Item) -> dict[str, dict]:
    """The papers of one item as they were captured."""
    return json.loads((folder / _file(item)).read_text(encoding="utf-8"))


def _file(item: Item) -> str:
    """Another name where other papers are asked for."""
    return f"{item.name}-{_digest(item.commands)}.json"


@contextlib.contextmanager
def _process(
    checkout: Checkout, items: Sequence[Item], scenarios: Path, output: Path
) -> Iterator[tuple[subprocess.Popen, Path]]:
    with tempfile.TemporaryDirectory(prefix="comparison-") as place:
        here = Path(place)
        shutil.copytree(scenarios, here / "scenarios")
        asked = {
            "clock_s": CLOCK_S,
            "folder": str(checkout.folder.resolve()),
            "packages": checkout.packages,
            "output": str(output.resolve()),
            "items": [{"file": _file(item), "commands": item.commands} for item in items],
        }
        manifest, errors = here / "manifest.json", here / "errors.txt"
        manifest.write_text(json.dumps(asked), encoding="utf-8")
        with errors.open("wb") as stream:
            process = subprocess.Popen(
                # -P: the folder of the script is no place to import from.
                (sys.executable, "-P", str(_PROCESS), str(manifest)),
                cwd=here,
                env=_environment(checkout, here),
                stdin=subprocess.DEVNULL,
                stdout=stream,
                stderr=stream,
            )
        try:
            yield process, errors
        finally:
            process.kill()
            process.wait()


def _environment(checkout: Checkout, here: Path) -> dict[str, str]:
    """Nobody's folders and settings; the checkout before everything that is installed."""
    folders = {}
    for name in ("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_STATE_HOME"):
        folders[name] = str(here / name.lower())
        os.mkdir(folders[name])
    return folders | {
        "PATH": os.environ.get("PATH", os.defpath),
        "PYTHONPATH": os.pathsep.join(map(str, checkout.search_path)),
        "PYTHONHASHSEED": "0",  # an order that hangs on it is a defect, but not a difference between two commits
        "PYTHONUTF8": "1",
        "OPENBLAS_NUM_THREADS": "1",
        "TZ": "UTC",
        "LC_ALL": "C.UTF-8",
        "COLUMNS": "80",
        "TERM": "dumb",
        "NO_COLOR": "1",
    }


def _key(checkout: Checkout, scenarios: Path) -> str:
    """The name of a folder of captures: another one where anything but the commit's code differs."""
    installed = sorted({f"{each.name} {each.version}" for each in importlib.metadata.distributions()})
    texts = [(path.name, path.read_text(encoding="utf-8")) for path in sorted(scenarios.glob("*.toml"))]
    return f"{checkout.commit[:12] or 'working-tree'}-{_digest([CLOCK_S, sys.version, installed, texts])}"


def _digest(data: object) -> str:
    return hashlib.sha256(json.dumps(data).encode()).hexdigest()[:12]


def _show_progress(checkout: Checkout, count: int, done: int, end: str = "") -> None:
    if sys.stderr.isatty():
        print(f"\r{checkout.label[:60]}: {done} of {count} captured", end=end, file=sys.stderr, flush=True)
