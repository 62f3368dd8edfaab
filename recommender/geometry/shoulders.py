"""Where the edge bevel ends on each face of a section."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from recommender.geometry.arcs import Array
from recommender.geometry.outline import Outline, Sides


@dataclass(frozen=True)
class Shoulders:
    """Where the edge bevel ends on the left and on the right face of a batch of sections; the apex on a flat face."""

    x: Array
    """(n, 2), mm."""
    y: Array
    """(n, 2), mm, as heights are measured in the outline."""
    apex_mm: Array
    """(n,)"""

    @property
    def thickness_mm(self) -> Array:
        """Thickness at the shoulder, (n,): both faces' distances from the centre plane, each at its own shoulder."""
        return np.asarray(self.x[:, 1] - self.x[:, 0])

    @property
    def bevel_height_mm(self) -> Array:
        """From apex to shoulder along the height, (n,); the higher of both."""
        return np.asarray(self.y.max(axis=1) - self.apex_mm)

    @property
    def bevel_width_mm(self) -> Array:
        """From apex to shoulder along the face, (n,); the wider of both."""
        return np.asarray(np.hypot(self.x, self.y - self.apex_mm[:, None]).max(axis=1))


def shoulders(outlines: Outline) -> Shoulders:
    """Find where the edge bevel ends on each ground face: its first vertex above the apex. (n, v, 3) -> (n, 2), mm.

    Source: definition. Raises GeometryError as `Sides.of` does.

    >>> saber = np.array([[[0, 0, 0], [0.2, 0.5, 0], [2, 20, 0], [-2, 20, 0], [-0.2, 0.5, 0.0]]])
    >>> shoulders(saber).x.tolist(), shoulders(saber).y.tolist()
    ([[-0.2, 0.2]], [[0.5, 0.5]])
    """
    sides = Sides.of(outlines)
    index = np.arange(outlines.shape[1])
    above = sides.y0 > sides.y0[:, :1] + 1e-9
    on_right = index <= sides.spine_side[:, None]
    right = np.argmax(above & on_right, axis=1)
    left = len(index) - 1 - np.argmax((above & ~on_right)[:, ::-1], axis=1)
    vertex = np.stack([left, right], axis=1)
    x, y = (np.take_along_axis(values, vertex, axis=1) for values in (sides.x0, sides.y0))
    # A flat face in x = 0 is not ground: its first vertex is the spine.
    return Shoulders(x, np.where(np.abs(x) > 1e-12, y, sides.y0[:, :1]), sides.y0[:, 0])
