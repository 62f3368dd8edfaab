"""What a blade in the hand suits, and what a regrind would bring, in words and as data."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from recommender.drawing.lengths import Lengths, angle
from recommender.drawing.page import Page
from recommender.engine.in_hand import Regrind, Regrinds, Suit

WORTH_POINTS = 2.0
"""A regrind that brings less is not worth the steel."""
SHOWN = 3


def in_hand_json(suited: Sequence[Suit] | None, regrinds: Regrinds | None) -> dict[str, Any]:
    """Plain data; None where the blade is not known."""
    if suited is None or regrinds is None:
        return {"suits": None, "regrinds": None}
    return {
        "suits": [
            {"task": s.task, "label": s.label, "fit": s.fit, "verdict": s.verdict, "breaks": list(s.breaks)}
            for s in suited
        ],
        "regrinds": {
            "tasks": regrinds.tasks,
            "points": regrinds.points,
            "breaks": list(regrinds.breaks),
            "options": [
                {
                    "back_mm": r.back_mm,
                    "points": r.points,
                    "gain": r.gain,
                    "proposal": r.proposal.model_dump(mode="json"),
                }
                for r in regrinds.options
            ],
        },
    }


def in_hand_text(suited: Sequence[Suit], regrinds: Regrinds, *, width: int = 80, inches: bool = False) -> str:
    """Write what the blade suits and does not, and the regrinds that would bring the most."""
    page, lengths = Page(width), Lengths(inches)
    page.heading("What it suits (~ estimates; in a usual steel for each task unless --set names one)")
    for verdict in ("well", "fairly"):
        listed = [f"{s.label} {100 * s.fit:.0f} %" for s in suited if s.verdict == verdict]
        if listed:
            page.row(verdict, ", ".join(listed), 8)
    bad = [s for s in suited if s.verdict == "badly"]
    for k, s in enumerate(bad):
        why = f"breaks “{s.breaks[0]}”" if s.breaks else f"only {100 * s.fit:.0f} %"
        page.row("not" if k == 0 else "", f"{s.label}: {why}", 8)
    tasks = ", ".join(regrinds.tasks)
    broken = f", and breaks “{'”, “'.join(regrinds.breaks)}”" if regrinds.breaks else ""
    page.heading(f"What a regrind would bring for {tasks} (it has ~ {regrinds.points:.0f} points now{broken})")
    worth = [r for r in regrinds.options if r.gain >= WORTH_POINTS or regrinds.breaks]
    if not worth:
        page.line("Nothing worth the steel: sharpen it and leave the grind alone.", "  ", "    ")
    for r in worth[:SHOWN]:
        page.line(_regrind(r, lengths), "  ", "    ")
    if worth:
        page.line(
            "Grind cool, light passes, dipped often: the temper is in it already. Eyes and lungs covered.", "  ", "    "
        )
    return page.text()


def _regrind(r: Regrind, lengths: Lengths) -> str:
    p = r.proposal
    back = f", the edge set back {lengths(r.back_mm)} first" if r.back_mm else ""
    edge = angle(p.edge_angle_per_side_deg, p.edge_angle_included_deg)
    thick = f"{lengths(p.edge_thickness_mm)} behind the edge" if p.edge_thickness_mm else "ground to zero"
    wheel = f", {lengths(p.wheel_diameter_mm, 0)} wheel" if p.wheel_diameter_mm is not None else ""
    return (
        f"{p.grind_label}: {r.gain:+.1f} points; {edge}, {thick}, line {lengths(p.grind_line_mm, 1)} above the edge"
        f"{wheel}{back}."
    )
