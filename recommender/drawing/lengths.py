"""Lengths and angles as people read them."""

from __future__ import annotations

from dataclasses import dataclass

from recommender.units import INCH_MM, Unit, show


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

    def figure(self, value: float, unit: Unit) -> str:
        """Write any figure with its unit; lengths in the reader's unit."""
        return self(value) if unit is Unit.MM and self.inches else show(value, unit)


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
