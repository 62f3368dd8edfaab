"""Workshop drawings, read back by other programs than ours: ezdxf, pypdf and an XML parser.

Sources: A4 is 210 mm x 297 mm (ISO 216, memory), Letter 8.5 in x 11 in (ANSI/ASME Y14.1, memory), scales by ISO 5455
(memory); a point of PDF is 1/72 in (ISO 32000-1, memory); a DXF's $INSUNITS 4 is mm and a bulge the tangent of a
quarter of the arc's angle (DXF reference, memory).
"""

from __future__ import annotations

import io
import math
import re
import tomllib
import xml.etree.ElementTree as ElementTree
from collections.abc import Iterator
from itertools import combinations
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pypdf
import pytest
from ezdxf.path import make_path
from pypdf.generic import ContentStream
from reportlab.pdfgen.canvas import Canvas
from shapely import Polygon

from recommender.drawing.sheet.label_boxes import Box, box_of
from recommender.drawing.sheet.writers.sheet_pdf import draw_view
from recommender.geometry.section import area_mm2
from recommender.models.answer.proposal import Answer
from recommender.models.brief import Brief
from recommender.models.workshop.sheet import Label, Layer
from recommender.plugin.api import Writer
from recommender.plugin.hooks import hookimpl
from recommender.service import Service, read_brief
from recommender.service.drawings import Drawings

SCENARIOS = Path(__file__).parents[2] / "scenarios"
BRIEFS = [
    p.name.removesuffix(".expected.toml")
    for p in sorted(SCENARIOS.glob("*.expected.toml"))
    if tomllib.loads(p.read_text(encoding="utf-8"))["exit"] == 0
]
SOME = ("left-handed-hunter", "guide-prying-tip", "sushi-counter-left-handed", "ambulance-strap-cutter")
POINTS_PER_MM = 72 / 25.4
ISO_5455 = {10.0, 5.0, 2.0, 1.0, 1 / 2, 1 / 5, 1 / 10}


def overlap(one: Box, other: Box) -> bool:
    across = min(one.right, other.right) - max(one.left, other.left)
    along = min(one.top, other.top) - max(one.bottom, other.bottom)
    return across > 0 and along > 0


@pytest.fixture(scope="module")
def answers(service: Service) -> dict[str, Answer]:
    out = {}
    for name in BRIEFS:
        out[name] = service.recommend(read_brief((SCENARIOS / f"{name}.toml").read_bytes(), name), flips=False)
    return out


@pytest.fixture(scope="module")
def dxf(service: Service, answers: dict[str, Answer]) -> dict[str, Any]:
    written = {name: service.drawings.document(answers[name], "dxf").decode() for name in SOME}
    return {name: ezdxf.read(io.StringIO(text)) for name, text in written.items()}


def polylines(document: Any, layer: Layer = Layer.OUTLINE) -> list[Any]:
    return list(document.modelspace().query(f'LWPOLYLINE[layer=="{layer}"]'))


def corners(polyline: Any) -> np.ndarray:
    """Vertices (n, 3) x, y, bulge with the first one in the origin."""
    points = np.array(polyline.get_points("xyb"))
    return points - [*points[0, :2], 0.0]


def flattened(polyline: Any) -> Polygon:
    """A polygon by ezdxf's own reading of the bulges."""
    return Polygon([(p.x, p.y) for p in make_path(polyline).flattening(1e-5)])


# ---- DXF ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SOME)
def test_a_dxf_is_sound_and_in_millimetres(name: str, dxf: dict[str, Any]) -> None:
    document = dxf[name]
    audit = document.audit()
    assert not audit.errors
    assert not audit.fixes
    assert document.dxfversion >= "AC1024"  # release 2010
    assert document.header["$INSUNITS"] == 4
    assert {layer.dxf.name for layer in document.layers} >= {
        "OUTLINE", "GRIND", "PLUNGE", "TRANSITION", "SWEDGE", "BALANCE", "CENTRE", "DIMENSION", "TEXT", "FRAME",
    }  # fmt: skip
    assert all(entity.dxf.layer in set(Layer) for entity in document.modelspace())


@pytest.mark.parametrize("name", SOME)
def test_every_section_stands_in_the_dxf_at_true_size(
    name: str, dxf: dict[str, Any], answers: dict[str, Answer], service: Service
) -> None:
    proposal = answers[name].proposal
    assert proposal is not None
    view = service.drawings.view(proposal)
    assert view is not None
    closed = [p for p in polylines(dxf[name]) if p.closed]
    for station in view.stations:
        ahead = np.roll(station.outline, -1, axis=0)
        wanted = station.outline[np.hypot(*(ahead - station.outline)[:, :2].T) > 1e-9]
        same = [p for p in closed if len(p) == len(wanted) and np.allclose(corners(p), wanted, rtol=0, atol=1e-9)]
        assert len(same) >= 2, station.label  # on the drawing and on the template
        assert flattened(same[0]).area == pytest.approx(float(area_mm2(station.outline)), rel=1e-5)


def test_the_bulges_of_a_hollow_are_arcs_of_the_wheel(dxf: dict[str, Any], answers: dict[str, Answer]) -> None:
    """r = c (1 + b^2)/(4 |b|), which is the wheel's radius where a hard wheel cut it; at 10:1 ten times that."""
    proposal, shop = answers["ambulance-strap-cutter"].proposal, answers["ambulance-strap-cutter"].shop
    assert proposal is not None
    assert proposal.wheel_diameter_mm is not None
    assert shop is not None
    assert shop.wheel_cuts_like_mm is None
    radii = []
    for polyline in polylines(dxf["ambulance-strap-cutter"]):
        points = np.array(polyline.get_points("xyb"))
        chord = np.hypot(*(np.roll(points, -1, axis=0) - points)[:, :2].T)
        bulge = points[:, 2]
        arcs = np.abs(bulge) > 1e-12
        radii += list(chord[arcs] * (1 + bulge[arcs] ** 2) / (4 * np.abs(bulge[arcs])))
    wheel = proposal.wheel_diameter_mm / 2
    assert {round(radius / wheel, 6) for radius in radii} == {1.0, 10.0}


def test_the_side_view_in_the_dxf_is_the_drop_point_of_its_formula(
    dxf: dict[str, Any], answers: dict[str, Answer]
) -> None:
    """Drop: edge 0.55 H u^2 from half the length on, spine H - 0.45 H u^2 from 0.45 of it, u from 0 to 1."""
    proposal = answers["left-handed-hunter"].proposal
    assert proposal is not None
    assert proposal.tip == "drop"
    length, height = proposal.blade_length_mm, proposal.blade_height_mm
    whole = max(polylines(dxf["left-handed-hunter"]), key=len)
    points = corners(whole)
    tip = int(np.argmax(points[:, 0]))
    assert points[tip, :2] == pytest.approx([length, 0.55 * height], abs=1e-9)
    edge, spine = points[: tip + 1], points[tip:]
    along = np.maximum(edge[:, 0] / length - 0.5, 0) / 0.5
    assert edge[:, 1] == pytest.approx(0.55 * height * along**2, abs=1e-9)
    along = np.maximum(spine[:, 0] / length - 0.45, 0) / 0.55
    assert spine[:, 1] == pytest.approx(height - 0.45 * height * along**2, abs=1e-9)


def test_views_in_model_space_keep_apart(dxf: dict[str, Any]) -> None:
    for document in dxf.values():
        boxes = [Box(*flattened(p).bounds) for p in polylines(document) if p.closed]
        assert len(boxes) == 10  # three sections, the edge, three templates, three cards
        assert not any(overlap(one, other) for one, other in combinations(boxes, 2))


def test_layouts_look_at_the_views_at_their_scales(
    service: Service, dxf: dict[str, Any], answers: dict[str, Answer]
) -> None:
    for name, document in dxf.items():
        for page in service.drawings.sheet(answers[name]).pages:
            ports = document.layout(page.name).query("VIEWPORT")[1:]  # the first one is the paper itself
            scales = [port.dxf.height / port.dxf.view_height for port in ports]
            assert scales == pytest.approx([1.0 if view.enlarged else view.scale for view in page.views])


def test_a_card_is_a_rectangle_less_its_section(dxf: dict[str, Any], answers: dict[str, Answer]) -> None:
    """The hunter is ground up to the spine, so its cards hold the whole section: areas by shapely."""
    proposal = answers["left-handed-hunter"].proposal
    assert proposal is not None
    assert proposal.grind_line_below_spine_mm == 0
    shapes = [flattened(p) for p in polylines(dxf["left-handed-hunter"]) if p.closed]
    cards = [s for s in shapes if s.bounds[2] - s.bounds[0] > 17]
    sections = sorted(s.area for s in shapes if s.bounds[2] - s.bounds[0] < 5 and s.area < 100)
    assert len(cards) == 3
    for card in cards:
        notch = card.envelope.area - card.area
        assert min(abs(notch - area) for area in sections) < 1e-3


def test_the_same_drawing_is_the_same_file(service: Service, answers: dict[str, Answer]) -> None:
    answer = answers["guide-prying-tip"]
    for kind in ("svg", "dxf", "pdf"):
        assert service.drawings.document(answer, kind) == service.drawings.document(answer, kind)


# ---- PDF ------------------------------------------------------------------------------------------------------------


def pages(service: Service, answer: Answer, **how: Any) -> list[pypdf.PageObject]:
    return list(pypdf.PdfReader(io.BytesIO(service.drawings.document(answer, "pdf", **how))).pages)


def text_of(page: pypdf.PageObject) -> str:
    return page.extract_text().replace("\u00a0", " ")


def straight_lines(page: pypdf.PageObject) -> Iterator[tuple[float, float, float, float]]:
    """Every line of one segment on a page, in points, through all changes of the coordinate system."""
    now, kept = np.eye(3), []
    path: list[np.ndarray] = []
    for operands, operator in ContentStream(page["/Contents"].get_object(), page.pdf).operations:
        if operator == b"q":
            kept.append(now)
        elif operator == b"Q":
            now = kept.pop()
        elif operator == b"cm":
            a, b, c, d, e, f = (float(v) for v in operands)
            now = np.array([[a, b, 0], [c, d, 0], [e, f, 1]]) @ now
        elif operator in (b"m", b"l"):
            point = np.array([float(operands[0]), float(operands[1]), 1.0]) @ now
            path = [point] if operator == b"m" else [*path, point]
        elif operator == b"S":
            if len(path) == 2:
                yield (*path[0][:2], *path[1][:2])
            path = []


@pytest.mark.parametrize(
    ("paper", "size"), [("a4", (297 * POINTS_PER_MM, 210 * POINTS_PER_MM)), ("letter", (11 * 72, 8.5 * 72))]
)
def test_pages_have_the_size_of_the_paper(
    paper: str, size: tuple[float, float], service: Service, answers: dict[str, Answer]
) -> None:
    found = pages(service, answers["left-handed-hunter"], paper=paper)
    assert len(found) == 2
    for page in found:
        assert [float(v) for v in page.mediabox] == pytest.approx([0, 0, *size], abs=1e-3)


@pytest.mark.parametrize("name", SOME)
def test_the_text_of_a_pdf_can_be_read(name: str, service: Service, answers: dict[str, Answer]) -> None:
    answer = answers[name]
    p = answer.proposal
    assert p is not None
    first, second = (text_of(page) for page in pages(service, answer))
    assert answer.brief.title is not None
    assert " ".join(first.split()).count(answer.brief.title) == 1
    no_finer = any(t.dimension == "edge_angle_per_side_deg" and t.room_under == 0 for t in answer.tolerances)
    no_thinner = any(t.dimension == "edge_thickness_mm" and t.room_under == 0 for t in answer.tolerances)
    for words in (
        f"{p.edge_angle_per_side_deg:g}° per side",
        f"{p.edge_angle_included_deg:g}° included",
        f"{p.grind_label[0].upper()}{p.grind_label[1:]} grind",
        f"at {answer.brief.steel.hardness_hrc:g} HRC",
        "+0.5/−0° per side" if no_finer else "±0.5° per side",
        "+0.05/−0 mm" if no_thinner else "±0.05 mm",
        "licence no load",
        "Local law",
    ):
        assert words in " ".join(first.split()), words
    assert "Print at 100 %, measure the ruler before use." in second


def test_the_rulers_are_true(service: Service, answers: dict[str, Answer]) -> None:
    """100 mm are 283.465 pt with a tick each mm, 4 in are 288 pt with one each 1/16 in (4.5 pt)."""
    lines = list(straight_lines(pages(service, answers["guide-prying-tip"], inches=True)[1]))
    for length, step, count in ((283.465, POINTS_PER_MM, 101), (288.0, 4.5, 65)):
        (ruler,) = [
            (x0, y0, x1)
            for x0, y0, x1, y1 in lines
            if x1 - x0 == pytest.approx(length, abs=2e-3) and y0 == pytest.approx(y1)
        ]
        start, y, _ = ruler
        ticks = sorted(
            x0 - start
            for x0, y0, x1, y1 in lines
            if x0 == pytest.approx(x1) and y0 == pytest.approx(y) and y1 < y0 and -1 < x0 - start < length + 1
        )
        assert ticks == pytest.approx([k * step for k in range(count)], abs=2e-3)


def test_a_view_can_be_placed_in_another_document(service: Service, answers: dict[str, Answer]) -> None:
    """Lower left corner 30 mm right and 40 mm up: shrunk to 20 mm, or at its scale, the height measured by a line."""
    answer = answers["guide-prying-tip"]
    assert answer.proposal is not None
    view = next(v for v in service.drawings.sheet(answer).pages[0].views if v.name == "section A")
    for width in (20.0, 200.0):
        written = io.BytesIO()
        canvas = Canvas(written, pagesize=(1000, 1000))
        height = draw_view(canvas, view, 30.0, 40.0, width)
        canvas.save()
        lines = np.array(list(straight_lines(pypdf.PdfReader(written).pages[0]))) / POINTS_PER_MM
        x, y = lines[:, [0, 2]], lines[:, [1, 3]]
        assert 30.0 <= x.min() < x.max() <= 30.0 + width
        assert 40.0 <= y.min() < y.max() <= 40.0 + height
        whole = answer.proposal.blade_height_mm * view.scale
        assert (np.abs(y[:, 1] - y[:, 0] - whole) < 1e-3).any() == (width == 200.0)


def test_fonts_are_embedded(service: Service, answers: dict[str, Answer]) -> None:
    for page in pages(service, answers["left-handed-hunter"]):
        fonts = [font.get_object() for font in page["/Resources"]["/Font"].values()]
        ours = [font for font in fonts if "SourceSansPro" in font["/BaseFont"]]
        assert ours
        for font in ours:
            assert "/ToUnicode" in font
            assert "/FontFile2" in font["/FontDescriptor"].get_object()


# ---- SVG ------------------------------------------------------------------------------------------------------------

SVG = "{http://www.w3.org/2000/svg}"


def test_an_svg_has_the_papers_size_and_all_its_text_on_it(service: Service, answers: dict[str, Answer]) -> None:
    for name in SOME:
        root = ElementTree.fromstring(service.drawings.document(answers[name], "svg"))
        assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("297mm", "210mm", "0 0 297 210")
        texts = root.findall(f".//{SVG}text")
        assert len(texts) > 40
        for text in texts:
            assert 0 < float(text.get("y", "nan")) < 210
            x, length, size = (float(text.get(key, "nan")) for key in ("x", "textLength", "font-size"))
            assert size >= 2.5
            if text.get("transform") is None:
                start = x - {"start": 0, "middle": 0.5, "end": 1}[text.get("text-anchor", "start")] * length
                assert start > 0, text.text
                assert start + length < 297, text.text


def test_a_hollow_in_the_svg_is_an_arc_of_the_wheel(service: Service, answers: dict[str, Answer]) -> None:
    """Radius on paper = the wheel's radius x scale; both faces of three sections, and of the edge at 10:1."""
    answer = answers["ambulance-strap-cutter"]
    assert answer.proposal is not None
    assert answer.proposal.wheel_diameter_mm is not None
    root = ElementTree.fromstring(service.drawings.document(answer, "svg"))
    outlines = root.findall(f"{SVG}g[@id='OUTLINE']/{SVG}path")
    radii = [float(r) for path in outlines for r in re.findall(r"A([\d.]+) ", path.get("d", ""))]
    view = next(v for v in service.drawings.sheet(answer).pages[0].views if v.name == "section A")
    wheel = answer.proposal.wheel_diameter_mm / 2
    assert sorted(radii) == pytest.approx(sorted([wheel * view.scale] * 6 + [wheel * 10] * 2), rel=1e-6)


# ---- any format -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", BRIEFS)
@pytest.mark.parametrize(("paper", "inches"), [("a4", False), ("letter", True)])
def test_nothing_overlaps_or_runs_off_the_paper(
    name: str, paper: Any, inches: bool, service: Service, answers: dict[str, Answer]
) -> None:
    sheet = service.drawings.sheet(answers[name], paper=paper, inches=inches)
    whole = Box(5.0, 5.0, sheet.width_mm - 5.0, sheet.height_mm - 5.0)
    for page in sheet.pages:
        items = page.on_paper()
        assert all(box_of(item).within(whole) for item in items)
        labels = [(label.text, box_of(label)) for label in items if isinstance(label, Label)]
        struck = [(a, b) for (a, one), (b, other) in combinations(labels, 2) if overlap(one, other)]
        assert struck == []
        assert all(label.size_mm >= 2.5 for label in items if isinstance(label, Label))
        assert all(view.scale in ISO_5455 for view in page.views)


EXTREMES = [
    (length, height, stock, grind, swedge)
    for length, height, stock in ((60, 10, 1.5), (60, 80, 4), (400, 10, 2), (400, 80, 5), (300, 45, 8))
    for grind, swedge in (("saber-flat", "long"), ("compound", "none"))
]


@pytest.mark.parametrize(("length", "height", "stock", "grind", "swedge"), EXTREMES)
def test_the_largest_and_smallest_blades_fit(
    length: int, height: int, stock: float, grind: str, swedge: str, service: Service, ask: Any
) -> None:
    answer = ask(
        f"blade.length_mm={length}",
        f"blade.height_mm={height}",
        f"blade.stock_thickness_mm={stock}",
        f"wishes.grind={grind}",
        f"blade.swedge={swedge}",
        "blade.distal_taper_mm_per_mm=0.001",
        "steel.grade=440a",
    )
    assert answer.proposal is not None
    test_nothing_overlaps_or_runs_off_the_paper("x", "a4", False, service, {"x": answer})


HOSTILE = "łřαж %%c ^J \x1b]0;\x07 <script>1</script> & \u202eevil " + "endless" * 270


def test_a_hostile_title_is_only_a_title(service: Service) -> None:
    answer = service.recommend(Brief(title=HOSTILE, tasks={"food-prep": 1.0}), flips=False)
    svg = service.drawings.document(answer, "svg").decode()
    root = ElementTree.fromstring(svg)
    assert root.findall(f".//{SVG}script") == []
    assert "łřαж" in "".join(root.itertext())
    dxf = service.drawings.document(answer, "dxf").decode()
    document = ezdxf.read(io.StringIO(dxf))
    assert not document.audit().errors
    words = " ".join(text.dxf.text for layout in document.layouts for text in layout.query("TEXT"))
    assert "łřαж" in words
    assert not re.search(r"%%|\^", words)
    first = text_of(pages(service, answer)[0])
    assert "łřαж" in first
    assert "<script>" in first
    for written in (svg, dxf, first):
        assert not set("\x1b\x07\u202e") & set(written)
    for page in service.drawings.sheet(answer).pages:
        whole = Box(0, 0, 297, 210)
        assert all(box_of(item).within(whole) for item in page.on_paper())


def test_a_blade_that_cannot_be_followed_is_drawn_as_its_section(
    service: Service, answers: dict[str, Answer], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Drawings, "view", lambda self, blade: None)
    for name in ("left-handed-hunter", "guide-prying-tip"):  # one zone and two
        sheet = service.drawings.sheet(answers[name])
        assert not any(view.name == "side view" for view in sheet.pages[0].views)
        test_nothing_overlaps_or_runs_off_the_paper(name, "a4", False, service, answers)


def test_a_contributors_writer_gets_the_drawing(answers: dict[str, Answer]) -> None:
    def count(answer: Any) -> bytes:
        return ",".join(f"{page.name}: {len(page.views)} views" for page in answer["sheet"].pages).encode()

    class Mine:
        BEVELWRIGHT_API = 1

        @staticmethod
        @hookimpl
        def writers() -> list[Writer]:
            return [Writer(id="count", label="how many views", write=count)]

    written = Service(strict=True, plugins={"mine": Mine}).drawings.document(answers["guide-prying-tip"], "count")
    assert written == b"workshop drawing: 5 views,section template: 6 views"


def test_a_left_handed_blade_is_seen_on_its_ground_side(service: Service, answers: dict[str, Answer]) -> None:
    """The ground face lies at x < 0 as seen from the handle; from the left the tip points to the left."""
    answer = answers["sushi-counter-left-handed"]
    assert answer.proposal is not None
    assert answer.proposal.side == "left"
    view = service.drawings.sheet(answer).pages[0].views[0]
    whole = max((item for item in view.items if not isinstance(item, Label)), key=lambda item: len(item.points))
    assert whole.points[:, 0].min() == -answer.proposal.blade_length_mm
    station = service.drawings.view(answer.proposal).stations[0]  # type: ignore[union-attr]
    assert station.edge_thickness_mm == pytest.approx(answer.proposal.edge_thickness_mm, abs=1e-9)
    bevel = math.tan(math.radians(answer.proposal.edge_angle_per_side_deg))
    assert station.shoulder_mm == pytest.approx(answer.proposal.edge_thickness_mm / bevel, rel=1e-9)
