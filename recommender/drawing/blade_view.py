"""What there is to draw of a whole blade: its side view with all lines, three sections, the balance point."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from recommender.geometry.arcs import Array
from recommender.geometry.blade import Blade
from recommender.geometry.ground_face import GroundFace, is_one_bevel
from recommender.geometry.outline import Outline, Sides
from recommender.geometry.profile import thickness

STATIONS = (("at the heel", 0.1), ("in the middle", 0.5), ("near the tip", 0.9))
"""Where sections are shown, shares of the length."""
_CUTS = 161
_POINT_SHARE = 0.998
"""The last station: a point has no section."""


@dataclass(frozen=True)
class Station:
    """One section of the blade, from its own edge upwards."""

    label: str
    from_plunge_mm: float
    outline: Outline
    """(v, 3)"""
    height_mm: float
    stock_mm: float
    line_mm: float
    """Grind line above the edge; the height itself where it has run out at the spine."""
    shoulder_mm: float
    edge_thickness_mm: float
    one_bevel: bool = False
    """Edge bevel and primary grind meet without a shoulder: both 0 then."""

    @classmethod
    def of(cls, outline: Outline, label: str, from_plunge_mm: float, stock_mm: float, line_mm: float) -> Station:
        """A section (v, 3) with its shoulder where the primary grind starts; both 0 where it is ground to zero."""
        right, left = GroundFace.right(outline), GroundFace.left(outline)
        # The flat face of a one-sided section has its first corner at the spine.
        shoulder = float(min(right.shoulder_y_mm[0], left.shoulder_y_mm[0]))
        edge = float(thickness(outline, shoulder)) if 0 < shoulder < line_mm - 1e-6 else 0.0
        one_bevel = edge > 0 and bool(is_one_bevel(outline)[0])
        edge = 0.0 if one_bevel else edge
        return cls(
            label=label,
            from_plunge_mm=from_plunge_mm,
            outline=outline,
            height_mm=float(outline[:, 1].max()),
            stock_mm=stock_mm,
            line_mm=line_mm,
            shoulder_mm=shoulder if edge else 0.0,
            edge_thickness_mm=edge,
            one_bevel=one_bevel,
        )


@dataclass(frozen=True)
class BladeView:
    """A blade from its side, mm: x from the plunge line, heights from the straight part of the edge; all (m,)."""

    x_mm: Array
    edge_mm: Array
    spine_mm: Array
    line_mm: Array
    """Grind line; NaN where it has run out at the spine."""
    swedge_mm: Array
    """Lower line of the swedge; NaN where there is none."""
    length_mm: float
    height_mm: float
    """From the lowest to the highest point."""
    plunge_radius_mm: float
    """Over which the primary grind comes out of the bar."""
    transition_mm: tuple[float, float] | None
    """From where to where edge zone turns into tip zone; None where there is but one."""
    stations: tuple[Station, ...]

    @classmethod
    def of(cls, blade: Blade) -> BladeView:
        """Follow one blade (a batch of one) from plunge line to tip. Raises GeometryError where it cannot be."""
        length = float(blade.length_mm[0, 0])
        x = np.linspace(0.0, length * _POINT_SHARE, _CUTS)
        cut = blade.at(x)
        edge, height, line = cut.edge_mm[0], cut.height_mm[0], cut.line_mm[0]
        spine = edge + height
        sections = cut.sections
        corner = Sides.of(sections).spine_side
        below = sections[np.arange(len(sections)), corner - 1, 1]
        swedge_from = length - float(blade.swedge_length_mm[0, 0])
        has_swedge = (x > swedge_from) & (below < height - 1e-6)
        zone = float((blade.tip_zone_mm + blade.transition_mm)[0, 0])
        turned = length - float(blade.tip_zone_mm[0, 0])
        tip = float(blade.side_view.spine(1.0)) * float(blade.height_mm[0, 0])
        # The point itself closes both outlines.
        x = np.append(x, length)
        return cls(
            x_mm=x,
            edge_mm=np.append(edge, tip),
            spine_mm=np.append(spine, tip),
            line_mm=np.append(np.where(line < height - 1e-6, edge + line, np.nan), np.nan),
            swedge_mm=np.append(np.where(has_swedge, edge + below, np.nan), np.nan),
            length_mm=length,
            height_mm=float(max(spine.max(), tip) - min(edge.min(), tip)),
            plunge_radius_mm=float(blade.plunge_radius_mm[0, 0]),
            transition_mm=(length - zone, turned) if blade.tip_outlines is not None else None,
            stations=tuple(_station(blade, label, share * length) for label, share in STATIONS),
        )


def _station(blade: Blade, label: str, x: float) -> Station:
    cut = blade.at([x])
    return Station.of(cut.outlines[0, 0], label, x, float(cut.stock_mm[0, 0]), float(cut.line_mm[0, 0]))
