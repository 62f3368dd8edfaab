"""The side view that is drawn: lines where the geometry has them, against hand-worked places."""

from __future__ import annotations

import math

import numpy as np
import pytest

from recommender.drawing.blade_view import BladeView
from recommender.drawing.text.answer.blade_text import blade_lines, side_lines, station_lines
from recommender.drawing.text.braille_canvas import Canvas
from recommender.geometry.blade import Blade
from recommender.geometry.outline import face, symmetric
from recommender.geometry.side_views import BAR, SIDE_VIEWS, SideView

STOCK, HEIGHT, LINE = 4.0, 30.0, 20.0


def saber(stock: float = STOCK, line: float = LINE) -> np.ndarray:
    te, angle = 0.4, math.radians(20)
    up = te / 2 / math.tan(angle)
    return symmetric(
        face(
            (np.zeros(1), np.zeros(1), np.zeros(1)),
            (np.full(1, te / 2), np.full(1, up), np.zeros(1)),
            (np.full(1, stock / 2), np.full(1, line), np.zeros(1)),
            (np.full(1, stock / 2), np.full(1, HEIGHT), np.zeros(1)),
        )
    )


def view(**changes: object) -> BladeView:
    given: dict[str, object] = {"side_view": SIDE_VIEWS["straight-edge"], **changes}
    return BladeView.of(Blade(saber(), 100.0, **given))


def test_the_grind_line_ends_where_the_blade_is_as_high_as_it() -> None:
    """Straight edge, spine y = H (1 - u^2), u = (x/L - 0.5)/0.5: H (1 - u^2) = line at u = sqrt(1 - 20/30)."""
    v = view()
    runs_out = 100 * (0.5 + 0.5 * math.sqrt(1 - LINE / HEIGHT))
    last = v.x_mm[np.flatnonzero(np.isfinite(v.line_mm))[-1]]
    assert last == pytest.approx(runs_out, abs=100 / 160)
    assert np.nanmax(np.abs(v.line_mm[1:] - LINE)[np.isfinite(v.line_mm[1:])]) < 1e-6


def test_both_outlines_meet_in_the_point() -> None:
    for name, side in SIDE_VIEWS.items():
        v = BladeView.of(Blade(saber(), 100.0, side))
        assert v.edge_mm[-1] == v.spine_mm[-1], name
        assert v.x_mm[-1] == 100
        assert (v.spine_mm >= v.edge_mm).all()


def test_the_swedge_starts_where_it_is_said_to_and_meets_its_angle() -> None:
    """At full depth its lower line lies (stock - spine)/2 / tan(25 deg) below the spine, closed form."""
    v = BladeView.of(
        Blade(saber(), 100.0, BAR, swedge_length_mm=60.0, swedge_angle_per_side_deg=25.0, swedge_spine_mm=1.0)
    )
    begun = v.x_mm[np.isfinite(v.swedge_mm)]
    assert begun[0] == pytest.approx(40, abs=2 * 100 / 160)
    deep = v.spine_mm - v.swedge_mm
    assert deep[-2] == pytest.approx((STOCK - 1) / 2 / math.tan(math.radians(25)), rel=1e-6)


def test_stations_have_the_local_height_taper_and_line() -> None:
    """Taper 0.02: at 50 mm the bar is 3 mm and the grind line where the face is 3 mm thick, linear in between."""
    v = view(taper_mm_per_mm=0.02)
    middle = v.stations[1]
    up = 0.2 / math.tan(math.radians(20))
    line = up + (3.0 - 0.4) / (STOCK - 0.4) * (LINE - up)
    assert (middle.from_plunge_mm, middle.stock_mm) == (50, pytest.approx(3))
    assert middle.line_mm == pytest.approx(line, rel=1e-9)
    assert middle.height_mm == pytest.approx(HEIGHT)
    assert middle.edge_thickness_mm == pytest.approx(0.4)
    near = v.stations[2]
    assert near.height_mm == pytest.approx(HEIGHT * (1 - 0.8**2))


@pytest.mark.parametrize("width", [40, 60, 76, 120, 156])
@pytest.mark.parametrize("profile", SIDE_VIEWS)
def test_no_drawing_is_wider_than_its_room(width: int, profile: str) -> None:
    v = BladeView.of(Blade(saber(), 250.0, SIDE_VIEWS[profile], tip_outlines=saber(), tip_zone_mm=40, transition_mm=40))
    lines = blade_lines(v, width=width, balance_mm=60.0, ghost=view(), ghost_label="another")
    assert max(map(len, lines)) <= width
    drawn = [line for line in side_lines(v, width=width, rows=6) if any("\u2800" < c <= "\u28ff" for c in line)]
    assert len(drawn) <= 6


def test_a_ghost_shows_in_the_sections() -> None:
    plain, other = view(), BladeView.of(Blade(saber(line=10.0), 100.0, SIDE_VIEWS["straight-edge"]))
    assert station_lines(plain, ghost=other) != station_lines(plain, ghost=plain)


def test_the_side_view_keeps_its_proportions() -> None:
    """A bar 100 x 30 mm: as many dots up for a millimetre as along, to a dot."""
    v = BladeView.of(Blade(saber(), 100.0, SideView(1.0, 1.0, 1.0, 1.0, 1.0)))
    lines = [line for line in side_lines(v, width=80, rows=40) if any("\u2800" < c <= "\u28ff" for c in line)]
    across, down = 2 * max(map(len, lines)), 4 * len(lines)
    assert across / down == pytest.approx(100 / 30, rel=0.1)


def test_a_curve_off_the_canvas_is_cut_and_nan_breaks_it() -> None:
    canvas = Canvas(4, 2)
    canvas.curve([-5, 20], [3, 3])
    assert canvas.dots[4].all()
    assert canvas.dots.sum() == 8
    broken = Canvas(4, 2)
    broken.curve([0, np.nan, 7], [0, 0, 0])
    assert not broken.dots.any()
