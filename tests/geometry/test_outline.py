"""Outlines: what is refused, and how faces are closed to sections."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from recommender.errors import BevelwrightError, GeometryError
from recommender.geometry.outline import Sides, as_batch, face, is_single, mirrored, one_sided, symmetric
from recommender.geometry.section import measure

TRIANGLE = [[0.0, 0.0, 0.0], [2.0, 40.0, 0.0], [-2.0, 40.0, 0.0]]
BAD = {
    "nothing": None,
    "a number": 5.0,
    "an empty list": [],
    "two vertices": TRIANGLE[:2],
    "no bulges": [[0, 0], [2, 40], [-2, 40]],
    "four columns": [[0, 0, 0, 0], [2, 40, 0, 0], [-2, 40, 0, 0]],
    "four axes": [[TRIANGLE]],
    "nan": [[0, 0, 0], [2, np.nan, 0], [-2, 40, 0]],
    "infinity": [[0, 0, 0], [np.inf, 40, 0], [-2, 40, 0]],
    "nan bulge": [[0, 0, np.nan], [2, 40, 0], [-2, 40, 0]],
    "beyond a half-circle": [[0, 0, 0], [2, 40, 1.01], [-2, 40, 0]],
    "beyond a half-circle, inwards": [[0, 0, -1.01], [2, 40, 0], [-2, 40, 0]],
    "no width": [[0, 0, 0], [0, 40, 0], [0, 20, 0]],
    "no height": [[-1, 0, 0], [1, 0, 0], [0, 0, 0]],
    "one point": [[1, 1, 0], [1, 1, 0], [1, 1, 0]],
    "ragged": [[0, 0, 0], [2, 40, 0], [-2, 40]],
    "text": [["a", "b", "c"]] * 3,
}


@pytest.mark.parametrize("bad", BAD.values(), ids=BAD.keys())
@pytest.mark.parametrize("use", [as_batch, measure, Sides.of])
def test_degenerate_outlines_are_refused_in_one_line(bad, use):
    with pytest.raises(GeometryError) as refused:
        use(bad)
    assert isinstance(refused.value, BevelwrightError)
    assert refused.value.exit_code == 2
    assert len(str(refused.value).splitlines()) == 1
    assert len(str(refused.value)) > 20


CROOKED = {
    "clockwise": TRIANGLE[::-1],
    "no area": [[0, 0, 0], [2, 40, 0], [1, 20, 0]],
    "crossing to a negative area": [[0, 0, -1], [0, 40, 0], [0, 20, 0]],
}


@pytest.mark.parametrize("crooked", CROOKED.values(), ids=CROOKED.keys())
def test_measuring_refuses_what_encloses_nothing(crooked):
    with pytest.raises(GeometryError, match=r"no area|clockwise"):
        measure(crooked)


def test_measuring_refuses_sizes_that_overflow():
    with pytest.raises(GeometryError):
        measure(np.array(TRIANGLE) * [1e300, 1e300, 1.0])


def test_one_bad_outline_spoils_its_batch():
    with pytest.raises(GeometryError):
        as_batch([TRIANGLE, BAD["nan"]])


@pytest.mark.parametrize(("outline", "single"), [(TRIANGLE, True), ([TRIANGLE], False), ([TRIANGLE, TRIANGLE], False)])
def test_single_and_batch(outline, single):
    batch = as_batch(outline)
    assert is_single(outline) is single
    assert batch.shape == ((1 if single else len(outline)), 3, 3)
    assert batch.dtype == np.float64


def test_exact_half_circles_are_accepted():
    assert as_batch([[0, 0, 1.0], [0, 40, -1.0], [0, 20, 0]]).shape == (1, 3, 3)


def test_a_batch_may_be_empty():
    assert as_batch(np.empty((0, 7, 3))).shape == (0, 7, 3)


def test_a_face_broadcasts_numbers_and_arrays():
    right = face((0.0, 0.0, 0.1), (np.array([1.0, 2.0]), 10.0, 0.0))
    assert right.tolist() == [[[0, 0, 0.1], [1, 10, 0]], [[0, 0, 0.1], [2, 10, 0]]]


def test_a_symmetric_section_repeats_every_bulge_on_the_left():
    section = symmetric(face((0, 0, 0.1), (1, 10, 0.2), (2, 30, 0.3), (2, 40, 0.0)))
    assert section[0].tolist() == [
        [0, 0, 0.1], [1, 10, 0.2], [2, 30, 0.3], [2, 40, 0.0], [-2, 40, 0.3], [-2, 30, 0.2], [-1, 10, 0.1],
    ]  # fmt: skip


def test_a_one_sided_section_has_its_flat_face_in_the_plane_of_the_edge():
    section = one_sided(face((0, 0, 0.0), (1, 10, 0.2), (3, 40, 0.0)))
    assert section[0].tolist() == [[0, 0, 0.0], [1, 10, 0.2], [3, 40, 0.0], [0, 40, 0.0]]


def test_left_and_right_ground_mix_in_one_batch():
    right = face((0, 0, 0.0), (np.array([1.0, 1.0]), 10, 0.2), (3, 40, 0.0))
    section = one_sided(right, np.array([False, True]))
    assert section[0, :, 0].min() == 0.0
    assert section[0, :, 0].max() == 3.0
    assert section[1, :, 0].min() == -3.0
    assert section[1, :, 0].max() == 0.0
    assert np.array_equal(section[1], mirrored(section[:1])[0])


def test_a_face_given_is_left_as_it_was():
    right = face((0, 0, 0.0), (1, 10, 0.2), (3, 40, 0.4))
    before = right.copy()
    symmetric(right)
    one_sided(right, True)
    mirrored(right)
    assert np.array_equal(right, before)


SIZE = st.floats(0.1, 10.0)
BULGE = st.floats(-0.9, 0.9)


@st.composite
def faces(draw):
    x1, x2 = sorted((draw(SIZE), draw(SIZE)))
    y1, y2, y3 = np.cumsum([draw(SIZE) for _ in range(3)])
    return face((0, 0, draw(BULGE)), (x1, y1, draw(BULGE)), (x2, y2, draw(BULGE)), (x2, y3, 0.0))


@given(faces())
def test_mirrored_twice_is_where_it_began(right):
    section = one_sided(right)
    assert np.array_equal(mirrored(mirrored(section)), section)


@given(faces())
def test_a_symmetric_section_is_its_own_mirror_image(right):
    section = symmetric(right)
    assert np.array_equal(mirrored(section), section)


@given(faces())
def test_left_ground_mirrors_right_ground(right):
    assert np.array_equal(one_sided(right, True), mirrored(one_sided(right, False)))


@given(st.floats(0.2, 6.0), st.floats(5.0, 60.0), st.floats(-0.2, 0.2))
def test_mirroring_turns_the_signs_that_a_mirror_turns(half, height, round_):
    bulge = round_ * half / height  # shallow enough that the arc stays clear of the flat face
    section = one_sided(face((0, 0, 0.0), (half / 4, height / 8, bulge), (half, height, 0.0)))
    right, left = measure(section[0]), measure(mirrored(section)[0])
    scale = half + height
    assert left.area_mm2 == pytest.approx(right.area_mm2, rel=1e-13)
    assert left.centroid_x_mm == pytest.approx(-right.centroid_x_mm, abs=1e-13 * scale)
    assert left.centroid_y_mm == pytest.approx(right.centroid_y_mm, rel=1e-13)
    assert left.i_weak_mm4 == pytest.approx(right.i_weak_mm4, abs=1e-13 * scale**4)
    assert left.i_strong_mm4 == pytest.approx(right.i_strong_mm4, abs=1e-13 * scale**4)
    assert left.i_product_mm4 == pytest.approx(-right.i_product_mm4, abs=1e-13 * scale**4)
    assert left.perimeter_mm == pytest.approx(right.perimeter_mm, rel=1e-13)


@given(faces())
def test_the_spine_is_the_side_that_crosses_from_right_to_left(right):
    assert Sides.of(symmetric(right)).spine_side.tolist() == [3]
    assert Sides.of(one_sided(right)).spine_side.tolist() == [3]
    assert Sides.of(one_sided(right, True)).spine_side.tolist() == [1]
