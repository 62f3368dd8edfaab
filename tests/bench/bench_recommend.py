"""A cold `recommend`, to its first words and to its end, beside a bare interpreter that imports numpy and pydantic.

Run: python tests/bench/bench_recommend.py [scenario ...]
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from pathlib import Path

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"
TIMES = 5


def main(names: list[str]) -> None:
    """Print medians in seconds and as ratios to the peer, measured in turn."""
    for name in names or ["left-handed-hunter"]:
        peer, first, end = [], [], []
        for _ in range(TIMES):
            peer.append(_told([sys.executable, "-c", "import numpy, pydantic; print()"])[1])
            command = [sys.executable, "-m", "recommender.cli", "recommend", str(SCENARIOS / f"{name}.toml")]
            for found, seconds in zip((first, end), _told(command), strict=True):
                found.append(seconds)
        base = statistics.median(peer)
        told = {"first words": statistics.median(first), "all": statistics.median(end)}
        shown = ", ".join(f"{what} {seconds:.2f} s ({seconds / base:.1f})" for what, seconds in told.items())
        print(f"{name}: peer {base:.2f} s (1.0), {shown}")


def _told(command: list[str]) -> tuple[float, float]:
    """Seconds until a command has said something, and until it has said all."""
    start = time.perf_counter()
    with subprocess.Popen(command, stdout=subprocess.PIPE) as process:
        assert process.stdout is not None
        process.stdout.read(1)
        first = time.perf_counter() - start
        process.stdout.read()
    return first, time.perf_counter() - start


if __name__ == "__main__":
    main(sys.argv[1:])
