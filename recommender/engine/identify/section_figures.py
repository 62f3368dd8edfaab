"""One section, measured exactly as asked: what `section` prints."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from recommender.engine.intake.brief_text import number_or_text
from recommender.errors import GeometryError, InputError
from recommender.geometry.outline import Outline, Sides
from recommender.geometry.profile import min_thickness, thickness
from recommender.geometry.section import measure, torsion_constant
from recommender.plugin.api import Designs, Grind, Workshop
from recommender.text import shorten


@dataclass(frozen=True)
class SectionRequest:
    """What `section` is asked for; None where not given."""

    grind: str
    stock_thickness_mm: float
    height_mm: float
    grind_line_mm: float | None
    edge_thickness_mm: float | None
    edge_angle_per_side_deg: float | None
    wheel_diameter_mm: float | None = None
    wheel_shore_a: float | None = None
    parameters: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class SectionFigures:
    """Exact figures of one section."""

    outline: Outline
    """(v, 3)"""
    edge_angle_per_side_deg: float
    edge_angle_included_deg: float
    edge_thickness_mm: float
    edge_bevel_height_mm: float
    micro_bevel_per_side_deg: float | None
    grind_line_mm: float
    area_mm2: float
    centroid_mm: tuple[float, float]
    i_weak_mm4: float
    i_strong_mm4: float
    i_product_mm4: float
    torsion_mm4: float | None
    """None where the section is too stout for the thin-section estimate."""
    perimeter_mm: float
    min_thickness_mm: float
    min_thickness_at_mm: float
    warnings: tuple[str, ...]
    thickness: tuple[tuple[float, float], ...]
    tip_zone: dict[str, Any] | None
    """The tip zone's own figures where it differs: area_mm2, i_weak_mm4, i_strong_mm4, thickness."""

    def as_json(self) -> dict[str, Any]:
        """Plain data, lengths in mm."""
        return {
            "schema": "bevelwright.section/1",
            "edge_angle_per_side_deg": self.edge_angle_per_side_deg,
            "edge_angle_included_deg": self.edge_angle_included_deg,
            "edge_thickness_mm": self.edge_thickness_mm,
            "edge_bevel_height_mm": self.edge_bevel_height_mm,
            "micro_bevel_per_side_deg": self.micro_bevel_per_side_deg,
            "grind_line_mm": self.grind_line_mm,
            "area_mm2": self.area_mm2,
            "centroid_mm": list(self.centroid_mm),
            "i_weak_mm4": self.i_weak_mm4,
            "i_strong_mm4": self.i_strong_mm4,
            "i_product_mm4": self.i_product_mm4,
            "torsion_mm4": self.torsion_mm4,
            "perimeter_mm": self.perimeter_mm,
            "min_thickness_mm": self.min_thickness_mm,
            "min_thickness_at_mm": self.min_thickness_at_mm,
            "warnings": list(self.warnings),
            "thickness": [list(pair) for pair in self.thickness],
            "tip_zone": self.tip_zone,
            "outline": self.outline.tolist(),
        }


MOST_SLENDER = 0.25
"""Thickness over height up to which the thin-section torsion estimate is given."""
_ANY_WORKSHOP = Workshop((1.0, 1e9), True, True)


def section(grinds: Mapping[str, Grind], request: SectionRequest) -> SectionFigures:
    """Measure one section exactly as asked: the shape is refused if it cannot exist, warned of if it is odd."""
    grind, designs = _section_designs(grinds, request)
    _refuse_impossible(grind, designs, request)
    chord = float(np.hypot(designs.depth_per_side_mm, designs.primary_height_mm)[0])
    wheel = float(designs.cut_wheel_mm[0])
    if wheel < chord:
        raise InputError(
            f"{wheel:g} mm is smaller than the hollow", key="--wheel", expected=f"at least {chord:.1f} mm, its chord"
        )
    outline = grind.outlines(designs)
    sides = Sides.of(outline)
    sides.require_monotone()
    shoulder = designs.edge_bevel_height_mm
    line = designs["grind_line_mm"]
    least, where = (float(v[0]) for v in min_thickness(sides, np.minimum(shoulder, line), line))
    if least < -1e-9 or (least <= 1e-9 and designs["edge_thickness_mm"][0] > 0):
        raise GeometryError(
            f"the faces cross {where:.2f} mm above the edge (thickness {least:.3f} mm); "
            "a larger wheel, a thicker edge or a lower line would keep them apart"
        )
    warnings = []
    edge = float(designs["edge_thickness_mm"][0])
    if least < edge - 1e-9:
        warnings.append(
            f"waist: {least:.3f} mm thick {where:.2f} mm above the edge, thinner than the {edge:g} mm behind the edge"
        )
    m = measure(outline[0])
    height = request.height_mm
    slender = request.stock_thickness_mm / height
    if slender > MOST_SLENDER:
        warnings.append(f"too stout for the thin-section estimate of torsion ({slender:.2f} thick over high)")
    marks = sorted(
        {0.0, float(shoulder[0]), float(line[0]), height, *(h for h in (1.0, 2.0, 5.0, 10.0, 20.0) if h < height)}
    )
    return SectionFigures(
        outline=outline[0],
        edge_angle_per_side_deg=float(designs["edge_angle_per_side_deg"][0]),
        edge_angle_included_deg=float(designs.edge_angle_included_deg[0]),
        edge_thickness_mm=edge,
        edge_bevel_height_mm=float(shoulder[0]),
        micro_bevel_per_side_deg=designs.row(0)["micro_bevel_per_side_deg"],
        grind_line_mm=float(line[0]),
        area_mm2=float(m.area_mm2),
        centroid_mm=(float(m.centroid_x_mm), float(m.centroid_y_mm)),
        i_weak_mm4=float(m.i_weak_mm4),
        i_strong_mm4=float(m.i_strong_mm4),
        i_product_mm4=float(m.i_product_mm4),
        torsion_mm4=float(torsion_constant(outline[0])) if slender <= MOST_SLENDER else None,
        perimeter_mm=float(m.perimeter_mm),
        min_thickness_mm=least,
        min_thickness_at_mm=where,
        warnings=tuple(warnings),
        thickness=tuple((y, float(thickness(outline[0], y))) for y in marks),
        tip_zone=None if grind.tip_outlines is None else _tip_zone(grind.tip_outlines(designs)[0], marks),
    )


def _tip_zone(outline: Outline, marks: list[float]) -> dict[str, Any]:
    m = measure(outline)
    return {
        "area_mm2": float(m.area_mm2),
        "i_weak_mm4": float(m.i_weak_mm4),
        "i_strong_mm4": float(m.i_strong_mm4),
        "thickness": [[y, float(thickness(outline, y))] for y in marks],
        "outline": outline.tolist(),
    }


def _section_designs(grinds: Mapping[str, Grind], request: SectionRequest) -> tuple[Grind, Designs]:
    if request.grind not in grinds:
        raise InputError(
            f"unknown name {shorten(request.grind)}",
            key="--grind",
            expected="a grind that is loaded",
            given=request.grind,
            valid=grinds,
        )
    grind = grinds[request.grind]
    names = {p.name for p in grind.parameters}
    values: dict[str, Any] = {
        "stock_thickness_mm": request.stock_thickness_mm,
        "height_mm": request.height_mm,
        "edge_thickness_mm": request.edge_thickness_mm,
        "edge_angle_per_side_deg": request.edge_angle_per_side_deg,
        "wheel_diameter_mm": request.wheel_diameter_mm,
    }
    for name in ("stock_thickness_mm", "height_mm"):
        if not values[name] > 0:
            raise InputError(f"{values[name]:g} mm", key=_option(name), expected="a size above 0")
    for name in ("edge_thickness_mm", "edge_angle_per_side_deg"):
        if values[name] is None and name in names:
            raise InputError("missing", key=_option(name), expected=f"a value for a {grind.label}")
    if request.wheel_diameter_mm is not None and not request.wheel_diameter_mm > 0:
        raise InputError(f"{request.wheel_diameter_mm:g} mm", key="--wheel", expected="a diameter above 0")
    if request.wheel_shore_a is not None and not 20 <= request.wheel_shore_a <= 95:
        raise InputError(
            f"{request.wheel_shore_a:g} Shore A", key="--wheel-hardness", expected="a hardness from 20 to 95"
        )
    angle = values["edge_angle_per_side_deg"]
    if angle is not None and not 0 < angle < 80:
        raise InputError(f"{angle:g}°", key="--edge-angle-per-side", expected="an angle between 0 and 80°")

    columns = {name: value for name, value in values.items() if value is not None}
    if request.wheel_shore_a is not None:
        columns["wheel_shore_a"] = request.wheel_shore_a
    if "grind_line_share" in names:
        line = request.grind_line_mm
        if line is None:
            raise InputError("missing", key="--line", expected=f"the grind line of a {grind.label}, mm")
        columns["grind_line_share"] = line / request.height_mm
    columns.update(_extra_parameters(grind, request))
    designs = Designs.of(1, **columns)
    _check_wheel(grind, designs, request)
    return grind, grind.complete(designs)


def _check_wheel(grind: Grind, designs: Designs, request: SectionRequest) -> None:
    """Ask for a wheel where the grind, with its choices made, keeps one; refuse one where it does not."""
    kept = grind.complete(designs.changed(wheel_diameter_mm=1.0))["wheel_diameter_mm"]
    takes_one = grind.parameter("wheel_diameter_mm") is not None and not np.isnan(kept[0])
    if takes_one and request.wheel_diameter_mm is None:
        raise InputError("missing", key="--wheel", expected=f"the wheel's diameter in mm for a {grind.label}")
    for key, given in (("--wheel", request.wheel_diameter_mm), ("--wheel-hardness", request.wheel_shore_a)):
        if given is not None and not takes_one:
            raise InputError(f"a {grind.label} is ground without a wheel", key=key, expected=f"no {key}")


def _extra_parameters(grind: Grind, request: SectionRequest) -> dict[str, Any]:
    """Parameters of the grind that have no option of their own: from --param, or in the middle of their range."""
    own = {
        "stock_thickness_mm",
        "edge_thickness_mm",
        "edge_angle_per_side_deg",
        "wheel_diameter_mm",
        "grind_line_share",
    }
    extra = {p.name: p for p in grind.parameters if p.name not in own}
    for name in request.parameters:
        if name not in extra:
            raise InputError(
                f"{grind.label} has no such parameter",
                key=f"--param {shorten(name)}",
                expected="one of " + ", ".join(extra) if extra else "no --param",
                given=name,
                valid=extra,
            )
    out: dict[str, Any] = {}
    for name, parameter in extra.items():
        text = request.parameters.get(name)
        if parameter.choices:
            value = parameter.choices[0] if text is None else text
            if value not in parameter.choices:
                raise InputError(
                    f"{shorten(value)} does not fit",
                    key=f"--param {name}",
                    expected="one of " + ", ".join(parameter.choices),
                    given=value,
                    valid=parameter.choices,
                )
            out[name] = value
            continue
        number = (parameter.low + parameter.high) / 2 if text is None else number_or_text(text)
        if not isinstance(number, float) or not parameter.low <= number <= parameter.high:
            raise InputError(
                f"{shorten(text)} does not fit",
                key=f"--param {name}",
                expected=f"a number from {parameter.low:g} to {parameter.high:g}",
            )
        out[name] = number
    return out


def _option(name: str) -> str:
    return {
        "stock_thickness_mm": "--stock",
        "height_mm": "--height",
        "edge_thickness_mm": "--edge-thickness",
        "edge_angle_per_side_deg": "--edge-angle-per-side",
    }[name]


def _refuse_impossible(grind: Grind, designs: Designs, request: SectionRequest) -> None:
    """Refuse shapes that cannot exist and figures that contradict each other."""
    line = float(designs["grind_line_mm"][0])
    if request.grind_line_mm is not None:
        if request.grind_line_mm > request.height_mm + 1e-9:
            raise InputError(
                f"{request.grind_line_mm:g} mm lies above the spine",
                key="--line",
                expected=f"at most --height, {request.height_mm:g} mm",
            )
        if abs(line - request.grind_line_mm) > 0.05:
            raise InputError(
                f"{request.grind_line_mm:g} mm contradicts the other figures",
                key="--line",
                expected=f"{line:.2f} mm for a {grind.label} of this stock, height and angle",
            )
    given_edge = request.edge_thickness_mm
    if given_edge is not None and abs(float(designs["edge_thickness_mm"][0]) - given_edge) > 1e-9:
        raise InputError(
            f"{given_edge:g} mm contradicts the other figures",
            key="--edge-thickness",
            expected=f"{float(designs['edge_thickness_mm'][0]):g} mm for a {grind.label}",
        )
    if given_edge is not None and given_edge < 0:
        raise InputError(f"{given_edge:g} mm", key="--edge-thickness", expected="0 or more")
    for refusal in grind.refusals(designs, _ANY_WORKSHOP):
        if refusal.rows.any() and not refusal.only_waist:
            raise GeometryError(refusal.reason)
