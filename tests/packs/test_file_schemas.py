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
    "status": "active",
    "when": {"all": []},
    "effect": {"metric": "stiffness", "min": 0.1},
    "because": "Because it has to be.",
    "basis": {"level": "estimate"},
    "examples": [{"facts": {}, "fires": True}, {"facts": {}, "fires": False}],
}


@pytest.mark.parametrize(
    ("path", "value", "passes"),
    [
        ("effect", {"metric": "stiffness", "min": 0.1, "max": 0.2}, True),
        ("effect", {"field": "design.side", "in": ["both"]}, True),
        ("effect", {"metric": "stiffness"}, False),
        ("effect", {"metric": "stiffness", "field": "design.side", "min": 1}, False),
        ("effect", {"points": 3}, False),
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
    assert validator("rule").is_valid(rule)
    rule[path] = value
    assert validator("rule").is_valid(rule) is passes


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
    assert "from" in service.rules.schema("rule")["$defs"]["GoalEffect"]["properties"]
