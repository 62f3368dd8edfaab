"""Where edge bevel and primary grind meet without a shoulder, every paper says one bevel and no edge thickness."""

import bevelwright_builtin
import numpy as np
import pytest

from recommender.drawing.lengths import Lengths
from recommender.drawing.text.answer.answer_text import answer_text
from recommender.drawing.text.answer.parameters_text import behind_edge, behind_edge_value
from recommender.geometry.ground_face import ONE_BEVEL_DEG, is_one_bevel
from recommender.geometry.outline import face, one_sided, symmetric
from recommender.models.brief import Brief
from recommender.plugin.testing import designs_over_range
from recommender.service import with_settings

EDGE, RISE = 1.0, 2.0


def wedge(apart_deg):
    """An edge bevel of atan(1/2) and a straight face above it, finer by so much."""
    face_rad = np.arctan(EDGE / RISE) - np.radians(apart_deg)
    return face((0, 0, 0), (EDGE, RISE, 0), (EDGE + 10 * np.tan(face_rad), RISE + 10, 0), (EDGE + 9, 40, 0))


@pytest.mark.parametrize("close", [symmetric, one_sided])
@pytest.mark.parametrize(("apart_deg", "one"), [(0.2, True), (ONE_BEVEL_DEG - 0.1, True), (ONE_BEVEL_DEG + 0.1, False)])
def test_one_bevel_is_a_matter_of_the_angle_at_the_shoulder(close, apart_deg, one):
    # The side above stands straight up here, so that the face of 10 mm is the primary grind.
    right = wedge(apart_deg)
    right[:, 3, 0] = right[:, 2, 0]
    assert is_one_bevel(close(right)).tolist() == [one]


def test_what_is_ground_to_zero_has_no_two_bevels_to_tell_apart():
    assert not is_one_bevel(symmetric(face((0, 0, 0), (0, 0, 0), (2, 10, 0), (2, 20, 0))))[0]


def test_a_convex_ground_tangent_to_its_edge_bevel_is_one_bevel():
    convex = next(g for g in bevelwright_builtin.grinds() if g.id == "saber-convex")
    given = {
        "stock_thickness_mm": 9.0, "height_mm": 65.0, "grind_line_share": 18 / 65, "edge_thickness_mm": 1.5,
        "edge_angle_per_side_deg": 19.0, "micro_bevel": "no",
    }  # fmt: skip
    # Chord atan(3.75 / 15.8) = 13.3 degrees: at crown 1 the arc leaves the shoulder at 19, at 0.5 at 16.2.
    designs = designs_over_range(convex, 2, **given, crown_share=np.array([1.0, 0.5]))
    assert is_one_bevel(convex.outlines(designs)).tolist() == [True, False]


def test_papers_give_a_height_to_scribe_and_no_thickness(service):
    settings = ["tasks.wood-splitting=1", "wishes.edge_thickness_mm=1.45", "wishes.grind=saber-convex"]
    answer = service.recommend(with_settings(Brief(), settings), flips=False)
    line = answer.proposal.grind_line_mm
    one = answer.model_copy(update={"proposal": answer.proposal.model_copy(update={"one_bevel_mm": line})})
    two = answer.model_copy(update={"proposal": answer.proposal.model_copy(update={"one_bevel_mm": None})})
    parts = ("blade", "shop")
    words = f"one bevel {line:g} mm high"
    assert words in answer_text(one, None, names=parts)
    assert "1.45 mm" not in answer_text(one, None, names=parts)
    assert "1.45 mm" in answer_text(two, None, names=parts)
    for grind_words in (behind_edge(one.proposal, Lengths()), behind_edge_value(one.proposal, Lengths())):
        assert grind_words == words
