"""What a blade in the hand suits, and what a regrind would bring, in words and as data."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from recommender.drawing.lengths import Lengths, angle
from recommender.drawing.text.answer.parameters_text import behind_edge, micro_bevel_words, parameter_words
from recommender.drawing.text.text_page import TextPage
from recommender.engine.answer.explain import failed_demands
from recommender.engine.identify.existing_blade import Regrind, Regrinds, Suit

WORTH_POINTS = 2.0
"""A regrind that brings less is not worth the steel."""
PER_MM_POINTS = 1.5
"""What a millimetre of blade set back has to bring besides."""
MENDING_POINTS = 8.0
"""What mending a broken limit may cost where no steel is lost."""
SHOWN = 3


def in_hand_json(suited: Sequence[Suit] | None, regrinds: Regrinds | None) -> dict[str, Any]:
    """Plain data; None where the blade is not known."""
    if suited is None:
        return {"suits": None, "regrinds": None}
    return {
        "suits": [
            {"task": s.task, "label": s.label, "fit": s.fit, "verdict": s.verdict, "breaks": list(s.breaks)}
            for s in suited
        ],
        "regrinds": None
        if regrinds is None
        else {
            "tasks": regrinds.tasks,
            "points": regrinds.points,
            "breaks": list(regrinds.breaks),
            "costs": [cost.model_dump(mode="json") for cost in regrinds.costs],
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


def in_hand_text(suited: Sequence[Suit], regrinds: Regrinds | None, *, width: int = 80, inches: bool = False) -> str:
    """Write what the blade suits and does not, and the regrinds that would bring the most."""
    lengths = Lengths(inches)
    page = TextPage(width, lengths)
    page.heading("What it suits (~ estimates; in a usual steel for each task unless --set names one)")
    for verdict in ("well", "fairly"):
        listed = [f"{s.label} {100 * s.fit:.0f} %" for s in suited if s.verdict == verdict]
        if listed:
            page.row(verdict, ", ".join(listed), 8)
    reasons: dict[str, list[str]] = {}
    for s in (s for s in suited if s.verdict == "poorly"):
        short = f"short of “{s.served.short_of[0]}”" if s.served.short_of else ""
        reasons.setdefault(f"breaks “{s.breaks[0]}”" if s.breaks else short, []).append(
            s.label if s.breaks else f"{s.label} {100 * s.fit:.0f} %"
        )
    for k, (why, labels) in enumerate(reasons.items()):
        page.row("not" if k == 0 else "", ", ".join(labels) + (f": {why}" if why else ""), 8)
    if regrinds is None:
        page.heading("Which regrind would bring the most depends on which grind it is: settle that first.")
        return page.text()
    tasks = ", ".join(regrinds.tasks)
    broken = f", and breaks “{'”, “'.join(regrinds.breaks)}”" if regrinds.breaks else ""
    page.heading(f"What a regrind would bring for {tasks} (it has ~ {regrinds.points:.0f} points now{broken})")
    for words in failed_demands(regrinds.costs):
        page.line(str(words.short), "  ", "    ")
    worth = [r for r in regrinds.options if _worth(r, bool(regrinds.breaks))]
    if not worth:
        page.line("Nothing worth the steel: sharpen it and leave the grind alone.", "  ", "    ")
    for r in worth[:SHOWN]:
        page.line(_regrind(r, lengths), "  ", "    ")
    if worth:
        page.line(
            "Grind cool, light passes, dipped often: the temper is in it already. Eyes and lungs covered.", "  ", "    "
        )
    return page.text()


def _worth(r: Regrind, mends: bool) -> bool:
    """A regrind that pays for its steel; where the blade breaks a limit now, one that mends it at little cost."""
    if mends:
        return r.gain >= (0.0 if r.back_mm else -MENDING_POINTS)
    return r.gain >= WORTH_POINTS + PER_MM_POINTS * r.back_mm


def _regrind(r: Regrind, lengths: Lengths) -> str:
    p = r.proposal
    back = f", the edge set back {lengths(r.back_mm)} first, which is gone" if r.back_mm else ""
    edge = angle(p.edge_angle_per_side_deg, p.edge_angle_included_deg)
    thick = behind_edge(p, lengths)
    thick += f", micro-bevel {words}" if (words := micro_bevel_words(p)) else ""
    own = parameter_words(p, lengths)
    wheel = f", {lengths(p.wheel_diameter_mm, 0)} wheel" if p.wheel_diameter_mm is not None else ""
    return (
        f"{p.grind_label}: {r.gain:+.1f} points; {edge}, {thick}, line {lengths(p.grind_line_mm, 1)} above the edge"
        f"{wheel}{f', {own}' if own else ''}{back}."
    )
