"""The frame of a page and what is written at its foot: what the blade is, for the shop, how to read the drawing."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from recommender import __version__
from recommender.drawing.lengths import Lengths, angle
from recommender.drawing.sheet.dimensions import line
from recommender.drawing.sheet.label_boxes import Box
from recommender.drawing.sheet.lettering import wrapped
from recommender.drawing.text.answer.form_text import form_words
from recommender.drawing.text.answer.parameters_text import behind_edge_value, parameter_rows
from recommender.mechanics.heat import ground_after_hardening
from recommender.models.answer.proposal import Answer, Proposal, Tolerance
from recommender.models.workshop.sheet import Item, Label, Layer, Path
from recommender.text import capital
from recommender.units import ANGLE_STEP_DEG, EDGE_STEP_MM, SIZE_STEP_MM

MARGIN_MM, PADDING_MM = 6.0, 2.5
BLOCK_MM = 39.0
"""Height of the title block."""
_SMALL_MM, _LARGE_MM = 2.9, 4.4
_PITCH_MM = 3.5
_CAPTIONS_MM = 16.5
_FACES = {"both": "both sides", "left": "left side only", "right": "right side only"}
"""Of a blade held edge down and tip forward."""
CONDITION = "finished dimensions, after heat treatment"
CAUTION = (
    "Caution: a finished edge cuts; clamp the blade, keep hands clear. Guard eyes and lungs when grinding. Local law "
    "and licensed practice come first. Figures compare shapes and licence no load."
)
_SHARES = (0.25, 0.3, 0.23, 0.22)
"""Widths of the block's columns."""


@dataclass(frozen=True)
class PageNote:
    """What differs from page to page."""

    number: int
    pages: int
    scales: str


def frame(width_mm: float, height_mm: float) -> tuple[Path, Box]:
    """The line round a page, and the box within."""
    inner = Box(MARGIN_MM, MARGIN_MM, width_mm - MARGIN_MM, height_mm - MARGIN_MM)
    corners = [(inner.left, inner.bottom), (inner.right, inner.bottom), (inner.right, inner.top)]
    points = np.array([(x, y, 0.0) for x, y in [*corners, (inner.left, inner.top)]])
    return Path(points, Layer.FRAME, closed=True), inner


def title_block(answer: Answer, p: Proposal, title: str, note: PageNote, inner: Box, lengths: Lengths) -> list[Item]:
    """Write the four columns at the foot of a page."""
    top = inner.bottom + BLOCK_MM
    items: list[Item] = [line([(inner.left, top), (inner.right, top)], Layer.FRAME)]
    columns = (
        _named(title, p),
        _rows(_blade_rows(answer, p, lengths)),
        _rows(_shop_rows(answer, p, lengths)),
        _rows(_reading_rows(answer, note, lengths)),
    )
    left = inner.left
    for share, column in zip(_SHARES, columns, strict=True):
        right = left + share * inner.width
        if left > inner.left:
            items.append(line([(left, inner.bottom), (left, top)], Layer.FRAME))
        cell = Box(left + PADDING_MM, inner.bottom + 1.5, right - PADDING_MM, top - 1.0)
        items += column.placed(cell)
        left = right
    return items


@dataclass(frozen=True)
class _Column:
    """Rows of a cell: caption, words, size, bold, most lines; without a caption the words take the whole width."""

    rows: tuple[tuple[str, str, float, bool, int], ...]

    def placed(self, cell: Box) -> Iterator[Item]:
        y = cell.top
        for caption, words, size, bold, most in self.rows:
            left = cell.left + (_CAPTIONS_MM if caption else 0.0)
            pitch = _PITCH_MM * size / _SMALL_MM
            room = int((y - cell.bottom) / pitch + 1e-6)
            lines = wrapped(words, cell.right - left, size, most=min(most, room), bold=bold) if room > 0 else []
            if caption and lines:
                yield Label(cell.left, y - 0.8 * pitch, caption, _SMALL_MM, Layer.DIMENSION)
            for text in lines:
                yield Label(left, y - 0.8 * pitch, text, size, bold=bold)
                y -= pitch
            y -= 0.25


def _rows(rows: Sequence[tuple[str, str]]) -> _Column:
    return _Column(tuple((caption, words, _SMALL_MM, False, 5) for caption, words in rows))


def _named(title: str, p: Proposal) -> _Column:
    return _Column(
        (
            ("", title, _LARGE_MM, True, 2),
            ("", f"{capital(p.grind_label)} grind, {_FACES[p.side]}", 3.6, True, 2),
            ("", CAUTION, _SMALL_MM, False, 4),
        )
    )


def _blade_rows(answer: Answer, p: Proposal, lengths: Lengths) -> list[tuple[str, str]]:
    steel = answer.brief.steel
    hardness = f" at {steel.hardness_hrc:g} HRC" if steel.hardness_hrc is not None else ""
    high = lengths(p.blade_height_mm, 1)
    return [
        ("steel", f"{(steel.grade or '').upper()}{hardness}"),
        ("blade", f"{lengths(p.stock_thickness_mm)} stock, {high} high, {lengths(p.blade_length_mm, 1)} long"),
        ("edge", angle(p.edge_angle_per_side_deg, p.edge_angle_included_deg)),
        ("behind edge", behind_edge_value(p, lengths)),
        *([("micro-bevel", _micro_bevel(p, p.micro_bevel_per_side_deg))] if p.micro_bevel_per_side_deg else []),
        ("grind line", _grind_line(p, lengths)),
        *parameter_rows(p, lengths),
        ("tip, spine", form_words(p, lengths)),
    ]


def _micro_bevel(p: Proposal, per_side_deg: float) -> str:
    return angle(per_side_deg, per_side_deg * (2 if p.side == "both" else 1))


def _grind_line(p: Proposal, lengths: Lengths) -> str:
    if p.grind_line_below_spine_mm < 1e-6:
        return "none: ground up to the spine"
    return lengths.grind_line(p.grind_line_mm, p.grind_line_below_spine_mm)


def _shop_rows(answer: Answer, p: Proposal, lengths: Lengths) -> list[tuple[str, str]]:
    rows = [("condition", CONDITION)]
    if p.wheel_diameter_mm is not None:
        soft = f", {p.wheel_hardness_shore_a:g} Shore A" if p.wheel_hardness_shore_a else ""
        rows.append(("wheel", f"{lengths(p.wheel_diameter_mm, 0)} across{soft}"))
    shop = answer.shop
    if shop is None:
        return rows
    if p.wheel_diameter_mm is not None and shop.wheel_cuts_like_mm is not None:
        rows.append(("", f"pressed by hand it cuts like a hard one of {lengths(shop.wheel_cuts_like_mm, 0)}"))
    if shop.walked_up is not None:
        rows.append(("", f"walked up to a round of {lengths(shop.walked_up.diameter_mm, 0)}"))
    if ground_after_hardening(p.stock_thickness_mm):
        rows.append(("before heat", "stock this thin is hardened as a flat bar and ground afterwards"))
    else:
        left = shop.edge_thickness_before_hardening_mm
        where = f"{lengths(left)} at the edge"
        if p.one_bevel_mm is not None:
            where = f"{lengths(left - p.edge_thickness_mm)} on the faces together"
        rows.append(("before heat", f"leave ~ {where}"))
    rows.append(("last passes", f"dry, ~ {shop.deepest_cool_pass_um:.0f} µm at most, dipped before each"))
    rows.append(("plunge line", f"radius ~ {lengths(shop.plunge_radius_mm)}"))
    rows.append(("", "~ marks an estimate"))
    return rows


def _reading_rows(answer: Answer, note: PageNote, lengths: Lengths) -> list[tuple[str, str]]:
    units = "inches and degrees" if lengths.inches else "millimetres and degrees"
    return [
        ("sheet", f"{note.number} of {note.pages}"),
        ("made with", f"Bevelwright {__version__}"),
        ("scales", note.scales),
        ("units", units),
        ("tolerances", _tolerances(answer, lengths)),
    ]


def _tolerances(answer: Answer, lengths: Lengths) -> str:
    """The shop's usual errors as the answer has them, its steps where it has none."""
    found = {t.dimension: t for t in answer.tolerances}
    edge = answer.proposal is not None and answer.proposal.edge_thickness_mm > 0
    edge = edge and answer.proposal is not None and answer.proposal.one_bevel_mm is None

    def band(name: str, usual: float, write: Callable[[float], str], unit: str) -> str:
        """Where the blade has no room to one side, none is given there: as the set-up sheet says."""
        over, under = _room(found.get(name), usual)
        return (f"±{write(over)}" if over == under else f"+{write(over)}/−{write(under)}") + unit

    def number(value: float) -> str:
        return f"{value:g}"

    unit = f" {lengths.unit}"
    parts = [
        f"edge angle {band('edge_angle_per_side_deg', ANGLE_STEP_DEG, number, '°')} per side",
        *([f"behind the edge {band('edge_thickness_mm', EDGE_STEP_MM, lengths.bare, unit)}"] if edge else []),
        f"grind line, other lengths {band('grind_line_mm', SIZE_STEP_MM, lengths.bare, unit)}",
    ]
    if "stock_thickness_mm" in found:
        parts.insert(2, f"stock {band('stock_thickness_mm', SIZE_STEP_MM, lengths.bare, unit)}")
    return ", ".join(parts)


def _room(tolerance: Tolerance | None, usual: float) -> tuple[float, float]:
    """How far over and under a dimension may come out: the shop's usual error, no more than there is room for.

    Without room either way the usual error stands: nobody can grind closer.
    """
    if tolerance is None:
        return usual, usual
    error = tolerance.error
    over, under = (error if room is None else min(error, room) for room in (tolerance.room_over, tolerance.room_under))
    return (over, under) if over or under else (error, error)
