"""Steel ground off, against the volume of a watertight mesh of the same blade.

Source: trimesh's volume of closed meshes (divergence theorem over triangles), shapely's area of flattened sections;
known: computed by them. A mesh of n slabs along the blade and m chords for each arc misses the blade by an amount of
order 1/n^2 + 1/m^2. Two meshes, the second twice as fine in both, are extrapolated: b + (b - a)/3. What remains is less
than what they are apart.
"""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
import trimesh

from recommender.engine.answer.tried_blade import followed_blade
from recommender.geometry.blade import Blade
from recommender.shop.price.bars import bar_for
from recommender.shop.price.removal import removal

NAMES = [
    "camp-chopper-slack-belt",  # saber convex
    "guide-prying-tip",  # two zones
    "harbour-fish-filleter",  # trailing, taper in the grind
    "left-handed-saddler",  # one side
    "left-handed-spoon-carver",  # to zero
    "wheels-only-skinner",  # hollow
]
BAR_MM = 1.5
"""Thicker and wider than the blade, so that every kind of removal is there."""


def ring(outline: np.ndarray, pieces: int) -> np.ndarray:
    """Points round one section (v, 3): every side in so many, arcs by DXF's definition of the bulge."""
    points = []
    for (x0, y0, bulge), (x1, y1, _) in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        start, end, share = complex(x0, y0), complex(x1, y1), np.arange(pieces) / pieces
        if abs(bulge) > 1e-9 and start != end:
            sweep = 4 * np.arctan(bulge)
            centre = (start + end) / 2 + 1j * (end - start) / (2 * np.tan(sweep / 2))
            side = centre + (start - centre) * np.exp(1j * sweep * share)
        else:
            side = start + (end - start) * share
        points.append(side)
    return np.concatenate(points)


def mesh_of(blade: Blade, slabs: int, pieces: int) -> trimesh.Trimesh:
    """Rings at closer and closer stations towards the tip, joined by triangles, with a lid at each end."""
    length = float(blade.length_mm[0, 0])
    # No ring stands in the point itself, and none beyond the tip; dense where the point narrows.
    x = length * (1 - (1 - np.linspace(0, 1, slabs + 1)[:-1]) ** 1.5)
    cut = blade.at(x)
    rings = []
    for at, up, outline in zip(x, cut.edge_mm[0], cut.outlines[0], strict=True):
        flat = ring(outline, pieces)
        rings.append(np.column_stack([flat.real, flat.imag + up, np.full(len(flat), at)]))
    around = len(rings[0])
    height = float(blade.height_mm[0, 0])
    tip = [0.0, float(blade.side_view.edge(1.0)) * height, length]
    start = rings[0].mean(axis=0)
    vertices = np.concatenate([*rings, [tip], [start]])
    near, far = len(vertices) - 1, len(vertices) - 2
    here = np.arange(around)
    there = (here + 1) % around
    faces = [np.column_stack([there, here, np.full(around, near)])]
    for k in range(len(rings) - 1):
        a, b = k * around, (k + 1) * around
        faces += [np.column_stack([a + here, a + there, b + there]), np.column_stack([a + here, b + there, b + here])]
    last = (len(rings) - 1) * around
    faces.append(np.column_stack([last + here, last + there, np.full(around, far)]))
    return trimesh.Trimesh(vertices, np.concatenate(faces), process=False)


def volume(blade: Blade) -> tuple[float, float]:
    """Volume by meshes of one and two fine grids: extrapolated, and how far the two are apart."""
    coarse, fine = mesh_of(blade, 500, 6), mesh_of(blade, 1000, 12)
    assert coarse.is_watertight
    assert fine.is_watertight
    assert fine.is_winding_consistent
    a, b = abs(float(coarse.volume)), abs(float(fine.volume))
    return b + (b - a) / 3, abs(b - a)


@pytest.fixture(scope="module")
def blades(service, answered):
    out = {}
    for name in NAMES:
        p = answered[name].proposal
        out[name] = (p, followed_blade(service.grinds[p.grind], p))
    return out


@pytest.mark.parametrize("name", NAMES)
def test_removed_and_left_make_the_bar(blades, name: str) -> None:
    """bar width x length x thickness = what comes off + the mesh, within 1e-4 of the bar.

    That is what the quadrature along the blade promises where a grind line runs out; the mesh, extrapolated, is closer.
    """
    p, blade = blades[name]
    width, thick = p.blade_height_mm * 1.3, p.stock_thickness_mm + BAR_MM
    off = removal(blade, width, thick)
    left, apart = volume(blade)
    bar = width * p.blade_length_mm * thick
    assert apart < 1e-3 * bar
    gone = off.profile_mm3 + off.clean_up_mm3 + off.taper_mm3 + off.primary_mm3 + off.swedge_mm3 + off.edge_mm3
    assert gone == pytest.approx(bar - left, abs=1e-4 * bar)
    assert off.ground_mm3 == pytest.approx(gone - off.profile_mm3, rel=1e-12)
    for part in ("profile_mm3", "clean_up_mm3", "taper_mm3", "primary_mm3", "swedge_mm3", "edge_mm3"):
        assert getattr(off, part) >= 0, part


@pytest.mark.parametrize("name", ["camp-chopper-slack-belt", "left-handed-saddler", "wheels-only-skinner"])
def test_what_a_swedge_takes(blades, name: str) -> None:
    """The mesh of the blade without it less the mesh with it."""
    p, plain = blades[name]
    length, stock = p.blade_length_mm, p.stock_thickness_mm
    beveled = dataclasses.replace(
        plain, swedge_length_mm=0.5 * length, swedge_angle_per_side_deg=25.0, swedge_spine_mm=0.3 * stock
    )
    off = removal(beveled, p.blade_height_mm + 2, stock)
    (whole, a), (cut, b) = volume(plain), volume(beveled)
    assert off.swedge_mm3 > 10
    # The run-in of a swedge makes a corner that no station falls on: half of what the meshes differ by, and 1 %.
    assert off.swedge_mm3 == pytest.approx(whole - cut, abs=(a + b) / 2 + 0.01 * (whole - cut))
    without = removal(plain, p.blade_height_mm + 2, stock)
    assert off.primary_mm3 == pytest.approx(without.primary_mm3, rel=1e-9), "each pays for its own"
    assert without.swedge_mm3 == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("name", ["harbour-fish-filleter", "camp-chopper-slack-belt"])
def test_a_taper_alone(blades, name: str) -> None:
    """Height x stock lost, by Simpson over 4000 slabs: int h(x) k x dx; in the grind where that carries it."""
    p, blade = blades[name]
    k = 0.006
    tapered = dataclasses.replace(blade, taper_mm_per_mm=k)
    x = np.linspace(0, p.blade_length_mm, 4001)
    share = x / p.blade_length_mm
    high = (blade.side_view.spine(share) - blade.side_view.edge(share)) * p.blade_height_mm
    simpson = np.array([1, *[4, 2] * 1999, 4, 1]) * (p.blade_length_mm / 4000) / 3
    wanted = float(simpson @ (high * k * x))
    off, straight = (removal(b, 100.0, 10.0) for b in (tapered, dataclasses.replace(blade, taper_mm_per_mm=0.0)))
    if name == "harbour-fish-filleter":
        assert off.taper_in_grind
        assert off.taper_mm3 == 0
    else:
        assert not off.taper_in_grind
        assert off.taper_mm3 == pytest.approx(wanted, rel=1e-4)
    left, _ = volume(tapered)
    plain, _ = volume(dataclasses.replace(blade, taper_mm_per_mm=0.0))
    more = (off.taper_mm3 + off.primary_mm3) - (straight.taper_mm3 + straight.primary_mm3)
    assert more == pytest.approx(plain - left, rel=0.02)


@pytest.mark.parametrize("name", NAMES)
def test_sections_along_the_blade_by_shapely(blades, polygon_of, name: str) -> None:
    """Primary and edge between plunge and tip: bar section less ground section, both by shapely, Simpson over 400."""
    p, blade = blades[name]
    length = p.blade_length_mm
    x = np.linspace(0, length, 401)[:-1]
    cut = blade.at(x)
    areas = [
        high * stock - polygon_of(outline, 60).area
        for high, stock, outline in zip(cut.height_mm[0], cut.stock_mm[0], cut.outlines[0], strict=True)
    ]
    simpson = np.array([1, *[4, 2] * 199, 4, 1]) * (length / 400) / 3
    wanted = float(simpson @ [*areas, 0.0])
    off = removal(blade, p.blade_height_mm + 2, p.stock_thickness_mm)
    taper = float(simpson @ [*(cut.height_mm[0] * (p.stock_thickness_mm - cut.stock_mm[0])), 0.0])
    got = off.primary_mm3 + off.edge_mm3 + off.swedge_mm3 - (taper if off.taper_in_grind else 0.0)
    assert got == pytest.approx(wanted, rel=4e-3)


def test_the_bar_on_the_sheet_is_the_bar_of_the_volumes(service, answered, shop) -> None:
    for name, scenario in answered.items():
        p, sheet = scenario.proposal, service.workshop.worksheet(scenario.brief, scenario.answer, shop)
        blade = followed_blade(service.grinds[p.grind], p)
        bar = bar_for(p, blade, shop.material, shop.heat_treatment.skin_per_side_mm)
        assert (sheet.bar.thickness_mm, sheet.bar.width_mm) == (bar.thickness_mm, bar.width_mm)
        r = sheet.removed
        grams = 0.0078 * (r.clean_up_mm3 + r.taper_mm3 + r.primary_mm3 + r.swedge_mm3 + r.edge_mm3)
        assert r.ground_g == pytest.approx(grams, abs=0.06), name
        area = float(blade.side_area_mm2[0])
        tang = sheet.tang_length_mm * sheet.tang_width_mm
        skin_of_tang = tang * (bar.thickness_mm - p.stock_thickness_mm)  # ground off too, of what is not weighed
        finished = (area * bar.thickness_mm + skin_of_tang) * 0.0078 - grams
        assert sheet.mass_g == pytest.approx(finished, abs=0.06), f"{name}: what is left weighs what the sheet says"
