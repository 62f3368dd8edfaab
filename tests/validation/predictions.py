"""Predictions beside measurements, as the validation files state them; the table of DEVELOPERS.md.

A validation file with measured values lists them as PREDICTIONS. ``python -m tests.validation.predictions`` prints the
table that stands in DEVELOPERS.md; tests/architecture/test_predictions.py holds the two together.
"""

from __future__ import annotations

import importlib
import importlib.resources
import statistics
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any


@dataclass(frozen=True)
class Prediction:
    """One measured value and what the mechanics and the shipped tables say of it."""

    what: str
    """What of which: a name of the set, a comma, and which of it."""
    unit: str
    measured: float
    predicted: float
    within: float
    """Greatest ratio of the two, either way, that is let pass; its reason stands in the file."""
    fitted: str = "nothing"
    """What of the prediction was fitted, and on which values."""

    @property
    def off_percent(self) -> float:
        """Predicted over measured less 1, in percent."""
        return 100 * (self.predicted / self.measured - 1)

    @property
    def holds(self) -> bool:
        """Whether it lies within."""
        ratio = self.predicted / self.measured
        return 1 / self.within <= ratio <= self.within


def core_table(kind: str, name: str) -> dict[str, Any]:
    """A table of the core pack as written in its file."""
    folder = importlib.resources.files("bevelwright_rules") / "core" / "tables"
    return tomllib.loads((folder / kind / f"{name}.toml").read_text(encoding="utf-8"))


def table() -> str:
    """Every set of predictions as a row: those of one file whose names begin alike, up to the first comma."""
    head = (
        "set",
        "values",
        "measured",
        "predicted less measured: median",
        "least to most",
        "let pass",
        "fitted",
        "file",
    )
    rows = [head, ("---",) * len(head)]
    for file in sorted(Path(__file__).parent.glob("test_*.py")):
        module = importlib.import_module(f"tests.validation.{file.stem}")
        sets: dict[str, list[Prediction]] = {}
        for each in getattr(module, "PREDICTIONS", ()):
            sets.setdefault(each.what.partition(", ")[0], []).append(each)
        rows += [_row(name, of_set, file.stem) for name, of_set in sets.items()]
    return "\n".join(f"| {' | '.join(row)} |" for row in rows)


def _row(name: str, of_set: list[Prediction], file: str) -> tuple[str, ...]:
    off = [each.off_percent for each in of_set]
    values = [each.measured for each in of_set]
    low, high = f"{min(values):.4g}", f"{max(values):.4g}"
    unit = "" if of_set[0].unit == "1" else f" {of_set[0].unit}"
    return (
        name,
        str(len(of_set)),
        (low if low == high else f"{low} to {high}") + unit,
        f"{statistics.median(off):+.0f} %",
        f"{min(off):+.0f} to {max(off):+.0f} %",
        f"factor {max(each.within for each in of_set):g}",
        ", ".join(dict.fromkeys(each.fitted for each in of_set)),
        f"`{file}`",
    )


if __name__ == "__main__":
    print(table())
