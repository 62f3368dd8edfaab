"""How each layer looks: one table for every format."""

from __future__ import annotations

from dataclasses import dataclass

from recommender.models.workshop.sheet import Layer


@dataclass(frozen=True)
class Style:
    """Line width, colours and dashes of a layer."""

    width_mm: float
    rgb: tuple[int, int, int]
    aci: int
    """The nearest colour of a DXF's index; 7 is black on white and white on black."""
    fill: tuple[int, int, int] | None = None
    """What closed, filled paths are filled with; None: with the line's own colour."""
    dashes_mm: tuple[float, ...] = (2.4, 1.2)
    """Drawn and left out in turn, where a path is dashed."""


STYLES = {
    Layer.OUTLINE: Style(0.5, (24, 24, 24), 7, fill=(228, 231, 233)),
    Layer.GRIND: Style(0.35, (20, 70, 150), 5, dashes_mm=(4.0, 1.2)),
    Layer.PLUNGE: Style(0.35, (150, 40, 40), 1, dashes_mm=(1.6, 1.0)),
    Layer.TRANSITION: Style(0.25, (110, 60, 140), 6, dashes_mm=(0.6, 1.2)),
    Layer.SWEDGE: Style(0.35, (0, 105, 95), 4, dashes_mm=(2.4, 1.0)),
    Layer.BALANCE: Style(0.3, (170, 90, 0), 30),
    Layer.CENTRE: Style(0.18, (110, 110, 110), 8, dashes_mm=(5.0, 1.0, 0.6, 1.0)),
    Layer.DIMENSION: Style(0.18, (60, 60, 60), 3),
    Layer.TEXT: Style(0.18, (24, 24, 24), 7),
    Layer.FRAME: Style(0.5, (24, 24, 24), 9),
}
"""Lines of the blade are thick, what explains them thin, as technical drawings have it."""
