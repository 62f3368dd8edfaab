"""Cutting energy of black radish rises with the angle of the knife.

Source: A. Starek and E. Kusińska, Unitary energy in the black radish cutting process, ECONTECHMOD (summary seen,
econtechmod.pl): knives of 5, 10 and 15 degrees; lowest at 5, highest at 15, at every speed. The summary has no figures,
so only the order is held to. Nothing is fitted on it; the material is the table's firm vegetables.
"""

from __future__ import annotations

import numpy as np

from recommender.geometry.outline import Sides, face, symmetric
from recommender.mechanics.cutting import CutMaterial, cut_force
from recommender.service import Service

SAMPLE_MM = 20.0


def energy_j_per_m2(included_deg: float) -> float:
    """Of a plain wedge through a sample, work over the area that is cut: mean of the force over depth."""
    m = Service(strict=True).knowledge.materials["firm-vegetables"]
    material = CutMaterial(
        m.toughness_j_per_m2.likely / 1000, m.foundation_n_per_mm3.likely, m.plateau_mpa.likely, m.friction.likely
    )
    wide = 40.0 * np.tan(np.radians(included_deg / 2))
    wedge = Sides.of(symmetric(face((0, 0, 0), (wide, 40.0, 0))))
    depths = np.linspace(1.0, SAMPLE_MM, 20)
    return float(1000 * np.mean([cut_force(wedge, depth, material).push[0] for depth in depths]))


def test_the_order_of_angles() -> None:
    acute, middle, steep = (energy_j_per_m2(angle) for angle in (5.0, 10.0, 15.0))
    assert acute < middle < steep
