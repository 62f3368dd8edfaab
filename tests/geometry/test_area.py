"""Area alone against the full measures, which are checked against quadrature elsewhere."""

import numpy as np
import pytest

from recommender.errors import GeometryError
from recommender.geometry.outline import face, symmetric
from recommender.geometry.section import area_mm2, measure


@pytest.mark.parametrize("bulge", [-0.05, -1e-9, 0.0, 1e-9, 0.05, 0.2])
def test_the_same_area(bulge):
    outlines = symmetric(
        face((0, 0, 0), (0.2, 0.5, bulge), (np.linspace(1, 3, 50), 20.0, 0), (np.linspace(1, 3, 50), 30.0, 0))
    )
    assert area_mm2(outlines) == pytest.approx(measure(outlines).area_mm2, rel=1e-13)
    assert area_mm2(outlines[0]) == pytest.approx(measure(outlines[0]).area_mm2, rel=1e-13)


def test_a_half_circle():
    """Half a disc of radius 1: pi / 2."""
    assert area_mm2([[-1, 0, 0], [1, 0, 1], [-1, 0, 0.0]]) == pytest.approx(np.pi / 2, rel=1e-14)


def test_clockwise_is_refused():
    with pytest.raises(GeometryError, match="clockwise"):
        area_mm2([[0, 0, 0], [-2, 40, 0], [2, 40, 0]])
