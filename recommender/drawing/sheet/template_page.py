"""Page 2: the sections at 1:1 to lay a blade on, cards to cut gauges from, and rulers that prove the print."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from recommender import __version__
from recommender.drawing.blade_view import Station
from recommender.drawing.sheet.dimensions import SIZE_MM, line
from recommender.drawing.sheet.drawn_blade import Drawn
from recommender.drawing.sheet.label_boxes import Box, view_box
from recommender.drawing.sheet.lettering import wrapped
from recommender.drawing.sheet.section_views import section_path
from recommender.drawing.sheet.side_view import HEADING_MM
from recommender.drawing.sheet.title_block import PADDING_MM, frame
from recommender.geometry.outline import Sides
from recommender.geometry.profile import clipped
from recommender.models.workshop.sheet import Item, Label, Layer, Page, Path, Points, View
from recommender.units import INCH_MM

RULER_MM, RULER_INCHES = 100, 4
_CARD_BESIDE_MM, _CARD_BELOW_MM = 9.0, 10.0
"""Of card round the notch."""
_ABOVE_LINE_MM = 3.0
"""How far a notch goes on over the grind line."""
_TICK_MM = 2.2
PRINT_WORDS = "Print at 100 %, measure the ruler before use."
_HOW = (
    "Left of each pair: the finished section. Right: a card with its notch; cut it out along the line, stand the blade "
    "in it edge down and look against the light. Gauge a blade before it is sharpened: blunt, it is safer in the hand."
)


def template_page(drawn: Drawn, width_mm: float, height_mm: float, *, number: int, pages: int) -> Page:
    """Compose the page of templates."""
    border, inner = frame(width_mm, height_mm)
    area = Box(inner.left + 4, inner.bottom + 4, inner.right - 4, inner.top - 4)
    head, head_mm = _head(drawn, area, f"sheet {number} of {pages}, made with Bevelwright {__version__}")
    rulers, rulers_mm = _rulers(area, inches=drawn.lengths.inches)
    middle = Box(area.left, area.bottom + rulers_mm, area.right, area.top - head_mm)
    return Page("section template", tuple(_placed(_views(drawn), middle)), (border, *head, *rulers))


def _head(drawn: Drawn, area: Box, sheet: str) -> tuple[list[Item], float]:
    """What the page is and how it is used, and how much height that takes."""
    y = area.top - HEADING_MM
    items: list[Item] = [
        Label(area.left, y, "Section template 1:1", HEADING_MM, bold=True),
        Label(area.right, y, sheet, SIZE_MM, anchor="end"),
    ]
    texts = [(text, False) for text in wrapped(drawn.title, area.width, SIZE_MM, most=1)]
    texts.append((PRINT_WORDS, True))
    texts += [(text, False) for text in wrapped(_HOW, area.width, SIZE_MM, most=3)]
    for text, bold in texts:
        y -= 5.0
        items.append(Label(area.left, y, text, SIZE_MM, bold=bold))
    return items, area.top - y + PADDING_MM


def _views(drawn: Drawn) -> Iterator[View]:
    for station, letter in zip(drawn.stations, drawn.letters, strict=False):
        yield _section(station, letter, drawn)
        yield _card(station, letter)


def _section(station: Station, letter: str, drawn: Drawn) -> View:
    """A section alone."""
    outline = station.outline
    centre = float(outline[:, 0].min() + outline[:, 0].max()) / 2
    items: list[Item] = [section_path(outline)]
    where = (f"{letter}  {station.label}", f"{drawn.lengths(station.from_plunge_mm, 1)} from", "the plunge line")
    for k, text in enumerate(where if letter else (station.label,)):
        size, bold = (HEADING_MM, True) if k == 0 else (SIZE_MM, False)
        items.append(Label(centre, -7.0 - 4.4 * k, text.strip(), size, anchor="middle", bold=bold))
    return View(f"template {letter}".strip(), 1.0, tuple(items))


def _card(station: Station, letter: str) -> View:
    """A card with a notch of the section's form, open at its top."""
    notch = _notch(station)
    top = float(notch[0, 1])
    left, right = float(notch[:, 0].min()) - _CARD_BESIDE_MM, float(notch[:, 0].max()) + _CARD_BESIDE_MM
    corners = [(right, top, 0.0), (right, -_CARD_BELOW_MM, 0.0), (left, -_CARD_BELOW_MM, 0.0), (left, top, 0.0)]
    outline = Path(np.concatenate([notch, np.array(corners)]), Layer.OUTLINE, closed=True)
    name = Label(float(notch[0, 0] + notch[-1, 0]) / 2, -7.0, letter or "gauge", SIZE_MM, anchor="middle", bold=True)
    return View(f"card {letter}".strip(), 1.0, (outline, name))


def _notch(station: Station) -> Points:
    """The section from its left down to the apex and up on its right, as far as a blade can be put in; (k, 3)."""
    outline = station.outline
    widest = [float(outline[outline[:, 0] == x, 1].max()) for x in (outline[:, 0].min(), outline[:, 0].max())]
    depth = min(station.line_mm + _ABOVE_LINE_MM, *widest)
    cut = clipped(outline[None], np.array([depth]))[0]
    corner = int(Sides.of(cut).spine_side[0])
    around = np.roll(cut, -(corner + 1), axis=0)
    around[-1, 2] = 0.0
    apart = np.hypot(*np.diff(around[:, :2], axis=0).T) > 1e-9
    notch: Points = around[np.append(apart, True)]
    return notch


def _placed(views: Iterator[View], area: Box) -> Iterator[View]:
    """Views beside each other with even gaps, their edges in line in the middle of an area."""
    every = [(view, view_box(view)) for view in views]
    gap = (area.width - sum(box.width for _, box in every)) / (len(every) + 1)
    whole = Box.around(box for _, box in every)
    y = (area.bottom + area.top - whole.bottom - whole.top) / 2
    x = area.left + gap
    for view, box in every:
        yield view.at(x - box.left, y)
        x += box.width + gap


def _rulers(area: Box, *, inches: bool) -> tuple[list[Item], float]:
    """Check rulers at the foot of the page, and how much height they take."""
    y = area.bottom + 9.0
    items = list(_ruler(area.left + 2.0, y, [float(k) for k in range(RULER_MM + 1)], 10, 5, 10.0))
    items.append(Label(area.left + 2.0, y + 2.0, "100 mm", SIZE_MM))
    if inches:
        x = area.right - 2.0 - RULER_INCHES * INCH_MM
        ticks = [k * INCH_MM / 16 for k in range(RULER_INCHES * 16 + 1)]
        items += _ruler(x, y, ticks, 16, 8, 1.0)
        items.append(Label(x, y + 2.0, "4 in", SIZE_MM))
    return items, 19.0


def _ruler(x: float, y: float, ticks: list[float], named: int, half: int, step: float) -> Iterator[Item]:
    """A line with ticks below it; every `named`-th has its figure, a multiple of `step`."""
    yield line([(x, y), (x + ticks[-1], y)], Layer.TEXT)
    for k, at in enumerate(ticks):
        long = 2.0 if k % named == 0 else 1.5 if k % half == 0 else 1.0
        yield line([(x + at, y), (x + at, y - _TICK_MM * long)], Layer.TEXT)
        if k % named == 0:
            yield Label(x + at, y - 2 * _TICK_MM - 3.0, f"{k // named * step:g}", 2.8, anchor="middle")
