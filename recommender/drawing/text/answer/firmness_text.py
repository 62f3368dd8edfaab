"""How firm an answer is, in words: what would make another grind the answer, and how closely it must be kept."""

from __future__ import annotations

from collections.abc import Sequence

from recommender.drawing.lengths import Lengths
from recommender.drawing.text.answer.summary_text import as_good
from recommender.drawing.text.text_page import TextPage
from recommender.models.answer.proposal import (
    FLIP_KINDS,
    UNGROUND,
    Answer,
    Confidence,
    Flip,
    Proposal,
    Tolerance,
    Tried,
)
from recommender.text import plural
from recommender.units import Unit

IN_SHORT = 2
"""Changes named on one screen."""
LISTED = 3
"""Changes named of each kind towards one grind; the rest are counted, and all are in the JSON."""


def flips_part(page: TextPage, answer: Answer) -> None:
    """Add what would change the grind, one change at a time, and what would not."""
    if not answer.tried:
        return
    page.heading(f"What would change the grind (one thing changed; points: its lead over {_label(answer)} then)")
    for kind, label in FLIP_KINDS.items():
        flips = [f for f in answer.flips if f.kind == kind]
        if flips:
            page.row(label, _by_grind(flips), 10)
    firm = [t for t in answer.tried if t.held == t.tried]
    if firm:
        page.row("no change", "; ".join(_held(t) for t in firm), 10)


def flips_in_short(answer: Answer) -> str:
    """The nearest change of each of the first kinds that would make another grind the answer, in one sentence.

    No news is that a shop without a platen grinds nothing flat, that of two as good the other comes first, or that
    nothing fits: that is no other grind.
    """
    equal = {None, *(other.grind for other in as_good(answer))}
    news = [f for f in answer.flips if f.grind not in equal and not (f.kind == "workshop" and f.lead is None)]
    first = [next((f for f in news if f.kind == kind), None) for kind in FLIP_KINDS]
    named = [f"{f.words} ({f.grind_label})" for f in first if f is not None]
    if not named and answer.flips:
        return f"Little would make it another grind: {plural(len(answer.flips), 'change')} under --what-if."
    if not named:
        return "No single change that was tried makes another grind the answer."
    more = len(answer.flips) - len(named[:IN_SHORT])
    return f"What would make it another grind: {'; '.join(named[:IN_SHORT])}" + (
        f"; {more} more under --what-if." if more else "."
    )


def _label(answer: Answer) -> str:
    return answer.proposal.grind_label if answer.proposal is not None else "this"


def _by_grind(flips: Sequence[Flip]) -> str:
    parts = []
    for grind in dict.fromkeys(f.grind_label for f in flips):
        towards = [f for f in flips if f.grind_label == grind]
        named = ", ".join(f.words + _lead(f) for f in towards[:LISTED])
        more = f" and {len(towards) - LISTED} more" if len(towards) > LISTED else ""
        parts.append(f"{grind or 'nothing fits'} {named}{more}")
    return "; ".join(parts)


def _lead(flip: Flip) -> str:
    return "" if flip.lead is None else f" (by {flip.lead:.1f} points)"


def _held(tried: Tried) -> str:
    return f"hardness {tried.words}" if tried.kind == "hardness" else tried.words


def dimension_bands_words(p: Proposal, sure: Confidence, lengths: Lengths) -> str:
    """Dimensions that other numbers would move, and how far; "" where nothing was drawn."""
    bands = {key: band for key, band in sure.dimensions.items() if band.high > band.low}
    if not sure.dimensions:
        return ""
    if not bands:
        return "Dimensions: known numbers would move none of them by a shop step."
    parts = []
    if "edge_angle_per_side_deg" in bands and "edge_angle_included_deg" in bands:
        each, both = bands["edge_angle_per_side_deg"], bands["edge_angle_included_deg"]
        parts.append(f"edge {each.low:g}° to {each.high:g}° per side ({both.low:g}° to {both.high:g}° included)")
    shown = [key for key in _BANDED if key in bands and not (key == "edge_thickness_mm" and p.one_bevel_mm is not None)]
    parts += [f"{_BANDED[key]} {lengths(bands[key].low)} to {lengths(bands[key].high)}" for key in shown]
    for key, knob in p.own_parameters.items():
        if key in bands:
            low, high = (lengths.figure(value, Unit(knob.unit)) for value in (bands[key].low, bands[key].high))
            parts.append(f"{knob.label or key} {low} to {high}")
    return f"Dimensions: in 90 of 100 such draws the best {p.grind_label} has {', '.join(parts)}."


_BANDED = {
    "edge_thickness_mm": "behind the edge",
    "grind_line_mm": "grind line above the edge",
    "stock_thickness_mm": "stock",
    "blade_height_mm": "height",
    "wheel_diameter_mm": "contact wheel",
}
"""Dimensions whose bands are told, and what they are called there."""


def tolerances_part(page: TextPage, tolerances: Sequence[Tolerance], lengths: Lengths) -> None:
    """Add how closely each dimension must be kept, the tightest named first."""
    if not tolerances:
        return
    page.heading("How closely to keep it (what the shop's usual error costs)")
    for k, t in enumerate(tolerances):
        page.row(t.label, ("the tightest: " if k == 0 else "") + _tolerance(t, lengths), 26)


def _tolerance(t: Tolerance, lengths: Lengths) -> str:
    unit = Unit(t.unit)
    error = lengths.figure(t.error, unit)
    cost = f"{t.points_lost:.1f} points" if t.points_lost >= 0.05 else "next to nothing"
    text = f"{error} {t.worse} costs {cost}"
    if UNGROUND in t.breaks:
        text = f"{error} {t.worse} and {UNGROUND}"
    elif t.breaks:
        text += " and breaks " + " and ".join(f"“{title}”" for title in t.breaks)
    if t.moves is not None and t.moves.proposed is not None and t.moves.then is not None:
        shown = (lengths.figure(value, Unit(t.moves.unit)) for value in (t.moves.proposed, t.moves.then))
        text += f" ({t.moves.label} {' to '.join(shown)})"
    rooms = ((t.room_under, "under"), (t.room_over, "over"))
    room = [
        f"{lengths.figure(value, unit)} {side}" if value else f"none {side}"
        for value, side in rooms
        if value is not None
    ]
    text += f"; room: {', '.join(room)}" if room else ""
    if t.room_under == 0.0 and t.room_over != 0.0:
        text += f" (aim {error} over)"
    elif t.room_over == 0.0 and t.room_under != 0.0:
        text += f" (aim {error} under)"
    return text
