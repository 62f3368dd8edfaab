"""Figures of a section, and lists of what is known, as text."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from recommender.drawing.lengths import Lengths, angle
from recommender.text import clean
from recommender.units import Unit

if TYPE_CHECKING:  # listings need neither
    from recommender.engine.identify.section_figures import SectionFigures


def section_text(figures: SectionFigures, label: str, *, width: int = 80, inches: bool = False) -> str:
    """Write a section's figures with its drawing."""
    from recommender.drawing.text.answer.section_text import section_lines
    from recommender.geometry.ground_face import is_one_bevel

    lengths = Lengths(inches)
    one_bevel = bool(is_one_bevel(figures.outline[None])[0])
    lines = [
        f"{clean(label, one_line=True)}: {angle(figures.edge_angle_per_side_deg, figures.edge_angle_included_deg)}",
        "",
        *(
            "  " + line if line else ""
            for line in section_lines(
                figures.outline,
                shoulder_mm=0.0 if one_bevel else figures.edge_bevel_height_mm,
                grind_line_mm=figures.grind_line_mm,
                edge_thickness_mm=0.0 if one_bevel else figures.edge_thickness_mm,
                width=width - 2,
                lengths=lengths,
            )
        ),
        "",
    ]
    x, y = figures.centroid_mm
    for name, value in (
        ("area", f"{figures.area_mm2:.4g} mm²"),
        ("centroid", f"{lengths(y)} above the edge, {lengths(x)} to the right"),
        ("I weak", f"{figures.i_weak_mm4:.5g} mm⁴ (bending sideways)"),
        ("I strong", f"{figures.i_strong_mm4:.5g} mm⁴"),
        ("I product", f"{_tidy(figures.i_product_mm4):.5g} mm⁴"),
        (
            "torsion",
            "too stout to estimate"
            if figures.torsion_mm4 is None
            else f"{figures.torsion_mm4:.5g} mm⁴ (thin-section estimate)",
        ),
        (
            "least thickness",
            f"{lengths(figures.min_thickness_mm)}, {lengths(figures.min_thickness_at_mm)} above the edge",
        ),
    ):
        lines.append(f"  {name:<18}{lengths.prose(value)}")
    if figures.micro_bevel_per_side_deg is not None:
        micro = figures.micro_bevel_per_side_deg
        lines.append(f"  {'micro-bevel':<18}{angle(micro, 2 * micro)}")
    tip = figures.tip_zone
    lines += ["", "  height        thickness" + ("     tip zone" if tip else "")]
    for k, (h, t) in enumerate(figures.thickness):
        lines.append(f"  {lengths(h):<14}{lengths(t):<14}" + (lengths(tip["thickness"][k][1]) if tip else ""))
    for warning in figures.warnings:
        lines += ["", *textwrap.wrap(lengths.prose(f"Warning: {warning}"), width, subsequent_indent="  ")]
    lines += ["", "Strength of shapes is compared, never licensed. Keen edges cut: handle with care."]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _tidy(value: float) -> float:
    """Rounding noise shown as 0."""
    return 0.0 if abs(value) < 1e-9 else value


MOST_VALUES = 40
"""Of a field, that are listed."""


_UNITLESS = {Unit.NONE: "no unit", Unit.COUNT: "a count"}


def _measure(metric: Mapping[str, Any]) -> str:
    """In what a metric is measured, and which way is better where that hangs on no task."""
    unit = _UNITLESS.get(metric["unit"], metric["unit"])
    return unit if metric["better"] == "either" else f"{unit}, {metric['better']} is better"


def listing_text(rows: Sequence[Mapping[str, Any]], *, width: int = 80) -> str:
    """Write a list of tables: id, label and one paragraph each."""
    room = max((len(row["id"]) for row in rows), default=0) + 2
    lines: list[str] = []
    for row in rows:
        about = clean(str(row.get("meaning") or row.get("about") or ""), one_line=True)
        label = clean(str(row["label"]), one_line=True)
        row_id = clean(str(row["id"]), one_line=True)
        label += f" ({_measure(row)})" if "better" in row else ""
        label += f" ({row['family']}, {row['corrosion']['class']})" if "corrosion" in row else ""
        if values := row.get("values"):
            shown = ", ".join(clean(str(value), one_line=True) for value in values[:MOST_VALUES])
            about += f" One of {shown}{' ...' if len(values) > MOST_VALUES else ''}."
        text = about if label == row["id"] else f"{label}. {about}"
        lines += textwrap.wrap(text, width, initial_indent=f"{row_id:<{room}}", subsequent_indent=" " * room)
    return "\n".join(lines) + "\n"
