"""Columns that every design has, and what a proposal calls them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

Side = Literal["both", "left", "right"]
"""What of a blade is ground."""
DESIGN_KEYS: Mapping[str, str] = {
    "stock_thickness_mm": "stock_thickness_mm",
    "height_mm": "blade_height_mm",
    "grind_line_mm": "grind_line_mm",
    "edge_thickness_mm": "edge_thickness_mm",
    "edge_angle_per_side_deg": "edge_angle_per_side_deg",
    "wheel_diameter_mm": "wheel_diameter_mm",
    "wheel_shore_a": "wheel_hardness_shore_a",
    "micro_bevel_per_side_deg": "micro_bevel_per_side_deg",
    "micro_bevel_thickness_mm": "micro_bevel_thickness_mm",
    "side": "side",
}
"""Columns that every design has -> the keys that a proposal has them under."""
