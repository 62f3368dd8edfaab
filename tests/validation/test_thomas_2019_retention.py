"""Edge retention: the regression of L. Thomas, article of 11 February 2019, on slicing tests after ISO 8442-5.

Source: seen (coefficients and the two worked values, mechanics.md section 3); the test's threshold of 150 mm for TCC is
from memory. Expected values are sums done by hand beside each row.
"""

from __future__ import annotations

import numpy as np
import pytest

from recommender.mechanics.wear import edge_retention_mm, retention_is_told


@pytest.mark.parametrize(
    ("hrc", "included", "carbides", "tcc"),
    [
        # -157 + 884.8 - 534 + 33.6
        (56, 30, {"CrC": 3}, 227.4),
        # -157 + 979.6 - 534 + 189.8 + 235.8
        (62, 30, {"CrVC": 13, "MC": 9}, 714.2),
        # -157 + 948 - 534: no carbides at all
        (60, 30, {}, 257.0),
        # -157 + 995.4 - 356 + 52.4 + 76
        (63, 20, {"MC": 2, "M6C": 8}, 610.8),
        # -157 + 948 - 712 + 41.8 + 38.8 + 10
        (60, 40, {"MN": 2, "CrN": 2, "Fe3C": 2}, 169.6),
    ],
)
def test_worked_values(hrc: float, included: float, carbides: dict[str, float], tcc: float) -> None:
    assert float(edge_retention_mm(hrc, included, carbides)) == pytest.approx(tcc, abs=1e-9)


@pytest.mark.parametrize(
    ("hrc", "carbides", "printed"), [(56, {"CrC": 3.0}, 227), (62, {"CrVC": 13.0, "MC": 9.0}, 714)]
)
def test_printed_values(hrc: float, carbides: dict[str, float], printed: int) -> None:
    assert round(float(edge_retention_mm(hrc, 30, carbides))) == printed


@pytest.mark.parametrize(
    ("carbide", "per_percent"),
    [
        ("Fe3C", 5.0),
        ("CrC", 11.2),
        ("CrVC", 14.6),
        ("MC", 26.2),
        ("M6C", 9.5),
        ("MN", 20.9),
        ("CrN", 19.4),
    ],
)
def test_every_carbide_counts_by_volume(carbide: str, per_percent: float) -> None:
    gain = edge_retention_mm(60, 30, {carbide: 7.0}) - edge_retention_mm(60, 30, {carbide: 2.0})
    assert float(gain) == pytest.approx(5 * per_percent, abs=1e-9)


def test_hardness_and_angle() -> None:
    """15.8 mm per HRC, 17.8 mm less per degree included."""
    assert float(edge_retention_mm(61, 30, {}) - edge_retention_mm(60, 30, {})) == pytest.approx(15.8)
    assert np.diff(edge_retention_mm(60, np.array([30.0, 31.0]), {}))[0] == pytest.approx(-17.8)


def test_nothing_is_said_where_nothing_is_left() -> None:
    """56 HRC, 45 degrees, 3 % CrC: -157 + 884.8 - 801 + 33.6 = -39.6; such an edge cuts all the same."""
    assert np.isnan(edge_retention_mm(56, 45, {"CrC": 3}))


@pytest.mark.parametrize(("included", "told"), [(19.9, False), (20.0, True), (50.0, True), (50.1, False)])
def test_nothing_is_said_outside_the_tested_angles(included: float, told: bool) -> None:
    assert bool(np.isfinite(edge_retention_mm(65, included, {"MC": 9}))) is told


@pytest.mark.parametrize(
    ("hrc", "carbides", "told"),
    # At 30 degrees: 227.4, the least of which the article speaks; -157 + 837.4 - 534 + 5.6 = 152.0
    [(56, {"CrC": 3.0}, True), (53, {"CrC": 0.5}, False), (62, {"CrVC": 13.0, "MC": 9.0}, True)],
)
def test_of_softer_steels_than_were_tested_nothing_is_said(hrc: float, carbides: dict[str, float], told: bool) -> None:
    assert bool(retention_is_told(hrc, carbides)) is told


@pytest.mark.parametrize(("included", "passes"), [(34.0, True), (35.0, False)])
def test_iso_8442_5_threshold(included: float, passes: bool) -> None:
    """TCC >= 150 mm: 56 HRC with 3 % CrC gives 761.4 - 17.8 x included, 156.2 at 34 degrees and 138.4 at 35."""
    assert (float(edge_retention_mm(56, included, {"CrC": 3})) >= 150) is passes
