"""The answer in plain words."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from typing import Literal

from recommender.drawing.lengths import Lengths, angle
from recommender.drawing.section_text import section_lines
from recommender.geometry.outline import Outline
from recommender.models.proposal import Alternative, Answer, Proposal, Reason, ShutOut, Words
from recommender.text import clean, plural
from recommender.units import Unit, show

_SIDES = {
    "both": "both sides",
    "right": "right side only (seen edge down, tip forward)",
    "left": "left side only (seen edge down, tip forward)",
}


def answer_text(
    answer: Answer,
    outline: Outline | None,
    *,
    audience: Literal["buyer", "maker"] = "buyer",
    width: int = 80,
    inches: bool = False,
) -> str:
    """Write an answer for a buyer or a maker; `outline` (v, 3) is the proposal's section, drawn when given."""
    page = _Page(width)
    lengths = Lengths(inches)
    if answer.brief.title:
        page.line(clean(answer.brief.title, one_line=True))
        page.gap()
    if answer.proposal is None:
        _nothing_fits(page, answer)
    else:
        _blade(page, answer, answer.proposal, lengths)
        if outline is not None:
            page.gap()
            for line in section_lines(
                outline,
                shoulder_mm=_shoulder(outline, answer.proposal),
                grind_line_mm=answer.proposal.grind_line_mm,
                edge_thickness_mm=answer.proposal.edge_thickness_mm,
                width=width - 2,
                lengths=lengths,
            ):
                page.raw("  " + line if line else "")
        _figures(page, answer)
        _why(page, answer)
        _why_not(page, answer, lengths)
    _assumed(page, answer)
    _cautions(page, answer, audience)
    _advice(page, answer, audience)
    _provenance(page, answer)
    return page.text()


class _Page:
    def __init__(self, width: int) -> None:
        self.width = max(40, width)
        self.lines: list[str] = []

    def raw(self, line: str) -> None:
        self.lines.append(line)

    def gap(self) -> None:
        if self.lines and self.lines[-1]:
            self.lines.append("")

    def heading(self, text: str) -> None:
        self.gap()
        self.lines.append(text)

    def line(self, text: str, indent: str = "", hanging: str | None = None) -> None:
        self.lines += textwrap.wrap(
            text,
            self.width,
            initial_indent=indent,
            subsequent_indent=indent if hanging is None else hanging,
            break_long_words=True,
        ) or [""]

    def row(self, name: str, value: str) -> None:
        self.line(value, f"  {name:<18}", " " * 20)

    def text(self) -> str:
        return "\n".join(self.lines).rstrip() + "\n"


def _shoulder(outline: Outline, proposal: Proposal) -> float:
    heights = sorted({float(y) for y in outline[:, 1] if y > 0})
    return heights[0] if proposal.edge_thickness_mm > 0 else 0.0


def _blade(page: _Page, answer: Answer, p: Proposal, lengths: Lengths) -> None:
    points = answer.points
    assert points is not None  # comes with every proposal
    page.line(f"Recommended: {p.grind_label} ({points.total:.0f} of 100 points)")
    page.row("edge", angle(p.edge_angle_per_side_deg, p.edge_angle_included_deg))
    if p.micro_bevel_per_side_deg is not None:
        page.row("micro-bevel", angle(p.micro_bevel_per_side_deg, 2 * p.micro_bevel_per_side_deg))
    page.row(
        "behind the edge",
        lengths(p.edge_thickness_mm) if p.edge_thickness_mm else "ground to zero",
    )
    where = (
        "at the spine (full height)"
        if p.grind_line_below_spine_mm < 1e-6
        else f"{lengths(p.grind_line_mm, 1)} above the edge, {lengths(p.grind_line_below_spine_mm, 1)} below the spine"
        f" ({100 * p.grind_line_share:.0f} % of the height)"
    )
    page.row("grind line", where)
    page.row(
        "blade",
        f"{lengths(p.stock_thickness_mm)} stock, {lengths(p.blade_height_mm, 1)} high, "
        f"{lengths(p.blade_length_mm, 0)} long",
    )
    page.row("ground on", _SIDES[p.side])
    if p.wheel_diameter_mm is not None:
        page.row("contact wheel", lengths(p.wheel_diameter_mm, 0))
    zones = [
        f"{name.removesuffix('_zone')} zone {value.value}"
        for name, value in p.parameters.items()
        if name.endswith("_zone")
    ]
    if zones:
        page.row("zones", ", ".join(zones))


_SHOWN_FIGURES = (
    "cut_force",
    "split_depth",
    "release_margin_deg",
    "edge_strength",
    "pry_moment",
    "tip_strength",
    "edge_retention",
    "sharpening_minutes",
    "sharpenings",
)


def _figures(page: _Page, answer: Answer) -> None:
    page.heading("Figures (~ marks an estimate)")
    for name in _SHOWN_FIGURES:
        metric = answer.metrics.get(name)
        if metric is None or metric.value is None:
            continue
        text = ("~ " if metric.estimate else "") + show(metric.value, Unit(metric.unit))
        if len(metric.by_task) > 1:
            parts = (f"{task} {show(v, Unit(metric.unit))}" for task, v in metric.by_task.items() if v is not None)
            text += f" ({', '.join(parts)})"
        page.line(text, f"  {metric.label:<34}", " " * 36)


def _why(page: _Page, answer: Answer) -> None:
    page.heading("Why this")
    for reason in answer.reasons:
        if reason.points >= 0.5 or reason.points < 0:
            _reason(page, answer, reason)
    quiet = [r.title.lower() for r in answer.reasons if 0 <= r.points < 0.5]
    if quiet:
        page.line("What it does not do well: " + "; ".join(quiet) + ".", "  ", "  ")
    for limit in answer.deciding:
        page.line(f"Decided by the limit “{limit.title}”: {limit.text}.", "  ", "    ")


def _reason(page: _Page, answer: Answer, reason: Reason) -> None:
    points = f"{reason.points:+.1f}" + (f" of {reason.most_points:.1f}" if reason.kind == "goal" else "")
    figure = ""
    if reason.value is not None and reason.unit is not None:
        figure = f"{answer.metrics[reason.metric or ''].label} {show(reason.value, Unit(reason.unit))}; "
    page.line(f"{reason.title}: {reason.text} [{figure}{points}; {reason.basis.level}]", "  ", "    ")


def _why_not(page: _Page, answer: Answer, lengths: Lengths) -> None:
    page.heading("Why not another")
    for other in answer.alternatives:
        page.line(_alternative(other, lengths), "  ", "    ")


def _alternative(other: Alternative, lengths: Lengths) -> str:
    if other.proposal is None:
        return f"{other.grind_label}: {other.why_not}"
    p = other.proposal
    what = (
        f"{angle(p.edge_angle_per_side_deg, p.edge_angle_included_deg)}, {lengths(p.edge_thickness_mm)} behind the edge"
    )
    return f"{other.grind_label} ({what}): {other.why_not}"


def _nothing_fits(page: _Page, answer: Answer) -> None:
    page.line("Nothing fits this brief; no wish was replaced.")
    page.heading("What shuts everything out")
    for shut in answer.blocked[:8]:
        page.line(_shut(shut), "  ", "    ")
    page.heading("The smallest changes that would help")
    for text in answer.relaxations or ["none of the limits or wishes helps when loosened alone"]:
        page.line(text, "  ", "    ")


def _shut(shut: ShutOut) -> str:
    count = plural(shut.candidates, "candidate")
    alone = f", {shut.alone:,} of them alone" if shut.alone else ""
    what = f"the limit “{shut.reason}”" if shut.kind == "limit" else shut.reason
    return f"{what} ({count}{alone})"


def _assumed(page: _Page, answer: Answer) -> None:
    open_fields = [
        (key, source)
        for key, source in answer.brief_sources.items()
        if source.source != "given" and not key.startswith("wishes.")
    ]
    if not open_fields:
        return
    page.heading("Assumed, as the brief left it open")
    for key, source in open_fields:
        page.line(f"{key} = {_field(answer, key)}: {source.source}, {source.reason}", "  ", "    ")


def _field(answer: Answer, key: str) -> str:
    value: object = answer.brief
    for part in key.split("."):
        value = getattr(value, part)
    if isinstance(value, dict):
        return ", ".join(value)
    if isinstance(value, tuple):
        return ", ".join(f"{v:g}" if isinstance(v, float) else str(v) for v in value) or "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "open" if value is None else f"{value:g}" if isinstance(value, float) else str(value)


def _for(words: Iterable[Words], audience: str) -> list[Words]:
    return [w for w in words if w.audience in ("everyone", audience)]


def _cautions(page: _Page, answer: Answer, audience: str) -> None:
    """All cautions, gathered by topic (the first word of a rule's id)."""
    topics: dict[str, list[str]] = {}
    for word in _for(answer.cautions, audience):
        topics.setdefault(word.id.split("-")[0], []).append(clean(word.text, one_line=True))
    if topics:
        page.heading("Take care")
        for topic, texts in topics.items():
            page.line(f"{topic.capitalize()}: {' '.join(texts)}", "  ", "    ")


def _advice(page: _Page, answer: Answer, audience: str) -> None:
    words = _for(answer.advice, audience)
    if words:
        page.heading("Worth knowing")
        for word in words:
            page.line(clean(word.text, one_line=True), "  - ", "    ")


def _provenance(page: _Page, answer: Answer) -> None:
    p = answer.provenance
    page.gap()
    packs = ", ".join(f"{name} {version}" for name, version in p.packs.items())
    page.line(
        f"Bevelwright {p.version}, rules: {packs}; {plural(p.candidates, 'candidate')} weighed, "
        f"{p.feasible:,} pass every limit. Figures compare shapes and never licence a load."
    )
    for failure in p.failed:
        page.line(f"Left out: {clean(failure, one_line=True)}")
