"""Blades side by side: their dimensions, what the rules give them, and each figure marked better or worse."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from recommender.drawing.lengths import Lengths
from recommender.drawing.text.answer.parameters_text import behind_edge_value, parameter_rows
from recommender.drawing.text.text_page import TextPage
from recommender.models.answer.proposal import Proposal
from recommender.models.answer.trial import Weighed
from recommender.text import clean
from recommender.units import Unit

BETTER, WORSE, SAME = "▲", "▼", "="
TOLD_POINTS = 0.1
"""A difference of fewer points is none."""
_NAME_COLUMNS = 20
_LEAST_COLUMNS = 12


@dataclass(frozen=True)
class Figure:
    """What the goals on one metric give to two blades."""

    label: str
    unit: Unit
    estimate: bool
    first: float | None
    other: float | None
    points: float
    """Of the other less those of the first."""

    @property
    def mark(self) -> str:
        """Better, worse or the same, by what the goals give."""
        return BETTER if self.points >= TOLD_POINTS else WORSE if self.points <= -TOLD_POINTS else SAME


def figures(first: Weighed, other: Weighed) -> dict[str, Figure]:
    """Every metric that a goal speaks of, by id, the weightiest first."""
    goals: dict[str, list[float]] = {}
    for which, blade in enumerate((first, other)):
        for reason in blade.reasons:
            if reason.kind == "goal" and reason.metric is not None:
                had = goals.setdefault(reason.metric, [0.0, 0.0, 0.0])
                had[which] += reason.points
                had[2] = max(had[2], reason.most_points)
    out = {}
    for name, (ours, theirs, _) in sorted(goals.items(), key=lambda item: -item[1][2]):
        metric = first.metrics.get(name) or other.metrics[name]
        was, now = (blade.metrics[name].value if name in blade.metrics else None for blade in (first, other))
        points = round(theirs - ours, 2)
        out[name] = Figure(metric.label, Unit(metric.unit), metric.estimate, was, now, points)
    return out


def trial_text(proposal: Weighed, trial: Weighed, *, width: int = 80, inches: bool = False) -> str:
    """What a blade of one's own costs and brings against the proposal."""
    lengths = Lengths(inches)
    page = TextPage(width, lengths)
    if trial.refused:
        page.line(f"Cannot be ground: {'; '.join(trial.refused)}.")
        page.line("Move it back, or press backspace on that row. The drawing shows what was asked for.")
        return page.text()
    assert trial.points is not None
    assert proposal.points is not None
    behind = round(trial.points.total - proposal.points.total, 1)
    against = "as many as the proposal" if not behind else f"{behind:+.1f} against the proposal"
    page.line(f"{trial.points.total:.1f} of 100 points, {against}")
    for limit in trial.broken:
        page.line(f"✗ breaks the limit “{limit.title}”: {limit.text}", "  ", "    ")
    moved = [f for f in figures(proposal, trial).values() if f.mark != SAME]
    for f in sorted(moved, key=lambda f: f.points):
        was, now = (_shown(v, f, lengths) for v in (f.first, f.other))
        word = "better" if f.mark == BETTER else "worse"
        page.line(f"{f.mark} {word}: {f.label} {was} -> {now} ({f.points:+.1f} points)", "  ", "    ")
    leans = trial.points.leans - proposal.points.leans
    if abs(leans) >= TOLD_POINTS:
        page.line(f"{BETTER if leans > 0 else WORSE} practice: {leans:+.1f} points", "  ", "    ")
    if not moved and abs(leans) < TOLD_POINTS and not trial.broken:
        page.line("Nothing that a rule speaks of has moved.", "  ")
    return page.text()


def _shown(value: float | None, figure: Figure, lengths: Lengths) -> str:
    text = "does not get there" if value is None else lengths.figure(value, figure.unit)
    return f"~ {text}" if figure.estimate and value is not None else text


def compare_text(blades: Sequence[tuple[str, Weighed]], *, width: int = 80, inches: bool = False) -> str:
    """Up to four blades in columns; each figure of the others marked against the first."""
    lengths = Lengths(inches)
    room = max(_LEAST_COLUMNS, min(26, (width - _NAME_COLUMNS) // len(blades) - 1))
    lines: list[str] = []

    def row(name: str, cell: Callable[[Weighed], str]) -> None:
        cells = [_wrapped(cell(blade), room) for _, blade in blades]
        names = _wrapped(name, _NAME_COLUMNS - 1)
        for k in range(max(len(names), *map(len, cells))):
            parts = [names[k] if k < len(names) else "", *(c[k] if k < len(c) else "" for c in cells)]
            lines.append(f"{parts[0]:<{_NAME_COLUMNS}}" + " ".join(f"{part:<{room}}" for part in parts[1:]))

    titles = {id(blade): title for title, blade in blades}
    row("", lambda b: titles[id(b)])
    lines.append("─" * min(width, _NAME_COLUMNS + len(blades) * (room + 1) - 1))
    for name, of in _dimensions(lengths):
        row(name, lambda b, of=of: of(b.proposal))  # type: ignore[misc]
    own = [dict(parameter_rows(blade.proposal, lengths)) for _, blade in blades]
    rows_of = {id(blade): rows for (_, blade), rows in zip(blades, own, strict=True)}
    for name in dict.fromkeys(name for rows in own for name in rows):
        row(name, lambda b, name=name: rows_of[id(b)].get(name, ""))  # type: ignore[misc]
    first = blades[0][1]
    if first.points is None:
        return "\n".join(line.rstrip() for line in lines) + "\n"
    row("points of 100", lambda b: "cannot be ground" if b.points is None else _points(first, b))
    if any(b.broken or b.refused for _, b in blades):
        row("shut out by", lambda b: "; ".join([*b.refused, *(limit.title for limit in b.broken)]) or "nothing")
    lines.append("")
    against = {id(b): figures(first, b) for _, b in blades if b.points is not None}
    names = {name: f.label for each in against.values() for name, f in each.items()}
    for name, label in names.items():

        def figure(b: Weighed, name: str = name) -> str:
            f = against.get(id(b), {}).get(name)
            if f is None:
                return ""
            return _shown(f.other, f, lengths) + ("" if b is first else f" {f.mark}")

        row(label, figure)
    row("blade alone", lambda b: "" if b.blade is None else f"{b.blade.mass_g:.0f} g")
    key = (
        f"{BETTER} better, {WORSE} worse than the first for this brief; {SAME} counts the same, "
        "being more than it needs or of no matter here; ~ an estimate"
    )
    return "\n".join(line.rstrip() for line in [*lines, "", *textwrap.wrap(key, width)]) + "\n"


def _points(first: Weighed, blade: Weighed) -> str:
    assert first.points is not None
    assert blade.points is not None
    if blade is first:
        return f"{blade.points.total:.1f}"
    gap = blade.points.total - first.points.total
    mark = BETTER if gap >= TOLD_POINTS else WORSE if gap <= -TOLD_POINTS else SAME
    return f"{blade.points.total:.1f} {mark}"


def _dimensions(lengths: Lengths) -> list[tuple[str, Callable[[Proposal], str]]]:
    def line(p: Proposal) -> str:
        return "at the spine" if p.grind_line_below_spine_mm < 1e-6 else f"{lengths(p.grind_line_mm, 1)} up"

    def taper(p: Proposal) -> str:
        return lengths(p.stock_thickness_mm - (p.distal_taper or 0.0) * p.blade_length_mm)

    return [
        ("grind", lambda p: p.grind_label + ("" if p.side == "both" else f", {p.side} side")),
        ("edge per side", lambda p: f"{p.edge_angle_per_side_deg:g}°"),
        ("edge included", lambda p: f"{p.edge_angle_included_deg:g}°"),
        ("behind the edge", lambda p: behind_edge_value(p, lengths)),
        ("grind line", line),
        ("stock", lambda p: lengths(p.stock_thickness_mm)),
        ("bar at the tip", taper),
        ("wheel", lambda p: "none" if p.wheel_diameter_mm is None else lengths(p.wheel_diameter_mm, 0)),
    ]


def _wrapped(text: str, width: int) -> list[str]:
    return textwrap.wrap(clean(text, one_line=True), width) or [""]
