"""Lengths and angles as people read them."""

from __future__ import annotations

import re
from dataclasses import dataclass

from recommender.units import INCH_MM, Unit, show

_NUMBER = r"(?<![\w.])-?\d[\d,]*(?:\.\d+)?"
_IN_INCHES = (
    ("N/mm", INCH_MM, "N/in"),
    ("g/mm", INCH_MM, "g/in"),
    ("mm³ per mm", INCH_MM**-2, "in³ per inch"),
    ("mm³", INCH_MM**-3, "in³"),
    ("mm²", INCH_MM**-2, "in²"),
    ("mm⁴", INCH_MM**-4, "in⁴"),
    ("mm", 1 / INCH_MM, "in"),
)
"""Unit in prose -> factor and unit in inches; what contains another stands before it."""
_QUANTITIES = [
    (rf"((?:{_NUMBER}(?:,| to| and| or|,? x)\s)*)({_NUMBER})[ \u00a0]{unit}(?![\w²³⁴/])", factor, in_inches)
    for unit, factor, in_inches in _IN_INCHES
]
"""Patterns, which only those who want inches have compiled."""
_SAID_BOTH = rf"{_NUMBER} mm \(([^()]* in)\)"
"""A rule's own words where it gives both, such as a gap of 3 mm (1/8 in)."""
_EACH = r"\bper mm\b"


@dataclass(frozen=True)
class Lengths:
    """Writes lengths in millimetres, or in inches on request."""

    inches: bool = False

    def __call__(self, mm: float, digits: int = 2) -> str:
        """Write a length.

        >>> Lengths()(17.0), Lengths(inches=True)(25.4)
        ('17 mm', '1.000 in')
        """
        return f"{self.bare(mm, digits)} {'in' if self.inches else 'mm'}"

    def bare(self, mm: float, digits: int = 2) -> str:
        """Write a length without its unit, as on a drawing.

        >>> Lengths().bare(6.0162), Lengths(inches=True).bare(25.4)
        ('6.02', '1.000')
        """
        if self.inches:
            return f"{mm / INCH_MM:.3f}"
        return f"{mm:.{digits}f}".rstrip("0").rstrip(".") if digits else f"{mm:.0f}"

    def plain(self, mm: float, digits: int = 2) -> str:
        """Write a length without its unit, for a column whose head names it.

        >>> Lengths().plain(17.0), Lengths(inches=True).plain(25.4)
        ('17.00', '1.000')
        """
        return f"{mm / INCH_MM:.3f}" if self.inches else f"{mm:.{digits}f}"

    @property
    def unit(self) -> str:
        """The reader's unit."""
        return "in" if self.inches else "mm"

    def behind_edge(self, mm: float) -> str:
        """Write a thickness behind the edge.

        >>> Lengths().behind_edge(0.3), Lengths().behind_edge(0.0)
        ('0.3 mm behind the edge', 'ground to zero')
        """
        return f"{self(mm)} behind the edge" if mm else "ground to zero"

    def grind_line(self, above_edge_mm: float, below_spine_mm: float) -> str:
        """Write where the grind line runs, on every paper alike: nobody scribes closer than a tenth.

        >>> Lengths().grind_line(15.04, 44.96)
        '15 mm above the edge, 45 mm below the spine'
        """
        return f"{self(above_edge_mm, 1)} above the edge, {self(below_spine_mm, 1)} below the spine"

    def figure(self, value: float, unit: Unit) -> str:
        """Write any figure with its unit; lengths in the reader's unit."""
        return self(value) if unit is Unit.MM and self.inches else self.prose(show(value, unit))

    def prose(self, text: str) -> str:
        """Write sentences, which state lengths in mm, in the reader's unit: three significant digits.

        >>> Lengths(inches=True).prose("between 4 and 7.5 mm, on the 100 mm wheel, 2.64 N/mm; within 3 mm (1/8 in)")
        'between 0.157 and 0.295 in, on the 3.94 in wheel, 67.1 N/in; within 1/8 in'
        >>> Lengths().prose("on the 100 mm wheel")
        'on the 100 mm wheel'
        """
        if not self.inches:
            return text
        text = re.sub(_SAID_BOTH, r"\1", text)
        for quantity, factor, unit in _QUANTITIES:

            def changed(found: re.Match[str], factor: float = factor, unit: str = unit) -> str:
                numbers = re.sub(_NUMBER, lambda number: _scaled(number[0], factor), found[1] + found[2])
                return f"{numbers} {unit}"

            text = re.sub(quantity, changed, text)
        return re.sub(_EACH, "per inch", text)


def _scaled(number: str, factor: float) -> str:
    value = float(number.replace(",", "")) * factor
    return f"{float(f'{value:.3g}'):.6f}".rstrip("0").rstrip(".")


def angle(per_side_deg: float, included_deg: float) -> str:
    """Write an edge angle, always both ways.

    >>> angle(18.0, 36.0), angle(23.0, 23.0)
    ('18° per side, 36° included', '23° per side (one side only), 23° included')
    """
    one = " (one side only)" if per_side_deg == included_deg else ""
    return f"{degrees(per_side_deg)} per side{one}, {degrees(included_deg)} included"


def degrees(value: float) -> str:
    """Write an angle.

    >>> degrees(17.5)
    '17.5°'
    """
    return f"{value:.3f}".rstrip("0").rstrip(".") + "°"
