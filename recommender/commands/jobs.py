"""How many processes share out a long job."""

from __future__ import annotations

import argparse
import contextlib
import os

from recommender.text import shorten

MOST_JOBS = 64
USUAL_JOBS = 8
"""At most, where nothing is said: each takes some hundred megabytes."""


def jobs_argument(parser: argparse.ArgumentParser) -> None:
    """Add `--jobs`."""
    parser.add_argument("--jobs", type=_jobs, metavar="N", help=f"processes (the processors, at most {USUAL_JOBS})")


def usual_jobs() -> int:
    """As many as there are processors to use."""
    usable = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return min(usable, USUAL_JOBS)


def _jobs(text: str) -> int:
    with contextlib.suppress(ValueError):
        if 1 <= (jobs := int(text)) <= MOST_JOBS:
            return jobs
    raise argparse.ArgumentTypeError(f"{shorten(text)} is no whole number from 1 to {MOST_JOBS}")
