"""Scaling laws and monotonicity of the mechanics, on random sections.

Sources: dimensional analysis. With every length multiplied by s: areas grow with s^2, second moments and torsion with
s^4, section moduli with s^3; a cantilever's stiffness with s, its failing tip load with s^2. What is wanted of each
formula besides is that it moves the way the trade says: common practice.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from recommender.geometry.blade import Blade
from recommender.geometry.outline import Outline, Sides, symmetric
from recommender.geometry.outline import face as outline_face
from recommender.geometry.section import bending_modulus, measure, torsion_constant
from recommender.geometry.side_views import SIDE_VIEWS
from recommender.mechanics import blade_bending as whole
from recommender.mechanics import cutting, sharpening, splitting, steel, strength, wear

FEW = settings(max_examples=40, deadline=None)


@st.composite
def sections(draw: Any) -> Outline:
    """Symmetric sections that only widen: edge bevel, primary grind straight or bent, flat up to the spine."""
    stock = draw(st.floats(1.5, 8.0))
    edge = draw(st.floats(0.1, 0.6)) * min(stock, 2.0) / 2
    angle = np.radians(draw(st.floats(12.0, 30.0)))
    bevel = edge / 2 / np.tan(angle)
    line = bevel + draw(st.floats(8.0, 30.0))
    chord = np.arctan2((stock - edge) / 2, line - bevel)
    bulge = draw(st.floats(-0.8, 0.8)) * np.tan(min(chord, angle - chord if angle > chord else 0.0) / 2)
    height = line + draw(st.floats(0.0, 15.0))
    half = stock / 2
    right = outline_face((0.0, 0.0, 0.0), (edge / 2, bevel, bulge), (half, line, 0.0), (half, height, 0.0))
    return symmetric(right)


def scaled(outline: Outline, by: float) -> Outline:
    return outline * np.array([by, by, 1.0])


MATERIAL = st.builds(
    cutting.CutMaterial,
    toughness_n_per_mm=st.floats(0.05, 2.0),
    foundation_n_per_mm3=st.floats(0.005, 1.0),
    plateau_mpa=st.floats(0.02, 3.0),
    friction=st.floats(0.05, 0.8),
)
SCALE = st.floats(0.3, 4.0)


@FEW
@given(sections(), SCALE)
def test_section_measures_scale(outline: Outline, s: float) -> None:
    one, two = measure(outline), measure(scaled(outline, s))
    assert float(two.area_mm2[0]) == pytest.approx(float(one.area_mm2[0]) * s**2, rel=1e-9)
    assert float(two.i_weak_mm4[0]) == pytest.approx(float(one.i_weak_mm4[0]) * s**4, rel=1e-9)
    modulus = [float(bending_modulus(o)[0]) for o in (outline, scaled(outline, s))]
    assert modulus[1] == pytest.approx(modulus[0] * s**3, rel=1e-9)
    torsion = [float(torsion_constant(o)[0]) for o in (outline, scaled(outline, s))]
    assert torsion[1] == pytest.approx(torsion[0] * s**4, rel=1e-7)


@FEW
@given(sections(), st.floats(1.1, 3.0), st.sampled_from(sorted(SIDE_VIEWS)))
def test_whole_blades_scale(outline: Outline, s: float, name: str) -> None:
    length = 4.0 * float(outline[0, :, 1].max())
    one = Blade(outline, length, SIDE_VIEWS[name], taper_mm_per_mm=0.002)
    two = Blade(scaled(outline, s), s * length, SIDE_VIEWS[name], taper_mm_per_mm=0.002)
    assert float(whole.weight(two).mass_g[0]) == pytest.approx(float(whole.weight(one).mass_g[0]) * s**3, rel=1e-6)
    at = 0.9 * length
    stiff = [float(whole.stiffness_n_per_mm(b, a)[0]) for b, a in ((one, at), (two, s * at))]
    assert stiff[1] == pytest.approx(stiff[0] * s, rel=1e-6)
    fails = [float(whole.tip_strength_n(b, 1000.0, d)[0]) for b, d in ((one, 0.1 * length), (two, 0.1 * s * length))]
    assert fails[1] == pytest.approx(fails[0] * s**2, rel=1e-6)


@FEW
@given(sections(), MATERIAL, st.floats(1.2, 5.0))
def test_every_part_of_a_cut_grows_with_its_cause(outline: Outline, m: cutting.CutMaterial, by: float) -> None:
    """Toughness moves the parting alone, in proportion; friction the rubbing; the foundation both others."""
    sides, depth = Sides.of(outline), 0.7 * float(outline[0, :, 1].max())
    base = cutting.cut_force(sides, depth, m)
    tough = cutting.cut_force(sides, depth, _but(m, toughness_n_per_mm=by * m.toughness_n_per_mm))
    rough = cutting.cut_force(sides, depth, _but(m, friction=by * m.friction))
    stiff = cutting.cut_force(sides, depth, _but(m, foundation_n_per_mm3=by * m.foundation_n_per_mm3))
    assert float(tough.parting[0]) == pytest.approx(by * float(base.parting[0]))
    assert float(tough.wedging[0]) == pytest.approx(float(base.wedging[0]))
    assert float(rough.rubbing[0]) == pytest.approx(by * float(base.rubbing[0]))
    assert float(rough.wedging[0]) == pytest.approx(float(base.wedging[0]))
    assert float(stiff.wedging[0]) >= float(base.wedging[0]) * (1 - 1e-9)
    assert float(stiff.rubbing[0]) >= float(base.rubbing[0]) * (1 - 1e-9)


def _but(m: cutting.CutMaterial, **changes: float) -> cutting.CutMaterial:
    return cutting.CutMaterial(**{**vars(m), **changes})


@FEW
@given(sections(), MATERIAL, st.floats(0.0, 0.02), st.floats(0.0, 0.02), st.floats(0.1, 0.9))
def test_deeper_and_blunter_cuts_take_more(
    outline: Outline, m: cutting.CutMaterial, r1: float, r2: float, share: float
) -> None:
    sides, height = Sides.of(outline), float(outline[0, :, 1].max())
    shallow = cutting.cut_force(sides, share * height, m, apex_radius_mm=min(r1, r2))
    deep = cutting.cut_force(sides, min(1.0, share + 0.1) * height, m, apex_radius_mm=min(r1, r2))
    blunt = cutting.cut_force(sides, share * height, m, apex_radius_mm=max(r1, r2))
    assert float(deep.push[0]) >= float(shallow.push[0]) * (1 - 1e-9)
    assert float(blunt.push[0]) >= float(shallow.push[0]) * (1 - 1e-12)


@FEW
@given(sections(), MATERIAL, st.floats(0.0, 3.0), st.floats(0.0, 3.0))
def test_more_slice_takes_less_push(outline: Outline, m: cutting.CutMaterial, one: float, other: float) -> None:
    sides, depth = Sides.of(outline), 0.5 * float(outline[0, :, 1].max())
    pushes = [float(cutting.cut_force(sides, depth, m, slice_push_ratio=xi).push[0]) for xi in sorted((one, other))]
    assert pushes[1] <= pushes[0] * (1 + 1e-12)


@FEW
@given(sections(), st.floats(50, 300), st.floats(10, 60), st.floats(5000, 15000), st.floats(0.05, 0.6), SCALE)
def test_splitting_scales(
    outline: Outline, length: float, arm: float, modulus: float, friction: float, s: float
) -> None:
    """With every length times s and the fracture energy too (J/m2 has a length in it) forces per width grow with s."""
    gc = 0.2
    one = splitting.split(Sides.of(outline), splitting.Billet(length, arm, modulus, gc, friction))
    two = splitting.split(
        Sides.of(scaled(outline, s)), splitting.Billet(s * length, s * arm, modulus, s * gc, friction)
    )
    if np.isnan(one.depth_mm[0]):
        assert np.isnan(two.depth_mm[0])
        return
    assert float(two.depth_mm[0]) == pytest.approx(s * float(one.depth_mm[0]), rel=1e-6)
    assert float(two.drive_n_per_mm[0]) == pytest.approx(s * float(one.drive_n_per_mm[0]), rel=1e-6)
    assert float(two.release_margin_deg[0]) == pytest.approx(float(one.release_margin_deg[0]), abs=1e-5, nan_ok=True)


@FEW
@given(st.floats(300, 2500), st.floats(1.1, 2.0), st.floats(0.1, 0.6), st.floats(1.05, 1.6))
def test_edges_bear_more_with_stress_and_angle(stress: float, more: float, half: float, steeper: float) -> None:
    low = float(strength.wedge_apex_strength(stress, half))
    assert float(strength.wedge_apex_strength(more * stress, half)) == pytest.approx(more * low)
    assert float(strength.wedge_apex_strength(stress, min(half * steeper, 0.78))) >= low
    assert float(strength.least_half_angle_rad(stress, low)) == pytest.approx(half, rel=1e-6)


@FEW
@given(sections(), st.floats(300, 2500), st.floats(1.1, 3.0))
def test_strength_is_proportional_to_the_stress(outline: Outline, stress: float, more: float) -> None:
    sides, bevel = Sides.of(outline), outline[:, 1, 1]
    for figure in (
        lambda sigma: strength.local_edge_strength(sides, sigma, bevel),
        lambda sigma: strength.body_edge_strength(sides, sigma, bevel + 5.0),
        lambda sigma: strength.pry_moment_n_m(outline, sigma),
    ):
        assert float(figure(more * stress)[0]) == pytest.approx(more * float(figure(stress)[0]))


@FEW
@given(st.floats(45, 66), st.floats(0.1, 3.0), st.floats(5.0, 60.0), st.floats(1.0, 500.0))
def test_failure_is_the_lesser_of_yield_and_fracture(hrc: float, softer: float, k_ic: float, flaw: float) -> None:
    """Never above yield; a larger flaw never helps; a harder steel of the same toughness never yields earlier."""
    yields = float(steel.yield_strength_mpa(hrc))
    fails = float(steel.failure_stress_mpa(yields, k_ic, flaw))
    assert fails <= yields * (1 + 1e-12)
    assert float(steel.failure_stress_mpa(yields, k_ic, 2 * flaw)) <= fails * (1 + 1e-12)
    assert float(steel.yield_strength_mpa(hrc - softer)) <= yields


@FEW
@given(st.floats(56, 66), st.floats(20, 38), st.floats(0.5, 2.0), st.floats(0.0, 15.0))
def test_edges_last_with_hardness_acuteness_and_carbide(hrc: float, angle: float, by: float, carbide: float) -> None:
    base = float(wear.edge_retention_mm(hrc, angle, {"CrC": carbide}))
    assert float(wear.edge_retention_mm(hrc + by, angle, {"CrC": carbide})) >= base
    assert float(wear.edge_retention_mm(hrc, angle + by, {"CrC": carbide})) <= base
    assert float(wear.edge_retention_mm(hrc, angle, {"CrC": carbide, "MC": by})) >= base


@FEW
@given(sections(), st.floats(0.3, 2.0), st.floats(1.05, 2.0))
def test_a_thicker_limit_lasts_longer(outline: Outline, thickest: float, by: float) -> None:
    sides = Sides.of(outline)
    few, more = (float(sharpening.sharpenings_until(sides, t)[0]) for t in (thickest, by * thickest))
    assert more >= few - 1e-9
    assert 0 <= few <= 0.5 * float(outline[0, :, 1].max()) / sharpening.BACK_PER_SHARPENING_MM + 1e-9


@FEW
@given(sections(), st.floats(20.0, 300.0), st.floats(1.1, 5.0), st.floats(1.0, 60.0))
def test_minutes_grow_with_steel_and_fall_with_rate(outline: Outline, length: float, by: float, rate: float) -> None:
    taken = sharpening.steel_per_sharpening_mm2(outline)
    assert (taken > 0).all()
    slow = float(sharpening.minutes_per_sharpening(taken, length, rate)[0])
    assert float(sharpening.minutes_per_sharpening(taken, length, by * rate)[0]) == pytest.approx(slow / by)
    assert float(sharpening.minutes_per_sharpening(taken, by * length, rate)[0]) == pytest.approx(slow * by)
    # Setting up is the same for every blade; all else grows with the length and with how slow the steel is.
    work = {"setup_minutes": 4.0, "finishing_minutes": 6.0}
    once = float(sharpening.minutes_per_sharpening(taken, length, rate, **work)[0]) - 4.0
    longer = float(sharpening.minutes_per_sharpening(taken, by * length, rate, **work)[0]) - 4.0
    harder = float(sharpening.minutes_per_sharpening(taken, length, rate, **work, slowness=by)[0]) - 4.0
    assert once > slow
    assert longer == pytest.approx(by * once)
    assert harder == pytest.approx(by * once)


@given(st.floats(45.0, 67.0), st.floats(0.1, 5.0), st.floats(0.5, 20.0))
def test_harder_and_carbide_rich_steel_is_slower_to_sharpen(hrc: float, more: float, volume: float) -> None:
    plain = float(sharpening.slowness(hrc, {"CrC": volume}))
    assert float(sharpening.slowness(hrc + more, {"CrC": volume})) > plain
    assert float(sharpening.slowness(hrc, {"CrC": volume + more})) > plain
    assert float(sharpening.slowness(hrc, {"MC": volume})) > plain
