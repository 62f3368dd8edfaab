"""Tip, swedge and distal taper in words, and why."""

from __future__ import annotations

from recommender.drawing.lengths import Lengths
from recommender.drawing.text.text_page import TextPage
from recommender.models.answer.proposal import Answer, Proposal, Reason
from recommender.units import Unit

TIP_WORDS = {
    "straight-back": "straight back",
    "drop": "drop point",
    "clip": "clip point",
    "straight-edge": "straight edge, spine dropping to the tip",
    "trailing": "trailing point",
}
TELLING_POINTS = 1.0
MOST_REASONS = 4
"""What speaks for a form with fewer points, or beyond so many, is left to the JSON."""


def form_words(p: Proposal, lengths: Lengths) -> str:
    """The form of a proposal in one line."""
    parts = [TIP_WORDS.get(p.tip or "", f"{p.tip} tip")]
    if p.swedge is None:
        parts.append("no swedge")
    else:
        s = p.swedge
        parts.append(
            f"swedge {lengths(s.length_mm, 0)} long at {s.angle_per_side_deg:g}° per side "
            f"({s.included_deg(p.side):g}° included), leaving {lengths(s.spine_mm)} of spine, blunt"
        )
    if p.distal_taper:
        at_tip = p.stock_thickness_mm - p.distal_taper * p.blade_length_mm
        parts.append(f"stock tapering from {lengths(p.stock_thickness_mm)} to {lengths(at_tip)} at the tip")
    else:
        parts.append("no distal taper")
    return ", ".join(parts)


def form_part(page: TextPage, answer: Answer, lengths: Lengths) -> None:
    """Add why tip, swedge and taper are as they are."""
    form, p = answer.form, answer.proposal
    if form is None or p is None:
        return
    if form.tried == 1:
        page.line("Tip, swedge and taper are as the brief has them.", "  ", "    ")
        return
    chosen = [r for r in form.reasons if r.points >= TELLING_POINTS and r.metric != "form_removal"][:MOST_REASONS]
    why = f": {'; '.join(_reason(r, answer, lengths) for r in chosen)}" if chosen else ""
    after = f" Next best: {form.next}." if form.next else ""
    page.line(f"Tip and spine, the best of {form.tried} forms{why}.{after}", "  ", "    ")


def _reason(reason: Reason, answer: Answer, lengths: Lengths) -> str:
    if reason.value is None or reason.metric is None or Unit(reason.unit or "1") is Unit.NONE:
        return reason.title.lower()
    metric = answer.metrics[reason.metric]
    mark = "~ " if metric.estimate else ""
    return f"{reason.title.lower()} ({metric.label} {mark}{lengths.figure(reason.value, Unit(metric.unit))})"
