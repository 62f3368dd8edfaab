"""Dimensions, a table of thickness over height, and cautions, in 64 columns."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

from recommender.geometry.profile import thickness
from recommender.text import clean

WIDTH = 64
CALIPERED_MM = (1, 2, 3, 5, 8, 10, 15, 20, 25, 30, 40, 50, 60, 80)
"""Heights above the edge at which calipers are set."""


def card(answer: Mapping[str, Any]) -> bytes:
    """Write an answer's blade as UTF-8 text."""
    return ("\n".join(_lines(answer)) + "\n").encode()


def _lines(answer: Mapping[str, Any]) -> Iterator[str]:
    blade = answer["proposal"]
    yield from textwrap.wrap(clean(answer["title"], one_line=True), WIDTH)
    yield "=" * WIDTH
    yield from (f"{name:<22}{value}" for name, value in _dimensions(blade, answer["brief"]["steel"]))
    yield ""
    yield f"{'above the edge':<22}thickness"
    for height in CALIPERED_MM:
        if height < blade["blade_height_mm"]:
            yield f"{f'{height} mm':<22}{_mm(_thickness(answer['outline'], height))}{_tip(answer, height)}"
    for caution in answer["cautions"]:
        yield ""
        yield from textwrap.wrap(clean(caution["text"], one_line=True), WIDTH)


def _dimensions(blade: Mapping[str, Any], steel: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    per_side, included = blade["edge_angle_per_side_deg"], blade["edge_angle_included_deg"]
    yield "grind", f"{blade['grind_label']}, ground: {blade['side']}"
    yield "edge", f"{per_side:g} deg per side, {included:g} deg included"
    micro = blade["micro_bevel_per_side_deg"]
    if micro is not None:
        yield "micro-bevel", f"{micro:g} deg per side, {2 * micro:g} deg included"
    yield "behind the edge", _mm(blade["edge_thickness_mm"])
    yield "grind line", f"{_mm(blade['grind_line_mm'])} above the edge"
    if blade["wheel_diameter_mm"] is not None:
        yield "contact wheel", _mm(blade["wheel_diameter_mm"])
    yield "stock (spine)", _mm(blade["stock_thickness_mm"])
    yield "height, length", f"{_mm(blade['blade_height_mm'])}, {_mm(blade['blade_length_mm'])}"
    yield "steel", f"{steel['grade']} at {steel['hardness_hrc']:g} HRC"


def _thickness(outline: Any, height: float) -> float:
    return float(thickness(np.asarray(outline), float(height)))


def _tip(answer: Mapping[str, Any], height: float) -> str:
    tip = answer["tip_outline"]
    return "" if tip is None else f"   towards the tip {_mm(_thickness(tip, height))}"


def _mm(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".") + " mm"
