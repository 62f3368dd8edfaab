"""Packs: broken ones are refused with file, key, what was expected and the nearest name."""

from __future__ import annotations

import shutil
import tomllib
from collections.abc import Callable
from pathlib import Path

import bevelwright_rules
import pytest
from jsonschema import Draft202012Validator

from recommender.errors import PackError
from recommender.packs.load import layered, read_pack
from recommender.service import Service

CORE = Path(bevelwright_rules.__file__).parent / "core"
RULE = "rules/prying.toml"


@pytest.fixture
def pack(tmp_path: Path) -> Path:
    target = tmp_path / "core"
    shutil.copytree(CORE, target)
    return target


@pytest.fixture
def load(service: Service, pack: Path) -> Callable[[], object]:
    return lambda: layered([read_pack(pack)], grinds=service.registry.grinds, metrics=service.registry.metrics)


def test_the_core_pack_loads(load) -> None:
    assert len(load().tasks) == 13


ROWS = "rules/stiffness.toml"
WHEN = """when = { field = "brief.tasks", has = "prying" }
examples = [
  { facts = { "brief.tasks" = ["prying"] }, fires = true },
  { facts = { "brief.tasks" = [] }, fires = false },
]"""
DEFECTS = [
    (RULE, 'tasks = ["prying"]', 'tasks = ["priyng"]', "tasks", "prying"),
    (RULE, 'tasks = ["prying"]', "tasks = []", "tasks", None),
    (RULE, 'tasks = ["prying"]', 'tasks = ["prying"]\nalways = true', None, None),
    (RULE, 'tasks = ["prying"]', "", None, None),
    (RULE, "weight", "wieght", "wieght", "weight"),
    (RULE, 'metric = "pry_margin"', 'metric = "pry_margn"', "metric", "pry_margin"),
    (RULE, 'tasks = ["prying"]', WHEN.replace("brief.tasks", "brief.task"), "when.field", "brief.tasks"),
    (RULE, 'tasks = ["prying"]', WHEN.replace("has", "haz"), "when.haz", "has"),
    (RULE, 'tasks = ["prying"]', WHEN.replace('has = "prying"', "gt = 3"), "when.gt", None),
    (RULE, 'tasks = ["prying"]', WHEN.replace("fires = false", "fires = true"), "examples", None),
    (RULE, 'tasks = ["prying"]', WHEN.partition("\n")[0], "examples", None),
    (RULE, 'kind = "goal"', 'kind = "gaol"', "kind", "goal"),
    (RULE, 'kind = "goal"', 'kind = "goal"\nstatus = "activ"', "status", "active"),
    (RULE, 'level = "estimate"', 'level = "estimat"', "basis.level", "estimate"),
    (RULE, "from = 1.0", "from = nan", "rule.from", None),
    (RULE, "from = 1.0", "", None, None),
    (RULE, "to = 2.8", "to = 1.0", None, None),
    (RULE, "safety = true", "", None, None),
    (RULE, "[[rule]]", "[[rules]]", "rules", "rule"),
    (RULE, 'id = "prying-bears-moment"', 'id = "prying-moment"', "id", None),
    (ROWS, 'task = "food-prep"', 'task = "food-perp"', "task", "food-prep"),
    (ROWS, 'task = "food-prep"', 'tasc = "food-prep"', "tasc", "task"),
    (ROWS, 'task = "fine-slicing"', 'task = "food-prep"', "id", None),
    (ROWS, "from = 0.15", "form = 0.15", "form", "from"),
    (ROWS, 'metric = "stiffness"', 'metric = "stiffness"\nfrom = 1.0', None, None),
    (ROWS, 'metric = "stiffness"', 'metric = "stiffness"\ntasks = ["prying"]', None, None),
    ("tables/tasks/prying.toml", 'material = "', 'material = "x-', "material", "corrugated-cardboard"),
    ("tables/tasks/prying.toml", '"pry_margin"', '"pry_margine"', "essentials.0", "pry_margin"),
    ("tables/tasks/prying.toml", "thickest_edge_mm", "thickest_edge", "thickest_edge", "thickest_edge_mm"),
    ("tables/gear/strop.toml", "likely = 0.5", "likely = 5.0", "apex_radius_um", None),
    ("tables/steels/1084.toml", "usual_hrc = 60", "usual_hrc = 80", "hardness", None),
    ("pack.toml", 'task = "pocket-carry"', 'task = "pocket-cary"', "defaults.task", "pocket-carry"),
]
NO_SCHEMA_CAN_TELL = [
    "from = nan",  # JSON has no such number
    "to = 1.0",  # an order of numbers
    "likely = 5.0",
    "usual_hrc = 80",
    'id = "prying-moment"',  # an id that is there twice
    'task = "food-prep"',
]
KINDS = {"rules": "rule", "tables/tasks": "task", "tables/gear": "gear", "tables/steels": "steel", "pack.toml": "pack"}


@pytest.mark.parametrize(("file", "old", "new", "key", "nearest"), DEFECTS)
def test_a_defect_is_located(load, pack: Path, file: str, old: str, new: str, key: str, nearest: str | None) -> None:
    path = pack / file
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(PackError) as caught:
        load()
    assert caught.value.file is not None
    assert caught.value.file.endswith(path.name)
    assert caught.value.key == key
    assert caught.value.nearest == nearest
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(("file", "old", "new", "key", "nearest"), DEFECTS)
def test_a_defect_fails_the_schema(
    service: Service, file: str, old: str, new: str, key: str, nearest: str | None
) -> None:
    kind = next(kind for place, kind in KINDS.items() if file.startswith(place))
    text = (CORE / file).read_text(encoding="utf-8")
    schema = Draft202012Validator(service.rules.schema(kind))
    assert schema.is_valid(tomllib.loads(text))
    assert schema.is_valid(tomllib.loads(text.replace(old, new, 1))) is (new in NO_SCHEMA_CAN_TELL)


def test_a_draft_is_not_loaded(load, pack: Path) -> None:
    path = pack / RULE
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('kind = "goal"', 'kind = "goal"\nstatus = "draft"'), encoding="utf-8")
    assert "prying-moment" not in load().rules


def test_a_pack_without_defaults_alone_is_refused(load, pack: Path) -> None:
    (pack / "pack.toml").write_text('id = "core"\ntitle = "x"\nversion = "1"\n', encoding="utf-8")
    with pytest.raises(PackError, match="defaults"):
        load()


def test_carbides_are_those_of_the_regression() -> None:
    """Every carbide column of the steel tables has a coefficient: the regression names any it does not know."""
    from recommender.mechanics.wear import edge_retention_mm
    from recommender.models.knowledge.tables import Carbides

    columns = set(Carbides.model_fields) - {"basis", "relative_band"}
    assert float(edge_retention_mm(60, 30, dict.fromkeys(columns, 0.0))) > 0
    with pytest.raises(KeyError):
        edge_retention_mm(60, 30, {"WC": 1.0})
