"""The side view of a blade with every line on it, its stations and its balance point."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from recommender.drawing.blade_view import BladeView
from recommender.drawing.lengths import Lengths
from recommender.drawing.pdf_font import text_width_mm
from recommender.drawing.sheet.dimensions import ARROW_MM, SIZE_MM, Dimensions, line
from recommender.models.answer.proposal import Proposal
from recommender.models.workshop.sheet import Item, Label, Layer, Path, Points, View, scale_words

HEADING_MM = 3.8
STATION_LETTERS = "ABC"
_STUB_MM = 11.0
"""How much of the bar behind the plunge line is shown, on paper."""
_SYMBOL_MM = 1.7
"""Radius of the balance point's sign."""
_ROW_MM = 6.6
"""Between rows of dimensions."""


def side_view(view: BladeView, p: Proposal, scale: float, lengths: Lengths, *, balance_mm: float | None) -> View:
    """Draw a blade's side view, edge down; a blade ground on its left alone is seen from there, tip to the left."""
    drawing = _SideView(view, p, scale, lengths, balance_mm)
    name, at_scale = drawing.heading()
    return View("side view", scale, (*drawing.items(), name, *drawing.key(at_scale)), paper_only=(at_scale,))


@dataclass(frozen=True)
class _SideView:
    view: BladeView
    p: Proposal
    scale: float
    lengths: Lengths
    balance_mm: float | None

    @property
    def sense(self) -> float:
        """1 where x runs right; -1 on a blade seen from its left."""
        return -1.0 if self.p.side == "left" else 1.0

    @property
    def top(self) -> float:
        return float(self.view.spine_mm.max())

    @property
    def low(self) -> float:
        return float(self.view.edge_mm.min())

    @cached_property
    def dimensions(self) -> Dimensions:
        return Dimensions(self.scale)

    def mm(self, on_paper_mm: float) -> float:
        """A length on paper in mm of the blade."""
        return on_paper_mm / self.scale

    def curve(self, x: Points, y: Points, layer: Layer, *, dashed: bool = False, filled: bool = False) -> Path:
        points = np.stack([self.sense * x, y, np.zeros_like(x)], axis=1)
        return Path(points, layer, dashed=dashed, filled=filled)

    def upright(self, x: float, low: float, high: float, layer: Layer, *, dashed: bool = False) -> Path:
        return line([(self.sense * x, low), (self.sense * x, high)], layer, dashed=dashed)

    def heights(self, x: float) -> tuple[float, float]:
        """Edge and spine at x."""
        view = self.view
        return float(np.interp(x, view.x_mm, view.edge_mm)), float(np.interp(x, view.x_mm, view.spine_mm))

    def items(self) -> Iterator[Item]:
        """Everything, the blade itself first."""
        yield from self.blade()
        yield from self.lines()
        yield from self.stations()
        yield from self.balance()
        yield from self.measures()

    def blade(self) -> Iterator[Path]:
        """Edge, tip and spine as one line; the bar goes on behind the plunge line up to a break."""
        view = self.view
        x = np.concatenate([view.x_mm, view.x_mm[-2::-1]])
        yield self.curve(x, np.concatenate([view.edge_mm, view.spine_mm[-2::-1]]), Layer.OUTLINE, filled=True)
        stub, edge, spine = self.mm(_STUB_MM), float(view.edge_mm[0]), float(view.spine_mm[0])
        for y in (edge, spine):
            yield line([(0.0, y), (-self.sense * stub, y)], Layer.OUTLINE)
        middle, wave = (edge + spine) / 2, self.mm(1.5)
        kink = [(0.0, edge), (0.0, middle - wave), (wave, middle - wave / 2), (-wave, middle + wave / 2)]
        points = [*kink, (0.0, middle + wave), (0.0, spine)]
        yield line([(-self.sense * (stub + dx), y) for dx, y in points], Layer.DIMENSION)

    def lines(self) -> Iterator[Item]:
        """Grind line, plunge line with its radius, transition lines, swedge."""
        view = self.view
        edge, spine = float(view.edge_mm[0]), float(view.spine_mm[0])
        # At x = 0 the primary grind has not begun; its line starts where the plunge line ends.
        x, y = view.x_mm.copy(), view.line_mm.copy()
        y[0] = y[1]
        begun = float(y[0]) if np.isfinite(y[0]) else spine
        yield from self.runs(x, y, Layer.GRIND)
        yield from self.runs(view.x_mm, view.swedge_mm, Layer.SWEDGE, dashed=True)
        yield self.upright(0.0, edge, begun, Layer.PLUNGE)
        radius = view.plunge_radius_mm
        if radius:
            yield self.upright(radius, *self.heights(radius)[:1], begun, Layer.PLUNGE, dashed=True)
            # Higher where the arrows of a low blade's height point down onto it.
            over = 4.5 if (spine - edge) * self.scale > 3 * ARROW_MM else 6.5
            end = (-self.sense * self.mm(5.0), spine + self.mm(over))
            text = f"plunge R {self.lengths.bare(radius)}"
            at = (0.0, edge + 0.75 * (begun - edge))
            yield from self.dimensions.leader(at, end, text, "end" if self.sense > 0 else "start")
        for x_mm in view.transition_mm or ():
            yield self.upright(x_mm, *self.heights(x_mm), Layer.TRANSITION, dashed=True)

    def runs(self, x: Points, y: Points, layer: Layer, *, dashed: bool = False) -> Iterator[Path]:
        """A line that is NaN where it does not run, as one path for each run."""
        some = np.flatnonzero(np.isfinite(y))
        for run in np.split(some, np.flatnonzero(np.diff(some) > 1) + 1):
            if len(run) > 1:
                yield self.curve(x[run], y[run], layer, dashed=dashed)

    def stations(self) -> Iterator[Item]:
        """Where the sections are cut."""
        over = self.top + self.mm(2.5)
        for letter, station in zip(STATION_LETTERS, self.view.stations, strict=False):
            x = station.from_plunge_mm
            yield self.upright(x, self.heights(x)[0] - self.mm(2.0), over, Layer.CENTRE, dashed=True)
            yield Label(self.sense * x, over + self.mm(0.8), letter, SIZE_MM, anchor="middle", bold=True)

    def balance(self) -> Iterator[Path]:
        if self.balance_mm is None:
            return
        edge, spine = self.heights(self.balance_mm)
        yield from self.sign(self.sense * self.balance_mm, (edge + spine) / 2)

    def sign(self, x: float, y: float) -> Iterator[Path]:
        """The sign of a balance point: a circle and a cross."""
        r = self.mm(_SYMBOL_MM)
        yield Path(np.array([(x - r, y, 1.0), (x + r, y, 1.0)]), Layer.BALANCE, closed=True)
        yield line([(x - 1.6 * r, y), (x + 1.6 * r, y)], Layer.BALANCE)
        yield line([(x, y - 1.6 * r), (x, y + 1.6 * r)], Layer.BALANCE)

    def measures(self) -> Iterator[Item]:
        """Dimensions: height at the plunge line, swedge above, balance, zones and length below."""
        view, bare = self.view, self.lengths.bare
        edge, spine = float(view.edge_mm[0]), float(view.spine_mm[0])
        foot = -self.sense * self.mm(_STUB_MM)
        at, text = foot - self.sense * self.mm(8.0), bare(spine - edge, 1)
        yield from self.dimensions.upright(edge, spine, at, text, feet=(foot, foot), below=True)
        if self.p.swedge is not None:
            start, end = view.length_mm - self.p.swedge.length_mm, view.length_mm
            words, feet = self.named("swedge", end - start), (self.over_letters(start), self.over_letters(end))
            yield from self.along(start, end, self.top + self.mm(9.0), words, feet)
        row = self.low - self.mm(6.5)
        if self.balance_mm is not None:
            below_sign = sum(self.heights(self.balance_mm)) / 2 - self.mm(1.6 * _SYMBOL_MM)
            words = self.named("balance point", self.balance_mm)
            yield from self.along(0.0, self.balance_mm, row, words, (edge, below_sign))
            row -= self.mm(_ROW_MM)
        for dimensions in self.zones():
            for start, end, name in dimensions:
                feet = (self.heights(start)[0], self.heights(end)[0])
                yield from self.along(start, end, row, self.named(name, end - start), feet)
            row -= self.mm(_ROW_MM)
        words = self.named("blade length", view.length_mm)
        yield from self.along(0.0, view.length_mm, row, words, (edge, self.heights(view.length_mm)[0]))

    def over_letters(self, x: float) -> float:
        """Where an extension line over the blade begins: above the letter of a station that it would strike."""
        near = any(abs(station.from_plunge_mm - x) * self.scale < SIZE_MM for station in self.view.stations)
        return self.top + self.mm(6.5) if near else self.heights(x)[1]

    def zones(self) -> list[list[tuple[float, float, str]]]:
        """Rows of (from, to, name): edge zone, transition and tip zone in one, or one from the plunge line each."""
        if self.view.transition_mm is None:
            return []
        turning, turned = self.view.transition_mm
        whole = self.view.length_mm
        chain = [(0.0, turning, "edge zone"), (turning, turned, ""), (turned, whole, "tip zone")]
        if all(self.dimensions.holds(end - start, self.lengths.bare(end - start, 1)) for start, end, _ in chain):
            return [chain]
        return [chain[:1], [(0.0, turned, "tip zone from")]]

    def named(self, name: str, length: float) -> str:
        """A length with its name, where there is room for that."""
        figure = self.lengths.bare(length, 1)
        words = f"{name} {figure}".strip()
        return words if self.dimensions.holds(length, words) else figure

    def along(self, start: float, end: float, at: float, text: str, feet: tuple[float, float]) -> list[Item]:
        """A dimension along the blade, whichever way that runs on paper."""
        if self.sense < 0:
            start, end, feet = -end, -start, (feet[1], feet[0])
        return self.dimensions.across(start, end, at, text, feet=feet)

    def heading(self) -> tuple[Label, Label]:
        """What it is, and its scale."""
        y = self.top + self.mm(16.0 if self.p.swedge else 10.0)
        x = min(-self.sense * self.mm(_STUB_MM + 10.0), self.sense * self.view.length_mm)
        text = "Side view" if self.p.side == "both" else f"Side view on the {self.p.side}, which is ground"
        beside = x + self.mm(text_width_mm(text, HEADING_MM, bold=True) + 2.0)
        scale = scale_words(self.scale)
        return Label(x, y, text, HEADING_MM, bold=True), Label(beside, y, scale, HEADING_MM, bold=True)

    def key(self, after: Label) -> Iterator[Item]:
        """What the lines mean, in one row after a label."""
        x, y = after.x + self.mm(text_width_mm(after.text, after.size_mm, bold=True) + 7.0), after.y
        middle = y + self.mm(1.0)
        for layer, dashed, words in self.kinds():
            if layer is Layer.BALANCE:
                yield from self.sign(x + self.mm(4.0), middle)
            elif layer is not None:
                yield line([(x, middle), (x + self.mm(8.0), middle)], layer, dashed=dashed)
            x += self.mm(9.5 if layer is not None else 0.0)
            yield Label(x, y, words, SIZE_MM)
            x += self.mm(text_width_mm(words, SIZE_MM) + 5.0)

    def kinds(self) -> Iterator[tuple[Layer | None, bool, str]]:
        """Which lines there are: layer, dashed or not, in words."""
        view = self.view
        if np.isfinite(view.line_mm[view.x_mm > view.plunge_radius_mm]).any():
            yield Layer.GRIND, False, "grind line"
        else:
            yield None, False, "ground up to the spine: no grind line"
        yield Layer.PLUNGE, False, "plunge line"
        if view.transition_mm is not None:
            yield Layer.TRANSITION, True, "zones meet"
        if np.isfinite(view.swedge_mm).any():
            yield Layer.SWEDGE, True, "swedge"
        if self.balance_mm is not None:
            yield Layer.BALANCE, False, "balance point, blade alone"
