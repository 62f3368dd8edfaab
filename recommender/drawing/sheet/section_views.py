"""Sections with their dimensions, and the edge enlarged."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from recommender.drawing.blade_view import Station
from recommender.drawing.lengths import Lengths, angle, degrees
from recommender.drawing.pdf_font import text_width_mm
from recommender.drawing.sheet.dimensions import SIZE_MM, Dimensions, line
from recommender.drawing.sheet.side_view import HEADING_MM
from recommender.geometry.hollowed_back import back_hollow
from recommender.geometry.outline import Outline, Sides
from recommender.geometry.profile import clipped, faces_at, half_angles
from recommender.models.answer.proposal import Proposal
from recommender.models.workshop.sheet import Item, Label, Layer, Path, View, scale_words

_SMALLEST_RADIUS_GAP_MM = 5.0
"""Between two leaders on paper."""
_WORD_GAP_MM = 2.0


def section_path(outline: Outline) -> Path:
    """A section (v, 3) as a closed path; vertices that lie on each other are one."""
    ahead = np.roll(outline[:, :2], -1, axis=0)
    apart = np.hypot(*(ahead - outline[:, :2]).T) > 1e-9
    return Path(outline[apart], Layer.OUTLINE, closed=True, filled=True)


def hollow_of(outline: Outline, *, left: bool = False) -> tuple[float, tuple[float, float]] | None:
    """Radius of the longest hollow arc of a face and its middle, mm; None where the face has none."""
    sides = Sides.of(outline)
    spine = int(sides.spine_side[0])
    index = np.arange(outline.shape[0])
    face = index > spine if left else index < spine
    bulge, chord = sides.bulge[0], sides.chord[0]
    found = np.flatnonzero(face & (bulge < -1e-9) & (chord > 1e-6))
    if not found.size:
        return None
    k = int(found[np.argmax(chord[found])])
    b = float(bulge[k])
    x0, y0, x1, y1 = (float(v[0, k]) for v in (sides.x0, sides.y0, sides.x1, sides.y1))
    middle = ((x0 + x1) / 2 + b * (y1 - y0) / 2, (y0 + y1) / 2 - b * (x1 - x0) / 2)
    return float(chord[k]) * (1 + b * b) / (4 * abs(b)), middle


@dataclass(frozen=True)
class _Ground:
    """Where a section stands and which of its sides is ground: dimensions go on the other, leaders on this."""

    station: Station
    p: Proposal
    scale: float
    lengths: Lengths

    @property
    def out(self) -> float:
        """1 where leaders go to the right, -1 to the left."""
        return -1.0 if self.p.side == "left" else 1.0

    @cached_property
    def dimensions(self) -> Dimensions:
        return Dimensions(self.scale)

    def mm(self, on_paper_mm: float) -> float:
        """A length on paper in mm of the blade."""
        return on_paper_mm / self.scale

    def ends(self, outline: Outline) -> tuple[float, float]:
        """Lowest and highest x."""
        return float(outline[:, 0].min()), float(outline[:, 0].max())

    def note(self, at: tuple[float, float], end_x: float, end_y: float, text: str) -> list[Item]:
        return self.dimensions.leader(at, (end_x, end_y), text, "start" if self.out > 0 else "end")

    def heading(self, x: float, y: float, name: str) -> tuple[Label, Label]:
        """A name and the scale beside it, together about x."""
        scale = scale_words(self.scale)
        widths = [text_width_mm(text, HEADING_MM, bold=True) for text in (name, scale)]
        start = x - self.mm(sum(widths) + _WORD_GAP_MM) / 2
        beside = start + self.mm(widths[0] + _WORD_GAP_MM)
        return Label(start, y, name, HEADING_MM, bold=True), Label(beside, y, scale, HEADING_MM, bold=True)

    def caption(self, x: float, y: float, *lines: str) -> Iterator[Label]:
        """Lines below each other under a heading."""
        for k, text in enumerate(lines):
            yield Label(x, y - self.mm(4.6 * (k + 1)), text, SIZE_MM, anchor="middle")


class _Section(_Ground):
    def named(self, letter: str) -> tuple[Label, Label]:
        """Heading below the section, and its scale."""
        centre = sum(self.ends(self.station.outline)) / 2
        return self.heading(centre, -self.mm(7.0), f"{letter}  {self.station.label}".strip())

    def items(self, letter: str) -> Iterator[Item]:
        station, bare = self.station, self.lengths.bare
        low, high = self.ends(station.outline)
        yield section_path(station.outline)
        if self.p.side == "both":
            yield line([(0.0, -self.mm(2.0)), (0.0, station.height_mm + self.mm(2.5))], Layer.CENTRE, dashed=True)
        feet = tuple(float(station.outline[station.outline[:, 0] == x, 1].max()) for x in (low, high))
        over = station.height_mm + self.mm(4.5)
        if not self.dimensions.holds(station.line_mm, bare(station.line_mm, 1)):  # then it stands above its line
            over = max(over, station.line_mm + self.mm(_STANDING_MM))
        yield from self.dimensions.across(low, high, over, bare(high - low), feet=(feet[0], feet[1]))
        yield from self.heights(low if self.out > 0 else high)
        yield from self.notes(high if self.out > 0 else low)
        where = f"{self.lengths(station.from_plunge_mm, 1)} from the plunge line" if letter else "finished section"
        yield from self.caption((low + high) / 2, -self.mm(7.0), where)

    def heights(self, foot: float) -> Iterator[Item]:
        """Grind line above the edge and below the spine, and the whole height."""
        station, bare = self.station, self.lengths.bare
        near, far = foot - self.out * self.mm(7.0), foot - self.out * self.mm(13.5)
        whole = bare(station.height_mm, 1)
        if station.line_mm >= station.height_mm - 1e-6:
            yield from self.dimensions.upright(0.0, station.height_mm, near, whole, feet=(0.0, foot))
            return
        up, holds = self.dimensions.upright, self.dimensions.holds
        line_mm, above_mm = station.line_mm, station.height_mm - station.line_mm
        beside = near
        if not holds(line_mm, bare(line_mm, 1)) and not holds(above_mm, bare(above_mm, 1)):
            beside, far = far, far - self.out * self.mm(6.5)  # both figures stand above: not in one another's place
        yield from up(0.0, line_mm, near, bare(line_mm, 1), feet=(0.0, foot))
        yield from up(line_mm, station.height_mm, beside, bare(above_mm, 1), feet=(foot, foot))
        yield from up(0.0, station.height_mm, far, whole, feet=(near, near))

    def notes(self, outermost: float) -> Iterator[Item]:
        """Thickness behind the edge, and the radius of a hollow."""
        station = self.station
        x = outermost + self.out * self.mm(4.0)
        edge_y = max(station.shoulder_mm, self.mm(1.5))
        if station.shoulder_mm:
            faces = faces_at(station.outline, station.shoulder_mm)
            at, words = (
                (float(faces[1 if self.out > 0 else 0]), station.shoulder_mm),
                self.lengths.bare(station.edge_thickness_mm),
            )
            yield from self.note(at, x, edge_y, f"edge {words}")
        else:
            yield from self.note((0.0, 0.0), x, edge_y, "one bevel" if station.one_bevel else "to zero")
        hollow = hollow_of(station.outline, left=self.out < 0)
        if hollow is not None:
            radius, middle = hollow
            y = max(middle[1], edge_y + self.mm(_SMALLEST_RADIUS_GAP_MM))
            yield from self.note(middle, x, y, f"R {self.lengths.bare(radius, 1)}")
        back = back_hollow(station.outline)
        if back is not None:
            y = max(edge_y + self.mm(_SMALLEST_RADIUS_GAP_MM), station.height_mm / 2)
            words = f"back R {self.lengths.bare(back.radius_mm, 0)}, {self.lengths.bare(back.depth_mm)} deep"
            yield from self.note((self.out * back.depth_mm, station.height_mm / 2), x, y, words)


def section_view(station: Station, letter: str, p: Proposal, scale: float, lengths: Lengths) -> View:
    """Draw a section upright, edge down, as seen from the handle, with its dimensions."""
    drawing = _Section(station, p, scale, lengths)
    name, at_scale = drawing.named(letter)
    return View(f"section {letter}".strip(), scale, (*drawing.items(letter), name), paper_only=(at_scale,))


_STANDING_MM = 20.0
"""On paper, above the grind line: what a figure takes up that has no room below it."""
_RAY_MM, _SIDE_ARC_MM, _WHOLE_ARC_MM = 17.0, 9.5, 14.5
"""On paper, below the apex: how far the bevels are drawn on, and the arcs of both angles."""


class _Edge(_Ground):
    def items(self, shown_mm: float) -> Iterator[Item]:
        cut = clipped(self.station.outline[None], np.array([shown_mm]))[0]
        low, high = self.ends(cut)
        yield section_path(cut)
        yield from self.broken_off(cut, shown_mm)
        if self.station.shoulder_mm:
            yield from self.shoulder(low, high)
        else:
            x = (high if self.out > 0 else low) + self.out * self.mm(4.0)
            words = "one bevel, no shoulder" if self.station.one_bevel else "ground to zero"
            yield from self.note((0.0, 0.0), x, self.mm(3.0), words)
        yield from self.angles()
        shown = f"the first {self.lengths(shown_mm, 1)}"
        micro = self.p.micro_bevel_per_side_deg is not None
        facet = angle(self.p.edge_angle_per_side_deg, self.p.edge_angle_included_deg)
        behind = "facet" if self.p.micro_bevel_thickness_mm in (None, self.p.edge_thickness_mm) else "edge bevel"
        centre, y = (low + high) / 2, -self.mm(28.0)
        yield from self.heading(centre, y, f"Edge {self.station.label}")
        yield from self.caption(centre, y, f"{shown}; {behind} {facet}" if micro else shown)

    def broken_off(self, cut: Outline, shown_mm: float) -> Iterator[Path]:
        """A break line where the blade goes on."""
        top = cut[cut[:, 1] >= shown_mm * (1 - 1e-9), 0]
        low, high, reach = float(top.min()), float(top.max()), self.mm(2.0)
        middle, wave = (low + high) / 2, self.mm(1.2)
        points = [(low - reach, 0.0), (middle - wave, 0.0), (middle - wave / 2, wave), (middle + wave / 2, -wave)]
        points += [(middle + wave, 0.0), (high + reach, 0.0)]
        yield line([(x, shown_mm + self.mm(1.8) + dy) for x, dy in points])

    def shoulder(self, low: float, high: float) -> Iterator[Item]:
        """Thickness behind the edge and how far up it is measured."""
        station, bare = self.station, self.lengths.bare
        y = station.shoulder_mm
        left, right = (float(x) for x in faces_at(station.outline, y))
        yield from self.dimensions.across(left, right, y, bare(station.edge_thickness_mm), feet=(y, y))
        foot = min(low, -self.mm(8.0)) - self.mm(6.0)
        yield from self.dimensions.upright(0.0, y, foot, bare(y), feet=(0.0, left - self.mm(6.0)))

    def angles(self) -> Iterator[Item]:
        """The bevels drawn on past the apex, where there is room to write their angle both ways."""
        left, right = (math.degrees(float(a)) for a in half_angles(self.station.outline, 0.0))
        for turn, dashed in ((-right, False), (left, False), (0.0, True)):
            towards = math.radians(270.0 + turn)
            end = (self.mm(_RAY_MM) * math.cos(towards), self.mm(_RAY_MM) * math.sin(towards))
            yield line([(0.0, 0.0), end], Layer.CENTRE if dashed else Layer.DIMENSION, dashed=dashed)
        yield from self.dimensions.angle(_WHOLE_ARC_MM, 270.0 - right, 270.0 + left)
        micro = self.p.micro_bevel_per_side_deg
        per_side, included = self.p.edge_angle_per_side_deg, self.p.edge_angle_included_deg
        if micro is not None:
            per_side, included = micro, (2 * micro if self.p.side == "both" else micro)
        named = "micro-bevel " if micro is not None else ""
        on_right = left > right / 2
        turn = left if on_right else right
        yield from self.dimensions.angle(_SIDE_ARC_MM, *((270.0, 270.0 + left) if on_right else (270.0 - right, 270.0)))
        x = (_SIDE_ARC_MM * math.tan(math.radians(turn)) + 5.5) * (1 if on_right else -1)
        words = f"{named}{degrees(per_side)} per side"
        beside = -self.mm(_SIDE_ARC_MM + 1.0)
        yield Label(self.mm(x), beside, words, SIZE_MM, Layer.DIMENSION, "start" if on_right else "end")
        words = f"{named}{degrees(included)} included"
        yield Label(0.0, -self.mm(_RAY_MM + 5.0), words, SIZE_MM, Layer.DIMENSION, "middle")


def edge_view(station: Station, p: Proposal, scale: float, shown_mm: float, lengths: Lengths) -> View:
    """Draw the first `shown_mm` of a section enlarged, with edge angle (both ways), thickness and shoulder."""
    items = tuple(_Edge(station, p, scale, lengths).items(shown_mm))
    return View("edge", scale, items, enlarged=True)
