"""Where edge bevel and primary grind meet without a shoulder, every paper says one bevel and no edge thickness."""

import re
from datetime import date

import bevelwright_builtin
import numpy as np
import pytest

from recommender.drawing.documents.document_markdown import document_markdown
from recommender.drawing.lengths import Lengths
from recommender.drawing.text.answer.answer_text import answer_text
from recommender.drawing.text.answer.life_text import life_facts
from recommender.drawing.text.answer.parameters_text import behind_edge, behind_edge_value
from recommender.drawing.text.workshop.worksheet_text import worksheet_text
from recommender.engine.answer import tried_blade
from recommender.geometry.ground_face import ONE_BEVEL_DEG, GroundFace, is_one_bevel
from recommender.geometry.outline import face, one_sided, symmetric
from recommender.models.brief import Brief
from recommender.models.workshop.quote import Order
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


def test_one_bevel_is_set_up_from_the_edge():
    """A circle of 50 about (-47.5, 14) crosses the edge line at 0.5 and stands upright at the line, 2.5 out."""
    shoulder = (-47.5 + np.sqrt(2500 - 12**2), 2.0)
    chord = np.hypot(2.5 - shoulder[0], 12.0)
    bulge = np.tan(np.arcsin(chord / 100) / 2)
    convex = symmetric(face((0, 0, 0), (*shoulder, bulge), (2.5, 14, 0), (2.5, 40, 0)))
    whole = GroundFace.right(convex).from_edge()
    assert (whole.shoulder_x_mm[0], whole.shoulder_y_mm[0]) == (pytest.approx(0.5), 0.0)
    assert (whole.depth_mm[0], whole.height_mm[0]) == (pytest.approx(2.0), 14.0)
    assert whole.sagitta_mm[0] == pytest.approx(50 - np.sqrt(2500 - 200 / 4))  # chord of sqrt(2^2 + 14^2)
    straight = symmetric(face((0, 0, 0), (0.4, 2, 0), (2, 34, 0), (2, 40, 0)))  # 1 in 20
    flat = GroundFace.right(straight).from_edge()
    assert (flat.shoulder_x_mm[0], flat.sagitta_mm[0]) == (pytest.approx(0.3), 0.0)
    assert flat.angle_rad[0] == pytest.approx(np.arctan(1 / 20))


def test_a_facet_with_a_micro_bevel_has_no_other_edge_bevel(service):
    brief = with_settings(Brief(), ["tasks.wood-carving=1", "wishes.grind=scandi", "wishes.micro_bevel=yes"])
    p = service.recommend(brief, flips=False).proposal
    assert behind_edge(p, Lengths()) == "0.1 mm behind its micro-bevel"
    plain = p.model_copy(update={"micro_bevel_per_side_deg": None, "edge_thickness_mm": 0.0})
    assert behind_edge(plain, Lengths()) == "ground to zero"


TWO_BEVELS = re.compile(
    r"shoulder to|at the\s+shoulder|small bevel|edge bevel (?:meets|blended)|thickness behind\s+the edge|"
    r"\d mm\s+behind\s+the\s+edge",
    re.IGNORECASE,
)


@pytest.mark.parametrize(("crown", "one"), [(1.0, True), (0.4, False)])
def test_no_paper_of_one_bevel_speaks_of_a_second(service, shop, crown, one):
    """The blade of the test above, tangent at its edge bevel or far from it: the papers of the other speak of two."""
    settings = ["tasks.wood-splitting=1", "steel.grade=l6", "steel.hardness_hrc=55", "owner.gear=bench-stones"]
    settings += ["blade.stock_thickness_mm=9", "blade.height_mm=65", "wishes.grind=saber-convex"]
    brief = with_settings(Brief(), settings)
    answer = service.recommend(brief, flips=False)
    columns = {"grind_line_share": 18 / 65, "edge_thickness_mm": 1.5, "edge_angle_per_side_deg": 19.0}
    p = tried_blade.changed(service.briefs.case(brief), answer.proposal, {**columns, "crown_share": crown})
    assert (p.one_bevel_mm is not None) == one
    answer = answer.model_copy(update={"proposal": p, "alternatives": [], "tolerances": (), "advice": []})
    life = service.briefs.life_of(answer, brief)
    assert [blade.one_bevel for blade in life.blades] == [one]
    sheet = worksheet_text(service.workshop.worksheet(brief, answer, shop), cautions=False)
    quote = service.workshop.quote(brief, answer, Order(), shop, date(2026, 1, 2))(1, 1)
    ages = "\n".join(text for _, text in life_facts(life, life.blades[0], Lengths()))
    papers = [sheet, ages, *(document_markdown(paper) for paper in (quote.document, quote.care))]
    for paper in papers:
        assert bool(TWO_BEVELS.search(paper)) != one, paper
