"""What a maker's own shop settles of a brief that leaves it open."""

from __future__ import annotations

from dataclasses import dataclass

from recommender.mechanics.heat import SKIN_MM


@dataclass(frozen=True)
class Bench:
    """The shop that a blade is made in, as far as it shapes the blade."""

    source: str = ""
    """Where it is stated, in words; "" where no shop is."""
    wheels_mm: tuple[float, ...] | None = None
    """Diameters of its contact wheels; None where no shop states them."""
    skin_per_side_mm: float = SKIN_MM
    """Ground off each face after hardening."""


NO_BENCH = Bench()
"""Nobody's: what packs take for a common workshop holds."""
