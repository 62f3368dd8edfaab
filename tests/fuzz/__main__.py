"""Run many cases and print counts by area; exit code 1 where one failed."""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from collections import Counter
from itertools import islice
from pathlib import Path

from tests.fuzz.areas import AREAS


def main() -> int:
    """Run the cases asked for."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--cases", type=int, default=100, help="of each area, more of those that are quick (100)")
    parser.add_argument("--only", nargs="+", choices=AREAS, default=list(AREAS), metavar="NAME")
    args = parser.parse_args()
    in_all: Counter[str] = Counter()
    print(f"{'area':12} {'answered':>9} {'refused':>9} {'failed':>9}")
    for name in args.only:
        counts: Counter[str] = Counter()
        for case in islice(AREAS[name].cases(args.seed), round(args.cases * AREAS[name].weight)):
            try:
                counts[AREAS[name].run(case)] += 1
            except AssertionError as why:
                counts["failed"] += 1
                print(f"{case.name}: {why}", file=sys.stderr)
        print(_line(name, counts), flush=True)
        in_all += counts
    print(_line("in all", in_all))
    return 1 if in_all["failed"] else 0


def _line(name: str, counts: Counter[str]) -> str:
    return f"{name:12} {counts['answered']:9,} {counts['refused']:9,} {counts['failed']:9,}"


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as nobodys:  # nothing of the user's own is read or written
        os.environ |= {f"XDG_{kind}_HOME": str(Path(nobodys, kind)) for kind in ("CONFIG", "DATA", "STATE")}
        sys.exit(main())
