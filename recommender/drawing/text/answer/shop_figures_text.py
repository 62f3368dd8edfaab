"""What the shop has to know besides the finished dimensions, in words."""

from __future__ import annotations

from recommender.drawing.lengths import Lengths
from recommender.drawing.text.text_page import TextPage
from recommender.mechanics.heat import ground_after_hardening
from recommender.models.answer.proposal import Answer, BevelWidth, WalkedUp


def shop_part(page: TextPage, answer: Answer, lengths: Lengths) -> None:
    """Add edge before hardening, heat, plunge line, soft wheel and the width of the edge bevel."""
    shop, p = answer.shop, answer.proposal
    if shop is None or p is None:
        return
    page.heading("In the shop (~ marks an estimate)")
    if ground_after_hardening(p.stock_thickness_mm):
        page.row("edge before hardening", "stock this thin is hardened as a flat bar and ground afterwards", 26)
    else:
        before = shop.edge_thickness_before_hardening_mm
        finished = f"{lengths(p.edge_thickness_mm)} finished" if p.edge_thickness_mm else "ground to zero afterwards"
        words = f"{lengths(before)}, {finished}"
        if p.one_bevel_mm is not None:
            words = f"{lengths(before - p.edge_thickness_mm)} thicker than finished, on the faces together"
        page.row("edge before hardening", f"~ {words}", 26)
    where = "behind the edge"
    if p.one_bevel_mm is not None or not p.edge_thickness_mm:
        where = f"{lengths(0.5)} up the {'bevel' if p.edge_thickness_mm else 'facet'}"
    page.row(
        "last passes, dry",
        f"~ {shop.deepest_cool_pass_um:.0f} µm at most {where}, dipped before each: some {shop.cool_passes_per_side} "
        "light passes a side; deeper ones draw the temper",
        26,
    )
    page.row("radius at the plunge line", f"~ {lengths(shop.plunge_radius_mm)}", 26)
    if shop.wheel_cuts_like_mm is not None and p.wheel_diameter_mm is not None:
        page.row(
            "soft contact wheel",
            f"~ {lengths(p.wheel_diameter_mm, 0)} of {p.wheel_hardness_shore_a:g} Shore A cuts like a hard one of "
            f"{lengths(shop.wheel_cuts_like_mm, 0)} when pressed by hand",
            26,
        )
    if shop.walked_up is not None:
        page.row("hollow", walked_words(shop.walked_up, lengths), 26)
    if p.one_bevel_mm is None:
        page.row("edge bevel, one angle", _widths(shop.bevel_widths, lengths), 26)


def walked_words(walked: WalkedUp, lengths: Lengths) -> str:
    """How a hollow larger than its wheel is ground."""
    return (
        f"larger than the wheel, part of a round of {lengths(walked.diameter_mm, 0)}: "
        f"~ {walked.passes} passes side by side on each face, "
        f"{lengths(walked.spacing_mm, 1)} apart at most, blended with the next belt"
    )


def _widths(widths: list[BevelWidth], lengths: Lengths) -> str:
    first = widths[0]
    if all(_same(w.new_mm, first.new_mm) and _same(w.after_1_mm, first.after_1_mm) for w in widths):
        return f"{lengths(first.new_mm)} wide all along{_worn(first, lengths)}"
    places = (f"{lengths(w.new_mm)} wide {lengths(w.from_plunge_mm, 0)} along{_worn(w, lengths)}" for w in widths)
    return "; ".join(places)


def _same(one: float | None, other: float | None) -> bool:
    return one == other or (one is not None and other is not None and abs(one - other) < 0.05)


def _worn(w: BevelWidth, lengths: Lengths) -> str:
    return "" if w.after_1_mm is None else f", {lengths(w.after_1_mm)} once sharpened back by {lengths(1.0)}"
