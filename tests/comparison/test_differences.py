"""A planted difference is found and named, and nothing else is."""

from __future__ import annotations

import copy

import pytest

from .differences import EXACT, MISSING, Tolerance, differences

ANSWER = {
    "recommend": {
        "exit": 0,
        "printed": {
            "proposal": {"grind": "convex", "edge_angle_per_side_deg": 17.5, "swedge": None},
            "reasons": [{"rule": "cuts-easily", "points": 8.04}, {"rule": "stays-thin", "points": 3.1}],
            "metrics": {"cut_force": {"value": 1.435002, "low": 0.938919}},
            "wheels_mm": [50.0, 100.0, 200.0],
        },
        "errors": [],
    }
}


def changed(*path, to):
    """The answer with one field changed."""
    answer = copy.deepcopy(ANSWER)
    place = answer
    for key in path[:-1]:
        place = place[key]
    place[path[-1]] = to
    return answer


def found(old, new, tolerance=EXACT):
    """Patterns of the fields that differ."""
    return [difference.pattern for difference in differences(old, new, tolerance)]


def test_equal_is_equal():
    assert found(ANSWER, copy.deepcopy(ANSWER)) == []


def test_a_planted_difference_is_named_with_both_values():
    new = changed("recommend", "printed", "reasons", 1, "points", to=3.2)
    (difference,) = differences(ANSWER, new)
    assert difference.path == ("recommend", "printed", "reasons", "[stays-thin]", "points")
    assert difference.pattern == "recommend.printed.reasons[].points"
    assert (difference.old, difference.new) == (3.1, 3.2)


@pytest.mark.parametrize(
    ("value", "other"), [(None, 0), (None, ""), (0, False), (1, 1.0000001), ("1.0", "1.00"), ([], {}), ("x", None)]
)
def test_values_that_are_alike_only_nearly_differ(value, other):
    assert found({"x": value}, {"x": other}) == ["x"]
    assert found({"x": other}, {"x": value}) == ["x"]


def test_what_is_missing_on_either_side_is_a_difference():
    new = copy.deepcopy(ANSWER)
    del new["recommend"]["printed"]["proposal"]["swedge"]  # its value was null: missing is not the same
    ((path, *values),) = differences(ANSWER, new)
    assert (path[-1], values) == ("swedge", [None, MISSING])
    ((path, *values),) = differences(new, ANSWER)
    assert (path[-1], values) == ("swedge", [MISSING, None])


def test_what_comes_into_a_list_is_one_difference_wherever_it_comes_in():
    reasons = ANSWER["recommend"]["printed"]["reasons"]
    new = changed("recommend", "printed", "reasons", to=[{"rule": "new", "points": 1.0}, *reasons])
    ((path, old, _),) = differences(ANSWER, new)
    assert (path[-1], old) == ("[new]", MISSING)
    new = changed("recommend", "printed", "wheels_mm", to=[50.0, 75.0, 100.0, 200.0])
    assert [difference[1:] for difference in differences(ANSWER, new)] == [(MISSING, 75.0)]


def test_lines_of_text_that_moved_have_not_changed():
    old = ["convex, 17.5 per side", "", "Why:", "cuts easily"]
    new = ["convex, 17.5 per side", "", "It is close.", "", "Why:", "cuts easily"]
    assert {difference[1:] for difference in differences(old, new)} == {(MISSING, "It is close."), (MISSING, "")}


def test_another_order_is_a_difference():
    reasons = ANSWER["recommend"]["printed"]["reasons"]
    new = changed("recommend", "printed", "reasons", to=reasons[::-1])
    assert [difference.path[-1] for difference in differences(ANSWER, new)] == ["[order]"]


def test_tolerances_are_kept_to():
    new = changed("recommend", "printed", "metrics", "cut_force", "value", to=1.435002 * (1 + 1e-10))
    assert len(found(ANSWER, new)) == 1
    assert found(ANSWER, new, Tolerance(relative=1e-9)) == []
    assert len(found(ANSWER, new, Tolerance(relative=1e-11))) == 1
    assert found(ANSWER, new, Tolerance(absolute=1e-9)) == []


def test_a_field_has_a_tolerance_of_its_own():
    new = changed("recommend", "printed", "proposal", "edge_angle_per_side_deg", to=18.0)
    new["recommend"]["printed"]["metrics"]["cut_force"]["low"] += 0.5
    assert found(ANSWER, new, Tolerance(fields=(("*_deg", 0.5),))) == ["recommend.printed.metrics.cut_force.low"]
    assert len(found(ANSWER, new, Tolerance(fields=(("*_deg", 0.4),)))) == 2


def test_words_have_no_tolerance():
    new = changed("recommend", "printed", "proposal", "grind", to="scandi")
    assert found(ANSWER, new, Tolerance(relative=1.0, absolute=1e9)) == ["recommend.printed.proposal.grind"]
