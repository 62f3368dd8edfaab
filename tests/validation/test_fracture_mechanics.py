"""Brittle failure from a scratch or nick: linear elastic fracture mechanics of an edge crack.

Source: K = 1.12 sigma sqrt(pi a) for a shallow edge crack (seen: the single-edge-notch polynomial 1.12 - 0.231 a/b
+ ... at cricelli.com; the half-plane's own factor, 1.1215, from memory). Values worked by hand.
"""

from __future__ import annotations

import math

import pytest

from recommender.mechanics.steel import (
    LEAST_K_IC,
    chips_above_mm,
    failure_stress_mpa,
    fracture_toughness,
)


@pytest.mark.parametrize(
    ("k_ic", "flaw_um", "stress"),
    [
        # sqrt(pi x 60e-6) = 0.0137294; 15 / (1.12 x 0.0137294) = 975.5
        (15.0, 60.0, 975.5),
        # sqrt(pi x 4e-6) = 0.00354491; 20 / (1.12 x 0.00354491) = 5037.4
        (20.0, 4.0, 5037.4),
        # sqrt(pi x 250e-6) = 0.0280250; 30 / (1.12 x 0.0280250) = 955.8
        (30.0, 250.0, 955.8),
    ],
)
def test_edge_crack(k_ic: float, flaw_um: float, stress: float) -> None:
    assert failure_stress_mpa(1e9, k_ic, flaw_um) == pytest.approx(stress, abs=0.06)


def test_free_surface_factor() -> None:
    """1.12 stands for 1.1215: K of the stress the code gives is K_IC to 0.2 %."""
    stress = failure_stress_mpa(1e9, 18.0, 30.0)
    assert 1.1215 * stress * math.sqrt(math.pi * 30e-6) == pytest.approx(18.0, rel=2e-3)


@pytest.mark.parametrize(("flaw_um", "yields"), [(10.0, True), (14.2, True), (14.3, False), (60.0, False)])
def test_small_flaws_let_it_yield(flaw_um: float, yields: bool) -> None:
    """K_IC 15, yield 2000: the flaw at which both meet is (15 / (1.12 x 2000))^2 / pi = 14.27 um."""
    assert bool(failure_stress_mpa(2000.0, 15.0, flaw_um) == 2000.0) is yields


def test_four_times_the_flaw_halves_the_strength() -> None:
    """Griffith: strength falls with the square root of the flaw."""
    assert failure_stress_mpa(1e9, 15.0, 40.0) == pytest.approx(failure_stress_mpa(1e9, 15.0, 10.0) / 2)


def test_harder_is_not_always_stronger() -> None:
    """1.4 MPa sqrt m lost per HRC: at 58 HRC with a 60 um nick 20 / (1.12 x 0.0137294) = 1300.7, at 62 HRC 936.5."""
    soft, hard = (failure_stress_mpa(2000.0, fracture_toughness(20.0, -1.4, 58.0, hrc), 60.0) for hrc in (58.0, 62.0))
    assert soft == pytest.approx(1300.7, abs=0.1)
    assert hard == pytest.approx(936.5, abs=0.1)  # 14.4 / (1.12 x 0.0137294)


@pytest.mark.parametrize(("hrc", "k_ic"), [(58.0, 20.0), (54.0, 25.6), (66.0, 8.8), (70.0, LEAST_K_IC)])
def test_toughness_over_hardness(hrc: float, k_ic: float) -> None:
    """20 at 58 HRC, 1.4 less per HRC: 25.6 four below, 8.8 eight above; 3.2 at 70 would be below any blade steel."""
    assert fracture_toughness(20.0, -1.4, 58.0, hrc) == pytest.approx(k_ic)


@pytest.mark.parametrize(
    ("yield_mpa", "k_ic", "thickness_mm"),
    # (20 / 1900)^2 m = 0.1108 mm; (30 / 1500)^2 m = 0.4 mm
    [(1900.0, 20.0, 0.1108), (1500.0, 30.0, 0.4)],
)
def test_thick_edges_chip(yield_mpa: float, k_ic: float, thickness_mm: float) -> None:
    assert chips_above_mm(yield_mpa, k_ic) == pytest.approx(thickness_mm, abs=5e-5)
