"""Heat of a dry pass against an energy balance worked by hand.

Sources: grinding energy of steel 20-60 J/mm3, Malkin and Guo, Grinding Technology (memory); density 7.8 g/cm3 and heat
capacity 0.46 J/(g K) of steel, handbook values (memory).
"""

from __future__ import annotations

import pytest

from recommender.mechanics.heat import deepest_cool_pass_um, edge_before_hardening_mm


def test_a_pass_warms_the_steel_under_it() -> None:
    """0.3 mm edge, 1 mm2 of it: 0.3 mm3 x 7.8e-3 g/mm3 x 0.46 J/(g K) x 160 K = 0.172 J; at 24 J/mm3 that is 7.2 um."""
    joule = 0.3 * 7.8e-3 * 0.46 * 160
    assert joule == pytest.approx(0.172, abs=0.001)
    assert float(deepest_cool_pass_um(0.3)) == pytest.approx(1000 * joule / (0.6 * 40), rel=0.01)


def test_twice_the_steel_bears_twice_the_pass() -> None:
    assert float(deepest_cool_pass_um(1.0)) == pytest.approx(10 * float(deepest_cool_pass_um(0.1)))


def test_allowance_before_hardening() -> None:
    """Common practice: half a millimetre at least; on a 200 mm blade 0.4 mm more than finished."""
    assert float(edge_before_hardening_mm(0.0, 80.0)) == 0.5
    assert float(edge_before_hardening_mm(0.3, 200.0)) == pytest.approx(0.7)
