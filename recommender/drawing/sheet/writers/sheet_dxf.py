"""A drawing as DXF: the blade at true size in model space, and its pages as layouts that look into it."""

from __future__ import annotations

import io
import math
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import Any

from recommender.drawing.sheet.label_boxes import Box, label_start, label_width_mm, view_box
from recommender.drawing.sheet.line_styles import STYLES
from recommender.models.workshop.sheet import Item, Label, Layer, Page, Path, Sheet, View
from recommender.text import clean

CAPITAL_SHARE = 0.66
"""Height of the typeface's capitals over its body: DXF measures text by its capitals."""
_DASHED = {layer: f"{layer}_DASHED" for layer in Layer}
_APART_MM = 15.0
"""Between views in model space."""
_MILLIMETRES = 4
_RIM_MM = 0.6
"""By which a viewport is larger than what it shows."""


def sheet_dxf(sheet: Sheet) -> bytes:
    """Write a DXF of release 2010; the same drawing gives the same bytes."""
    import ezdxf

    with _nothing_of_the_moment():
        document: Any = ezdxf.new("R2010", units=_MILLIMETRES)  # type: ignore[attr-defined]
        document.header["$MEASUREMENT"] = 1
        _add_layers(document)
        placed = _laid_out(sheet)
        for page in placed:
            for view in page.views:
                _draw(document.modelspace(), view.items)
        for number, page in enumerate(placed):
            _layout(document, sheet, page, first=number == 0)
        # Left to itself the library adds them in the order of a set.
        for name in sorted(document.entitydb.dxf_types_in_use()):
            document.classes.add_class(name)
        written = io.StringIO()
        document.write(written)
    return written.getvalue().encode("utf-8", errors="replace")


@contextmanager
def _nothing_of_the_moment() -> Iterator[None]:
    """Keep the time and two random numbers out of the file."""
    import ezdxf

    options: Any = ezdxf.options  # type: ignore[attr-defined]
    kept = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = kept


def _add_layers(document: Any) -> None:
    for layer, style in STYLES.items():
        dashes = [part if k % 2 == 0 else -part for k, part in enumerate(style.dashes_mm)]
        document.linetypes.add(_DASHED[layer], pattern=[sum(style.dashes_mm), *dashes])
        distances = {abs(known - 100 * style.width_mm): known for known in _WEIGHTS}
        document.layers.add(layer.value, color=style.aci, lineweight=distances[min(distances)])


_WEIGHTS = (13, 15, 18, 20, 25, 30, 35, 40, 50, 53, 60)
"""Line widths that DXF knows, hundredths of a mm."""


@dataclass(frozen=True)
class _Model:
    """A view in model space: its items there, and what its page shows of it."""

    items: tuple[Item, ...]
    box: Box
    on_paper: Box


@dataclass(frozen=True)
class _PageInModel:
    page: Page
    views: tuple[_Model, ...]


def _laid_out(sheet: Sheet) -> list[_PageInModel]:
    """Bring every view to its size in model space: the side view, then rows of what stands beside each other."""
    out, floor = [], 0.0
    for page in sheet.pages:
        models: list[_Model] = []
        first, *others = page.views
        rows = ([first], others) if page is sheet.pages[0] else (page.views,)
        for row in rows:
            row_models = _row(list(row), floor)
            models += row_models
            floor = min((m.box.bottom for m in row_models), default=floor) - _APART_MM
        out.append(_PageInModel(page, tuple(models)))
    return out


def _row(views: list[View], top: float) -> list[_Model]:
    """Views beside each other below a height, their origins in line."""
    sizes = [view.scale if view.enlarged else 1.0 for view in views]
    views = [replace(view, paper_only=()) for view in views]
    boxes = [_box_in_model(view, size) for view, size in zip(views, sizes, strict=True)]
    base = top - max((box.top for box in boxes), default=0.0)
    x, out = 0.0, []
    for view, size, box in zip(views, sizes, boxes, strict=True):
        dx = x - box.left
        items = tuple(_sized(item, size, view.scale, dx, base) for item in view.items)
        out.append(_Model(items, Box(x, box.bottom + base, box.right + dx, box.top + base), view_box(view)))
        x = box.right + dx + _APART_MM
    return out


def _box_in_model(view: View, size: float) -> Box:
    """The box round a view whose origin is in the origin."""
    on_paper = view_box(view.at(0.0, 0.0))
    shrink = size / view.scale
    return Box(*(edge * shrink for edge in (on_paper.left, on_paper.bottom, on_paper.right, on_paper.top)))


def _sized(item: Item, size: float, scale: float, dx: float, dy: float) -> Item:
    """An item in model space; lettering shrinks with it, so that it has its size on paper in the layout."""
    moved = item.moved(size, dx, dy)
    if isinstance(moved, Label):
        return replace(moved, size_mm=moved.size_mm * size / scale)
    return moved


def _layout(document: Any, sheet: Sheet, placed: _PageInModel, *, first: bool) -> None:
    """A page in paper space: frame and words, and a viewport for each view at its scale."""
    name = placed.page.name
    if first:
        document.layouts.rename("Layout1", name)
        layout = document.layouts.get(name)
    else:
        layout = document.layouts.new(name)
    layout.page_setup(size=(sheet.width_mm, sheet.height_mm), margins=(0, 0, 0, 0), units="mm")
    _draw(layout, placed.page.items)
    for view in placed.page.views:
        _draw(layout, [item.moved(view.scale, *view.origin_mm) for item in view.paper_only])
    for model in placed.views:
        box, paper = model.box, model.on_paper
        layout.add_viewport(
            center=((paper.left + paper.right) / 2, (paper.bottom + paper.top) / 2),
            size=(paper.width + 2 * _RIM_MM, paper.height + 2 * _RIM_MM),
            view_center_point=((box.left + box.right) / 2, (box.bottom + box.top) / 2),
            view_height=(paper.height + 2 * _RIM_MM) * box.height / paper.height,
            dxfattribs={"layer": "Defpoints"},
        )


def _draw(space: Any, items: Iterable[Item]) -> None:
    for item in items:
        if isinstance(item, Path):
            _draw_path(space, item)
        else:
            _draw_label(space, item)


def _draw_path(space: Any, path: Path) -> None:
    look = {"layer": path.layer.value, "linetype": _DASHED[path.layer] if path.dashed else "BYLAYER"}
    if path.filled and path.layer is Layer.DIMENSION:  # an arrowhead
        space.add_solid([(x, y) for x, y, _ in path.points.tolist()], dxfattribs=look)
    else:
        space.add_lwpolyline(path.points.tolist(), format="xyb", close=path.closed, dxfattribs=look)


def _draw_label(space: Any, label: Label) -> None:
    """Text between two points, so that it takes its room whatever typeface the reader has."""
    from ezdxf.enums import TextEntityAlignment

    width = label_width_mm(label)
    x, y = label_start(label, width)
    turn = math.radians(label.turned_deg)
    text = space.add_text(
        _plain(label.text), height=label.size_mm * CAPITAL_SHARE, dxfattribs={"layer": label.layer.value}
    )
    end = (x + width * math.cos(turn), y + width * math.sin(turn))
    text.set_placement((x, y), end, align=TextEntityAlignment.FIT)


def _plain(text: str) -> str:
    """Text that a DXF reader takes as it stands: "%%" and "^" would start codes."""
    return clean(text, one_line=True).replace("%%", "% %").replace("^", "\u02c6")
