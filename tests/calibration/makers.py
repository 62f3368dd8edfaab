"""Chances and bands of the shipped scenarios beside what makers expected there, as forecasts.

Rules were written and mended with these expectations in view: that they agree is no trial, that they disagree is news.
"""

from __future__ import annotations

import tomllib
from pathlib import Path

from recommender.models.answer.proposal import Answer
from recommender.service import Service, read_brief

from .tally import Tally, named_grinds

SCENARIOS = Path(__file__).parents[2] / "scenarios"


def against_makers(names: list[str] | None = None) -> list[str]:
    """A line for each scenario with an answer, and the reliability table."""
    service, tally, lines = Service(), Tally(), []
    on_named, met = [], []
    for name in names or sorted(path.stem for path in SCENARIOS.glob("*.toml") if ".expected" not in path.name):
        expected = tomllib.loads((SCENARIOS / f"{name}.expected.toml").read_text(encoding="utf-8"))
        path = SCENARIOS / f"{name}.toml"
        answer = service.recommend(read_brief(path.read_bytes(), path.name), flips=False)
        if answer.proposal is None or answer.confidence is None:
            continue
        wins, named = answer.confidence.wins, named_grinds(answer)
        chance = sum(wins.get(grind, 0.0) for grind in named)
        believed = answer.proposal.grind in expected["grinds"]
        tally.stated.append((chance, believed))
        on_named.append(sum(wins.get(grind, 0.0) for grind in expected["grinds"]))
        met += _bands_in_bounds(answer, expected.get("bounds", {}))
        lines.append(f"{name}: {answer.proposal.grind} {chance:.2f}; makers' grinds have {on_named[-1]:.2f}")
    return [
        *lines,
        "",
        *tally.reliability(),
        "",
        f"Brier score {tally.brier():.3f}. Of all draws {100 * sum(on_named) / len(on_named):.0f} % make a grind best "
        f"that makers named. {sum(met)} of {len(met)} bands of dimensions reach into what makers gave as usual.",
        f"Few forecasts ({len(tally.stated)}): chance alone moves a bin by {100 * tally.error():.0f} points or more, "
        "and rules were written with these scenarios in view.",
    ]


def _bands_in_bounds(answer: Answer, bounds: dict[str, list[float]]) -> list[bool]:
    """Whether the band of each dimension that makers bounded has a value in those bounds."""
    bands = answer.confidence.dimensions if answer.confidence is not None else {}
    return [bands[key].low <= high and bands[key].high >= low for key, (low, high) in _numbers(bounds) if key in bands]


def _numbers(bounds: dict[str, list[float]]) -> list[tuple[str, tuple[float, float]]]:
    return [(key, (pair[0], pair[1])) for key, pair in bounds.items() if key.endswith(("_mm", "_deg", "_share"))]
