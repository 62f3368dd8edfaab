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
RULE = "rules/prying-moment.toml"


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


DEFECTS = [
    (RULE, 'has = "prying"', 'has = "priyng"', "when.all.0.has", "prying"),
    (RULE, "weight", "wieght", "effect.wieght", "weight"),
    (RULE, 'metric = "pry_margin"', 'metric = "pry_margn"', "effect.metric", "metric.pry_margin"),
    (RULE, 'field = "brief.tasks"', 'field = "brief.task"', "when.all.0.field", "brief.tasks"),
    (RULE, "has =", "haz =", "when.all.0.haz", "has"),
    (RULE, 'kind = "goal"', 'kind = "gaol"', "kind", "goal"),
    (RULE, 'status = "active"', 'status = "activ"', "status", "active"),
    (RULE, 'level = "estimate"', 'level = "estimat"', "basis.level", "estimate"),
    (RULE, 'has = "prying"', "gt = 3", "when.all.0.gt", None),
    (RULE, "from = 1.0", "from = nan", "effect.from", None),
    (RULE, "to = 2.8", "to = 1.0", "effect", None),
    (RULE, "fires = false", "fires = true", "examples", None),
    (RULE, 'id = "prying-moment"', 'id = "prying-momentum"', "id", None),
    ("tables/tasks/prying.toml", 'material = "', 'material = "x-', "material", "corrugated-cardboard"),
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
    'id = "prying-momentum"',  # the name of the file
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
    path.write_text(path.read_text(encoding="utf-8").replace('status = "active"', 'status = "draft"'), encoding="utf-8")
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
