"""JSON Schemas of files, by an independent validator (jsonschema): every shipped file passes, planted defects do not.

Defects of packs are in test_packs.py, beside what the loader says of them.
"""

from __future__ import annotations

import copy
import json
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import bevelwright_rules
import pytest
from jsonschema import Draft202012Validator

from recommender.cli import main
from recommender.commands.rulebook.rules_reports_command import SCHEMAS
from recommender.packs.schema import KINDS
from recommender.service import Service
from recommender.shop.rates.shop_file import shipped

CORE = Path(bevelwright_rules.__file__).parent / "core"
SCENARIOS = Path(__file__).parents[2] / "scenarios"
FILES = {
    "rule": sorted(CORE.glob("rules/*.toml")),
    "pack": [CORE / "pack.toml"],
    "task": sorted(CORE.glob("tables/tasks/*.toml")),
    "steel": sorted(CORE.glob("tables/steels/*.toml")),
    "gear": sorted(CORE.glob("tables/gear/*.toml")),
    "material": sorted(CORE.glob("tables/materials/*.toml")),
    "brief": [path for path in sorted(SCENARIOS.glob("*.toml")) if not path.name.endswith(".expected.toml")],
}


@pytest.fixture(scope="module")
def validator(service: Service) -> Callable[[str], Draft202012Validator]:
    known = {kind: service.rules.schema(kind) for kind in KINDS}
    for schema in known.values():
        Draft202012Validator.check_schema(schema)
    return lambda kind: Draft202012Validator(known[kind])


def test_the_command_knows_every_kind() -> None:
    assert set(SCHEMAS) == set(KINDS) == {*FILES, "shop"}


@pytest.mark.parametrize("kind", FILES)
def test_every_shipped_file_passes(validator: Callable[[str], Draft202012Validator], kind: str) -> None:
    assert FILES[kind]
    for file in FILES[kind]:
        problems = [error.message for error in validator(kind).iter_errors(tomllib.loads(file.read_text("utf-8")))]
        assert problems == [], file.name


def test_the_shipped_shop_passes(validator: Callable[[str], Draft202012Validator]) -> None:
    assert validator("shop").is_valid(tomllib.loads(shipped().decode()))


RULE: dict[str, Any] = {
    "id": "a-rule",
    "title": "A rule",
    "kind": "limit",
    "when": {"all": []},
    "metric": "stiffness",
    "min": 0.1,
    "because": "Because it has to be.",
    "basis": {"level": "estimate"},
    "examples": [{"facts": {}, "fires": True}, {"facts": {}, "fires": False}],
}
GOAL: dict[str, Any] = {
    "id": "a-goal",
    "title": "A goal",
    "kind": "goal",
    "metric": "stiffness",
    "because": "Because it has to be.",
    "basis": {"level": "estimate"},
}
ROW: dict[str, Any] = {"task": "prying", "from": 1.0, "to": 2.0, "weight": 1.0}


@pytest.mark.parametrize(
    ("path", "value", "passes"),
    [
        ("max", 0.2, True),
        ("field", "design.side", False),
        ("points", 3, False),
        ("tasks", ["prying"], True),
        ("always", True, False),
        ("safety", True, False),
        ("short", "Mind.", False),
        ("when", {"field": "brief.tasks", "has": "prying"}, True),
        ("when", {"not": {"any": [{"field": "metric.stiffness", "lt": 1}]}}, True),
        ("when", {"any": []}, False),
        ("when", {"field": "brief.tasks"}, False),
        ("when", {"field": "metric.stiffness", "has": "prying"}, False),
        ("when", {"field": "metric.stiffness", "eq": "much"}, False),
        ("when", {"field": "brief.workshop.platen", "eq": True}, True),
        ("when", {"field": "brief.workshop.platen", "eq": "yes"}, False),
        ("when", {"field": "brief.owner.hand", "in": ["left"]}, True),
        ("when", {"field": "brief.owner.hand", "in": ["lefft"]}, False),
        ("when", {"all": [], "any": []}, False),
        ("examples", [{"facts": {}, "fires": True}, {"facts": {}, "fires": True}], False),
        ("examples", [{"facts": {"brief.task": []}, "fires": True}, {"facts": {}, "fires": False}], False),
        ("title", None, False),
    ],
)
def test_a_rule_says_what_it_must(
    validator: Callable[[str], Draft202012Validator], path: str, value: Any, passes: bool
) -> None:
    rule = copy.deepcopy(RULE)
    assert validator("rule").is_valid({"rule": [rule]})
    rule[path] = value
    assert validator("rule").is_valid({"rule": [rule]}) is passes


@pytest.mark.parametrize(
    ("keys", "passes"),
    [
        ({"row": [ROW]}, True),
        ({"row": [ROW], "tasks": ["prying"]}, False),
        ({"row": []}, False),
        ({"row": [{**ROW, "task": "priyng"}]}, False),
        ({"row": [{"task": "prying", "from": 1.0, "to": 2.0}]}, False),
        ({"row": [{**ROW, "when": {"all": []}}]}, False),
        ({"always": True, "from": 1.0, "to": 2.0, "weight": 1.0}, True),
        ({"always": True, "from": 1.0, "to": 2.0}, False),
        ({"always": True}, False),
        ({"from": 1.0, "to": 2.0, "weight": 1.0}, False),
        ({"tasks": ["prying"], "always": True, "from": 1.0, "to": 2.0, "weight": 1.0}, False),
        ({"row": [ROW], "history": [{"date": "2026-07-01", "from": 1, "to": 2, "why": "Measured."}]}, True),
        ({"row": [ROW], "history": [{"date": "July", "from": 1, "to": 2, "why": "Measured."}]}, False),
    ],
)  # fmt: skip
def test_a_goal_has_a_condition_and_a_window_or_rows(
    validator: Callable[[str], Draft202012Validator], keys: dict[str, Any], passes: bool
) -> None:
    assert validator("rule").is_valid({"rule": [{**GOAL, **keys}]}) is passes


@pytest.mark.parametrize(
    ("text", "passes"),
    [
        ("", True),
        ("[steel]\ngrade = 1.4116", True),
        ('[owner]\ngear = "strop"', True),
        ('[owner]\ngear = ["strop", "stropp"]', False),
        ("[tasks]\npriyng = 1", False),
        ("[tasks]\nprying = -1", False),
        ("[blade]\nheight_mm = 500", False),
        ('[wishes]\ngrind = "full-flta"', False),
        ("[blade]\nheigth_mm = 50", False),
    ],
)
def test_a_brief(validator: Callable[[str], Draft202012Validator], text: str, passes: bool) -> None:
    assert validator("brief").is_valid(tomllib.loads(text)) is passes


def test_gear_that_works_a_surface_has_a_rate(validator: Callable[[str], Draft202012Validator]) -> None:
    gear = tomllib.loads((CORE / "tables/gear/bench-stones.toml").read_text("utf-8"))
    del gear["removal_mm3_per_min"]
    assert not validator("gear").is_valid(gear)
    gear["surfaces"] = []
    assert validator("gear").is_valid(gear)


def test_the_command_prints_it(service: Service, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rules", "schema", "--for", "brief"]) == 0
    assert json.loads(capsys.readouterr().out) == service.rules.schema("brief")


def test_docstrings_describe(service: Service) -> None:
    task = service.rules.schema("task")
    assert task["description"] == "What a blade has to do, as numbers that the mechanics can use."
    assert task["properties"]["words"]["description"] == "Everyday words that people type for it."
    assert "from" in service.rules.schema("rule")["$defs"]["WrittenGoal"]["properties"]
