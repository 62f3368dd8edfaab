"""One blade of a built-in grind from its plain dimensions; no rules, no engine."""

from dataclasses import dataclass

import bevelwright_builtin
import numpy as np
import pytest

from recommender.geometry.outline import Outline, Sides
from recommender.plugin.api import BOTH, Designs

IDEAL_WHEEL_MM = 1e9
"""Where no wheel is named a hollow would come out flat: tests name one."""


@dataclass(frozen=True)
class Bar:
    """What is held equal: stock, blade height, line height, edge thickness, edge angle per ground side."""

    stock: float
    height: float
    line: float
    te: float
    angle: float

    @property
    def bevel_mm(self) -> float:
        """Height of the edge bevel of a blade ground on both sides."""
        return self.te / 2 / float(np.tan(np.radians(self.angle)))

    @property
    def deepest_wheel_mm(self) -> float:
        """The wheel that hollows to the line with the faces upright at the shoulder: (H^2 + d^2) / d."""
        high, deep = self.line - self.bevel_mm, (self.stock - self.te) / 2
        return (high**2 + deep**2) / deep


@dataclass(frozen=True)
class Blade:
    """A ground blade: its design, its section and its tip zone's."""

    designs: Designs
    outlines: Outline
    tip_outlines: Outline
    sides: Sides


def grind_blade(grind_id: str, bar: Bar, **columns: object) -> Blade:
    """Grind the bar; `columns` sets or overrides columns such as wheel_diameter_mm, crown_share, side."""
    grind = {g.id: g for g in bevelwright_builtin.grinds()}[grind_id]
    values = {
        "stock_thickness_mm": bar.stock,
        "height_mm": bar.height,
        "grind_line_mm": bar.line,
        "grind_line_share": bar.line / bar.height,
        "edge_thickness_mm": bar.te,
        "edge_angle_per_side_deg": bar.angle,
        "wheel_diameter_mm": IDEAL_WHEEL_MM,
        "micro_bevel_per_side_deg": np.nan,
        "side": BOTH,
        "crown_share": 1.0,
        "micro_bevel": "no",
        **columns,
    }
    designs = Designs({name: np.asarray([value]) for name, value in values.items()})
    if grind.for_line is not None:
        designs = grind.for_line(designs).changed(micro_bevel=values["micro_bevel"])
    designs = grind.complete(designs)
    outlines = grind.outlines(designs)
    tips = outlines if grind.tip_outlines is None else grind.tip_outlines(designs)
    return Blade(designs, outlines, tips, Sides.of(outlines))


@pytest.fixture(scope="session")
def grind():
    """The function that grinds a blade: ``grind("saber-flat", bar, crown_share=0.5)``."""
    return grind_blade


BARS = {
    "kitchen": Bar(stock=2.0, height=45.0, line=16.0, te=0.3, angle=15.0),
    "fillet": Bar(stock=1.5, height=28.0, line=14.0, te=0.2, angle=14.0),
    "pocket": Bar(stock=3.0, height=24.0, line=16.0, te=0.4, angle=18.0),
    "hunter": Bar(stock=3.5, height=28.0, line=20.0, te=0.5, angle=20.0),
    "camp": Bar(stock=5.0, height=40.0, line=26.0, te=0.8, angle=22.0),
    "splitter": Bar(stock=9.0, height=60.0, line=36.0, te=1.2, angle=25.0),
}
"""Each can be hollowed to its line on a contact wheel of at most 350 mm."""


@pytest.fixture(params=BARS.values(), ids=BARS.keys())
def bar(request):
    """Several bars, so that no fact is tuned to one blade."""
    return request.param


@pytest.fixture(params=["deepest", "350 mm"])
def wheel(request, bar):
    """The hollow as deep as it goes without a waist, and the one off the largest common wheel."""
    return bar.deepest_wheel_mm if request.param == "deepest" else 350.0


@pytest.fixture(params=[0.5, 1.0], ids=["half crown", "full crown"])
def crown(request):
    """How round the slack belt leaves a convex."""
    return request.param
