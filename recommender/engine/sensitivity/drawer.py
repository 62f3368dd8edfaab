"""Draws every uncertain input once, from its band, and those that hang together alike."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from recommender.geometry.arcs import Array
from recommender.models.base import Quantity

SEED = 20261124
"""Fixed: the same brief gets the same answer."""
BAND_PERCENT = (5.0, 95.0)
"""Percentiles of the draws between which a band lies."""
WEIGHT_SPREAD = 0.3
"""Standard deviation of the logarithm of a goal's weight: people differ by about a third in what they want."""
TOGETHER = 0.6
"""Correlation of the ranks of inputs that hang together; estimate."""


@dataclass
class Drawer:
    """Draws each uncertain input once and remembers it by name.

    Inputs that name the same cause move together: a share TOGETHER of the variance of each one's normal score is the
    cause's, so that any two of them are correlated by as much, and each keeps its own band.
    """

    rng: np.random.Generator
    count: int
    drawn: dict[str, Array] = field(default_factory=dict)
    _causes: dict[str, Array] = field(default_factory=dict)

    def quantity(self, name: str, q: Quantity, cause: str = "") -> Array:
        """Triangular between low and high with its mode at likely, on a logarithmic scale where all are positive."""
        return self.between(name, q.low, q.likely, q.high, cause, logarithmic=q.low > 0)

    def between(
        self, name: str, low: float, mode: float, high: float, cause: str = "", *, logarithmic: bool = False
    ) -> Array:
        """Triangular, of the number or of its logarithm."""
        if name not in self.drawn:
            u = self._evenly(cause)
            if logarithmic:
                self.drawn[name] = np.exp(triangular(u, np.log(low), np.log(mode), np.log(high)))
            else:
                self.drawn[name] = triangular(u, low, mode, high)
        return self.drawn[name]

    def weight(self, name: str) -> Array:
        """Log-normal about 1."""
        if name not in self.drawn:
            self.drawn[name] = np.exp(WEIGHT_SPREAD * self.rng.standard_normal(self.count))
        return self.drawn[name]

    def _evenly(self, cause: str) -> Array:
        """Even between 0 and 1; with a cause by the ranks of its normal scores and own ones."""
        if not cause:
            return self.rng.random(self.count)
        if cause not in self._causes:
            self._causes[cause] = self.rng.standard_normal(self.count)
        own = self.rng.standard_normal(self.count)
        return self.even(np.sqrt(TOGETHER) * self._causes[cause] + np.sqrt(1 - TOGETHER) * own)

    def even(self, scores: Array) -> Array:
        """Normal scores as numbers even between 0 and 1: by their ranks, so that the draws fill the band evenly."""
        return (ranks(scores) + 0.5) / self.count


def triangular(u: Array, low: float, mode: float, high: float) -> Array:
    """Triangular between low and high, from what is even between 0 and 1."""
    if high <= low:
        return np.full(u.shape, mode)
    split = (mode - low) / (high - low)
    rising = low + np.sqrt(u * (high - low) * (mode - low))
    falling = high - np.sqrt((1 - u) * (high - low) * (high - mode))
    return np.asarray(np.where(u < split, rising, falling))


def ranks(values: Array) -> Array:
    """Place of each among all, from 0."""
    found = np.empty(len(values))
    found[np.argsort(values, kind="stable")] = np.arange(len(values))
    return found
