"""Swept rows as CSV (RFC 4180): one line a row, flat columns, safe to open in a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from typing import Any

from recommender.models.answer.sweep import Swept
from recommender.text import clean, spreadsheet_cell

_DIMENSIONS = (
    "edge_angle_per_side_deg",
    "edge_angle_included_deg",
    "edge_thickness_mm",
    "stock_thickness_mm",
    "blade_height_mm",
    "blade_length_mm",
    "grind_line_mm",
    "grind_line_below_spine_mm",
    "wheel_diameter_mm",
    "side",
    "micro_bevel_per_side_deg",
)
COLUMNS = (
    "row",
    "id",
    "outcome",
    "grind",
    *_DIMENSIONS,
    "micro_bevel_included_deg",
    "tip",
    "distal_taper_mm_per_mm",
    "points",
    "confidence",
    "runner_up",
    "runner_up_points_behind",
    "blocked",
    "cautions",
    "parameters",
    "costs",
    "error",
)


def header() -> str:
    """The first line."""
    return _line(COLUMNS)


def csv_line(swept: Swept) -> str:
    """A row with its line end; what does not apply is an empty cell."""
    proposal, other = swept.proposal, swept.runner_up
    cells: dict[str, Any] = {
        "row": swept.row,
        "id": swept.id,
        "outcome": swept.outcome,
        "points": swept.points,
        "confidence": swept.confidence,
        "blocked": "; ".join(swept.blocked),
        "cautions": " ".join(swept.cautions),
        "costs": "; ".join(f"{cost.rule} ({cost.task}) {cost.points:g}" for cost in swept.costs),
        "error": swept.error,
    }
    if proposal:
        micro = proposal.micro_bevel_per_side_deg
        cells |= {name: getattr(proposal, name) for name in ("grind", "tip", *_DIMENSIONS)}
        cells["micro_bevel_included_deg"] = None if micro is None else 2 * micro
        cells["distal_taper_mm_per_mm"] = proposal.distal_taper
        own = proposal.own_parameters.items()
        cells["parameters"] = " ".join(f"{name}={_plain(knob.value)}" for name, knob in own)
    if other:
        cells |= {"runner_up": other.grind, "runner_up_points_behind": other.points_behind}
    return _line(_cell(cells.get(column)) for column in COLUMNS)


def _plain(value: float | str | None) -> str:
    return f"{value:.6g}" if isinstance(value, float) else str(value)


def _cell(value: Any) -> Any:
    return spreadsheet_cell(clean(value, one_line=True)) if isinstance(value, str) else value


def _line(cells: Iterable[Any]) -> str:
    written = io.StringIO()
    csv.writer(written).writerow(cells)  # its lines end as RFC 4180 says
    return written.getvalue()
