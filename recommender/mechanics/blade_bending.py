"""The whole blade: weight, bending and prying at any station, the tip. Figures compare shapes; they licence no load.

Every function takes a batch of n blades and loads or places as scalars or (n,), and returns (n,); `pry_moment_n_m`
alone takes several stations a blade and returns (n, m).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from recommender.errors import GeometryError
from recommender.geometry.arcs import Array
from recommender.geometry.blade import Blade
from recommender.geometry.outline import Sides
from recommender.geometry.profile import faces_at
from recommender.geometry.section import bending_modulus, measure, sideways_inertia
from recommender.mechanics.cutting import CutMaterial
from recommender.mechanics.steel import YOUNGS_MODULUS_MPA

STEEL_G_PER_MM3 = 0.0078
"""Density of hardened steel, 7.7-7.85 g/cm3; common practice."""
ARMS = 40
"""Stations searched for the weakest one, and again between its neighbours."""
_HEIGHT_NODES, _HEIGHT_WEIGHTS = np.polynomial.legendre.leggauss(16)


@dataclass(frozen=True)
class Weight:
    """Of the blade alone, (n,) each, from plunge line to tip, without ricasso, tang and handle."""

    mass_g: Array
    balance_mm: Array
    """Centre of mass, from the plunge line."""


def weight(blade: Blade, density_g_per_mm3: float = STEEL_G_PER_MM3) -> Weight:
    """Mass = rho int A dx, g, and balance point = int x A dx / int A dx, mm from the plunge line, (n,) each.

    Gauss-Legendre over the stations of `Blade.nodes`, about 1e-4. Source: definition.
    """
    x, w = blade.nodes()
    area = measure(blade.at(x).sections).area_mm2.reshape(x.shape) * w
    volume = area.sum(axis=1)
    return Weight(density_g_per_mm3 * volume, (area * x).sum(axis=1) / volume)


def stiffness_n_per_mm(blade: Blade, at_mm: npt.ArrayLike, modulus_mpa: float = YOUNGS_MODULUS_MPA) -> Array:
    """Sideways force at a station per mm of bend there, N/mm: 1 / int_0^a (a - x)^2 / (E I(x)) dx.

    `at_mm` a scalar or (n,), gives (n,). A cantilever held at the plunge line, I as in `sideways_inertia`; twist and
    shear are left out. A pointed tip itself gives way without limit: ask at a stated distance before it. Raises
    GeometryError at a point, at or before the plunge line and past the tip. Source: unit-load theorem, beam theory.
    """
    a = _inside(blade, at_mm)
    blade.edge_and_height_mm(a)  # a point is refused
    x, w = blade.nodes(0.0, a, parts=2)
    inertia = sideways_inertia(blade.at(x).sections).reshape(x.shape)
    return np.asarray(modulus_mpa / ((a - x) ** 2 / inertia * w).sum(axis=1))


def pry_moment_n_m(blade: Blade, at_mm: npt.ArrayLike, stress_mpa: npt.ArrayLike) -> Array:
    """Sideways moment at which the outermost fibre of each station fails: sigma W(x), N m.

    Stations `at_mm` (m,) or (n, m) from the plunge line, stress a scalar or (n,); gives (n, m). Raises GeometryError as
    `Blade.at` does. Source: beam theory, closed form.
    """
    stations = blade.at(at_mm)
    modulus = bending_modulus(stations.sections).reshape(stations.x_mm.shape)
    return np.asarray(blade.column(stress_mpa) * modulus / 1000)


def tip_strength_n(blade: Blade, stress_mpa: npt.ArrayLike, behind_tip_mm: npt.ArrayLike = 3.0) -> Array:
    """Sideways load at a stated distance behind the tip that fails the weakest station, N: min sigma W(x) / (a - x).

    Stress and distance are scalars or (n,); gives (n,). Searched between the load and the plunge line, arms in
    geometric progression from a twentieth of that distance, and where the plunge ends: the least is found within about
    1 %. Limits: beam theory, so nothing is said within a thickness of the load; a nick belongs in `stress_mpa`. Raises
    GeometryError for a distance that is not inside the blade. Source: beam theory.
    """
    behind = blade.column(behind_tip_mm)
    a = _inside(blade, blade.length_mm - behind)
    if not (behind > 0).all():
        raise GeometryError("the tip is loaded at a distance behind its point")
    low, high = np.minimum(behind / 20, a / 2), a
    rows = np.arange(len(a))
    for _ in range(2):
        arm = low * (high / low) ** np.linspace(0, 1, ARMS)
        arm = np.sort(np.concatenate([arm, np.clip(a - blade.plunge_radius_mm, low, high)], axis=1), axis=1)
        modulus = bending_modulus(blade.at(np.maximum(a - arm, 0.0)).sections).reshape(arm.shape)
        load = blade.column(stress_mpa) * modulus / arm
        weakest = np.argmin(load, axis=1)
        low, high = (arm[rows, np.clip(weakest + step, 0, ARMS)][:, None] for step in (-1, 1))
    return np.asarray(load.min(axis=1))


@dataclass(frozen=True)
class Penetration:
    """Force along the blade that drives its tip in, N, and its parts, each (n,)."""

    force: Array
    parting: Array
    wedging: Array
    rubbing: Array


def penetration(
    blade: Blade, depth_mm: npt.ArrayLike, material: CutMaterial, *, apex_radius_mm: npt.ArrayLike = 0.0
) -> Penetration:
    """Force on a blade whose tip stands `depth_mm` deep in a material and goes on in: an estimate that compares tips.

    Pushed on by dD, every layer of the material sees the next section, so energy e per area of section sums up to the
    section at the surface: dW/dD = int e dy over its height. Each face presses its own x aside with
    p = min(k x, plateau), so e = k x^2/2, past yield plateau (x - plateau/2k): on thick blades the plateau times the
    projected area. Faces rub with mu p over all that is in. Parted is the section's height, by the edge with
    R (1 + r/r0), and the width of its spine, which a square back tears. F = parting + wedging + rubbing.

    Depth and apex radius are scalars or (n,); gives (n,) each, N.

    Limits: quasi-static, no draw, no springing back; k and plateau lump the sample's size; the spine's term
    is the roughest. Raises GeometryError for a depth that is not inside the blade.
    Derivation: work balance with the foundation of `cutting.cut_force`; an estimate.
    """
    depth = _inside(blade, depth_mm)
    k, plateau = (blade.column(v)[..., None] for v in (material.foundation_n_per_mm3, material.plateau_mpa))
    at = blade.length_mm - depth

    def pressed(x: Array) -> tuple[Array, Array, Array]:
        """Height of sections, work done on both faces per area of section, and what both press with: (n, m[, q])."""
        stations = blade.at(x)
        sides = Sides.of(stations.sections)
        faces = faces_at(sides, stations.height_mm.reshape(-1, 1) * (_HEIGHT_NODES + 1) / 2)
        asides = [np.abs(face).reshape(*x.shape, -1) for face in faces]
        presses = [np.minimum(k * aside, plateau) for aside in asides]
        energy = sum(p * (aside - p / (2 * k)) for aside, p in zip(asides, presses, strict=True))
        return stations.height_mm, np.asarray(energy), presses[0] + presses[1]

    height, energy, _ = pressed(at)
    wedging = (energy * _HEIGHT_WEIGHTS).sum(axis=-1) * height / 2
    x, w = blade.nodes(at)
    along, _, p = pressed(x)
    rubbing = material.friction * ((p * _HEIGHT_WEIGHTS).sum(axis=-1) * along * w).sum(axis=1) / 2
    surface = blade.at(at)
    left, right = faces_at(surface.sections, surface.height_mm.ravel())
    tough = blade.column(material.toughness_n_per_mm)
    sharp = tough * (1 + blade.column(apex_radius_mm) / blade.column(material.blunt_length_mm))
    parting = (sharp * height)[:, 0] + tough[:, 0] * (right - left)
    return Penetration(parting + wedging[:, 0] + rubbing, parting, wedging[:, 0], rubbing)


def _inside(blade: Blade, at_mm: npt.ArrayLike) -> Array:
    at = blade.column(at_mm)
    if not ((at > 0) & (at <= blade.length_mm)).all():
        raise GeometryError("a place on the blade lies between plunge line and tip")
    return at
