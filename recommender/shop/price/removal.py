"""Steel that comes off a bar on its way to a blade, operation by operation, from the blade's geometry."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np

from recommender.geometry.arcs import Array, arc_length
from recommender.geometry.blade import Blade
from recommender.geometry.ground_face import GroundFace
from recommender.geometry.hollowed_back import with_flat_back
from recommender.geometry.outline import Outline
from recommender.geometry.section import area_mm2
from recommender.mechanics.blade_bending import weight
from recommender.models.workshop.shop import WIDEST_TANG_MM, BarStock

EDGE_CUTS = 400
"""Chords over which the length of edge and spine is added up: 1e-4 of it is lost on the roundest."""


@dataclass(frozen=True)
class Removal:
    """Volumes (mm3), faces (mm2) and lengths (mm) of one blade between plunge line and tip."""

    profile_mm3: float
    """Around the outline."""
    clean_up_mm3: float
    """The bar's skin on both faces."""
    taper_mm3: float
    """Of a distal taper ground beforehand; 0 where the primary grind carries it."""
    primary_mm3: float
    tip_zone_share: float
    """Of the primary grind's volume, what lies in the tip zone; 0 where there is none."""
    swedge_mm3: float
    edge_mm3: float
    """Of the edge bevels."""
    ground_mm2: float
    """Faces of the primary grind, all ground sides together."""
    faces_mm2: float
    """Both whole faces of the blade."""
    outline_mm: float
    """Around blade and tang."""
    edge_mm: float
    """Length of the edge."""
    tang_faces_mm2: float
    """Both faces of the tang."""
    back_mm3: float
    """Out of a hollowed back."""
    taper_in_grind: bool
    """The primary grind carries the distal taper: ground by tilting the blade, not beforehand."""

    @property
    def ground_mm3(self) -> float:
        """All that grinding takes off: everything but what the saw takes around the outline."""
        return self.clean_up_mm3 + self.taper_mm3 + self.primary_mm3 + self.back_mm3 + self.swedge_mm3 + self.edge_mm3


@dataclass(frozen=True)
class Tang:
    """A flat rectangle behind the plunge line, mm, as thick as the stock."""

    length_mm: float = 0.0
    width_mm: float = 0.0

    @property
    def area_mm2(self) -> float:
        """Of one face."""
        return self.length_mm * self.width_mm

    def outline_mm(self, height_mm: float) -> float:
        """Round it, the steps down from a blade so high at the plunge line with it."""
        return 2 * self.length_mm + self.width_mm + abs(height_mm - self.width_mm) if self.area_mm2 else 0.0


NO_TANG = Tang()


def tang_of(blade: Blade, material: BarStock) -> Tang:
    """The tang of a blade (a batch of one), as a shop cuts it."""
    height = float(blade.height_mm[0, 0])
    width = min(height, WIDEST_TANG_MM) if material.tang_width_mm is None else material.tang_width_mm
    return Tang(material.tang_length_mm, width)


def removal(blade: Blade, bar_width_mm: float, bar_thickness_mm: float, tang: Tang = NO_TANG) -> Removal:
    """Volumes from a bar of that width and thickness to a blade with its tang (a batch of one).

    profile = (width (L + tang) - A) t_bar; clean-up = A (t_bar - stock), the tang's face in A for these two;
    taper = int h (stock - t(x)) dx; primary = tapered bar less ground blade, its back filled up; edge = int w h_e / 2
    dx with w the flat along the unsharpened edge and h_e the bevel's height. A is the side view's area, by its closed
    form; integrals by Gauss-Legendre as in `mechanics.blade_bending.weight`.
    Raises GeometryError for a blade that cannot be followed to its tip.
    """
    length, area = float(blade.length_mm[0, 0]), float(blade.side_area_mm2[0])
    stock = float(blade.stock_mm[0, 0])
    x, w = blade.nodes()
    cut = blade.at(x)
    height = cut.height_mm[0]
    edges = _edge_bevels(blade, x)

    def along(values: Array) -> float:
        return float((values * w[0]).sum())

    tapered = along(height * cut.stock_mm[0])
    whole = _volume(blade)
    plain = _volume(dataclasses.replace(blade, swedge_length_mm=0.0))
    back = _volume(dataclasses.replace(blade, swedge_length_mm=0.0, outlines=with_flat_back(blade.outlines))) - plain
    edge = along(edges)
    taper = area * stock - tapered
    in_grind = bool(blade.taper_mm_per_mm.any()) and _carries_taper(blade)
    ground = ground_faces(blade.outlines)
    run = np.clip(cut.line_mm[0] - float(ground[0].shoulder_y_mm[0]), 0.0, None)
    primary = tapered - plain - back - edge + (taper if in_grind else 0.0)
    return Removal(
        profile_mm3=(bar_width_mm * (length + tang.length_mm) - area - tang.area_mm2) * bar_thickness_mm,
        clean_up_mm3=(area + tang.area_mm2) * (bar_thickness_mm - stock),
        taper_mm3=0.0 if in_grind else max(taper, 0.0),
        primary_mm3=primary,
        tip_zone_share=_tip_share(blade),
        swedge_mm3=plain - whole,
        edge_mm3=edge,
        ground_mm2=along(run) * sum(_slant(face) for face in ground),
        faces_mm2=2 * area,
        outline_mm=_length_of(blade, edge=True)
        + _length_of(blade, edge=False)
        + tang.outline_mm(float(blade.height_mm[0, 0])),
        edge_mm=_length_of(blade, edge=True),
        tang_faces_mm2=2 * tang.area_mm2,
        back_mm3=back,
        taper_in_grind=in_grind,
    )


def _volume(blade: Blade) -> float:
    return float(weight(blade, 1.0).mass_g[0])


def _edge_bevels(blade: Blade, x: Array) -> Array:
    """Section of both edge bevels at stations (1, m), mm2."""
    sections = dataclasses.replace(blade, swedge_length_mm=0.0).at(x).sections
    right, left = GroundFace.right(sections), GroundFace.left(sections)
    sloped = (right.reach_mm * right.shoulder_y_mm, left.reach_mm * left.shoulder_y_mm)
    return np.asarray(sum(sloped)) / 2


def _carries_taper(blade: Blade) -> bool:
    """Whether flat or convex faces run up to the spine: those are ground with the taper in them."""
    top = float(blade.height_mm[0, 0])
    return all(
        float(face.bulge[0]) >= 0 and float(face.line_y_mm[0]) >= top - 1e-9 and float(face.shoulder_x_mm[0]) > 0
        for face in ground_faces(blade.outlines)
    )


def ground_faces(outline: Outline) -> list[GroundFace]:
    """The ground faces of one section (1, v, 3), right before left."""
    return [face for face in (GroundFace.right(outline), GroundFace.left(outline)) if face.ground[0]]


def _slant(face: GroundFace) -> float:
    """Length along the face over its height."""
    return float(arc_length(face.bulge, face.chord_mm)[0] / face.height_mm[0])


def _tip_share(blade: Blade) -> float:
    """Share of the primary grind beyond the middle of the transition between zones."""
    if blade.tip_outlines is None:
        return 0.0
    length = float(blade.length_mm[0, 0])
    start = length - float((blade.tip_zone_mm + blade.transition_mm / 2)[0, 0])

    def ground(low: float, high: float) -> float:
        x, w = blade.nodes(low, high)
        cut = blade.at(x)
        from_bar = cut.height_mm[0] * cut.stock_mm[0] - np.asarray(area_mm2(cut.sections))
        return float((from_bar * w[0]).sum())

    before, beyond = ground(0.0, start), ground(start, length)
    return beyond / (before + beyond)


def _length_of(blade: Blade, *, edge: bool) -> float:
    share = np.linspace(0.0, 1.0, EDGE_CUTS + 1)
    curve = blade.side_view.edge(share) if edge else blade.side_view.spine(share)
    y = curve * float(blade.height_mm[0, 0])
    return float(np.hypot(np.diff(share) * float(blade.length_mm[0, 0]), np.diff(y)).sum())
