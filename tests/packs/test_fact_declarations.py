"""The one declaration of facts: complete, and of one mind with models, plug-ins and geometry."""

from __future__ import annotations

from math import inf
from typing import Any, get_args, get_type_hints

import pytest

from recommender.drawing.text.answer.form_text import TIP_WORDS
from recommender.engine.intake.resolve import PACE, WANDER
from recommender.geometry.side_views import SIDE_VIEWS
from recommender.models.brief import SKILL_LEVELS, Brief, Profile, Skill
from recommender.models.brief_fields import BRIEF_FIELDS
from recommender.models.knowledge.tables import Task
from recommender.packs.facts import BRIEF, FACTS, FORM, Fact, Follows
from recommender.packs.facts.of_designs import PARENTS
from recommender.plugin.api import BOTH, LEFT, RIGHT, Grind
from recommender.service import Service


def brief_schema() -> dict[str, dict[str, Any]]:
    """Every field of a brief by dotted key, with what pydantic's own JSON Schema says of it."""
    schema = Brief.model_json_schema()
    found: dict[str, dict[str, Any]] = {}
    for name, said in schema["properties"].items():
        table = schema["$defs"].get(said.get("$ref", "").rpartition("/")[2])
        found |= {name: said} if table is None else {f"{name}.{k}": v for k, v in table["properties"].items()}
    return found


def test_every_field_of_a_brief_is_declared_once_with_its_row_in_the_form() -> None:
    assert [fact.key for fact in BRIEF] == list(brief_schema())
    assert len(FORM) == len(BRIEF)
    assert [fact.name for fact in FORM if fact.row is None] == []


def test_values_and_bounds_are_those_of_the_model() -> None:
    for key, said in brief_schema().items():
        option = said["anyOf"][0] if "anyOf" in said else said
        field = BRIEF_FIELDS[key]
        assert list(field.values) == option.get("enum", []), key
        assert (field.type == "number") is (option["type"] == "number"), key
        if field.type == "number":
            low = option.get("minimum", option.get("exclusiveMinimum", -inf))
            assert field.bounds == (low, option.get("maximum", inf)), key


SOURCES = {
    "brief": {(True, False)},
    "design": {(False, True), (False, False)},
    "derived": {(True, False), (False, True)},
}
"""What its value may come from: (the brief, the blades); a fact of a design may simply be a column."""


@pytest.mark.parametrize("fact", FACTS.values(), ids=list(FACTS))
def test_every_fact_has_all_that_its_readers_need(fact: Fact, service: Service) -> None:
    scope, _, rest = fact.name.partition(".")
    assert rest
    assert fact.about
    assert (fact.from_brief is not None, fact.from_blades is not None) in SOURCES[scope]
    assert (fact.kind in ("category", "set")) is bool(fact.names(service.knowledge, service.grinds))
    if scope == "brief" and fact.kind != "number" and fact.name != "brief.tasks":
        assert fact.levels is not None, "designed briefs never say it"


def test_what_follows_from_a_fact_is_said_for_each_of_its_values(service: Service) -> None:
    following = [fact for fact in FACTS.values() if isinstance(fact.follows, Follows)]
    assert following
    for fact in following:
        assert isinstance(fact.follows, Follows)
        values = fact.follows.values(service.knowledge, service.grinds)
        assert set(values) == set(FACTS[fact.follows.base].names(service.knowledge, service.grinds)), fact.name
        assert fact.kind == "number" or set(values.values()) <= set(fact.values), fact.name


def test_an_open_field_is_filled_by_its_default_and_says_why(service: Service) -> None:
    resolved = service.briefs.resolve(Brief())
    declared = {fact.key: fact.default.reason for fact in BRIEF if fact.default is not None}
    found = {key: source.reason for key, source in resolved.sources.items() if source.kind == "default"}
    assert {key: found.get(key) for key in declared} == declared
    assert resolved.brief.owner.climate == service.knowledge.defaults.climate


def test_words_that_stand_twice_are_the_same_words() -> None:
    """Geometry and plug-ins know no model: what they call sides, parents and side views is held here."""
    assert set(SIDE_VIEWS) == set(TIP_WORDS) == set(get_args(Profile))
    assert set(get_args(Task.model_fields["envelope"].annotation.model_fields["profile"].annotation)) == set(SIDE_VIEWS)
    assert set(get_args(get_type_hints(Grind)["parent"])) == set(PARENTS)
    assert set(FACTS["design.side"].values) == {BOTH, LEFT, RIGHT}
    assert set(WANDER) == set(PACE) == set(get_args(Skill))
    assert SKILL_LEVELS == {"beginner": 1, "practised": 2, "expert": 3}


def test_a_number_says_its_unit_in_name_and_words() -> None:
    """What carries no unit is a ratio, a count or a level; the words of all others name the same unit as the name."""
    for fact in FACTS.values():
        if fact.kind == "number" and fact.about is not None and fact.unit in ("mm", "deg", "HRC"):
            assert fact.unit in fact.about, fact.name
        assert (fact.unit == "") == (fact.kind != "number"), fact.name
    plain = {fact.name for fact in FACTS.values() if fact.unit == "1"}
    assert plain == {
        "design.sides_ground", "design.grind_line_share", "design.zones",
        "derived.skill_level", "derived.task_count", "derived.task_strife",
    }  # fmt: skip
