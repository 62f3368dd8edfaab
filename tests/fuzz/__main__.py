"""Run many cases and print counts by area; exit code 1 where one failed."""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from itertools import islice

from tests.fuzz.areas import AREAS


def main() -> int:
    """Run the cases asked for."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--cases", type=int, default=100, help="of each area (100)")
    parser.add_argument("--only", nargs="+", choices=AREAS, default=list(AREAS), metavar="NAME")
    args = parser.parse_args()
    failed = 0
    print(f"{'area':12} {'answered':>9} {'refused':>9} {'failed':>9}")
    for name in args.only:
        counts: Counter[str] = Counter()
        for case in islice(AREAS[name].cases(args.seed), args.cases):
            try:
                counts[AREAS[name].run(case)] += 1
            except AssertionError as why:
                counts["failed"] += 1
                print(f"{case.name}: {why}", file=sys.stderr)
        print(f"{name:12} {counts['answered']:9,} {counts['refused']:9,} {counts['failed']:9,}", flush=True)
        failed += counts["failed"]
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
