"""What plug-ins are promised: a range of versions, documented names, modules found under their earlier names."""

from __future__ import annotations

import ast
import importlib
import inspect
import sys
import types
import warnings
from pathlib import Path

import pytest

import recommender.plugin
from recommender.moved import MOVED
from recommender.plugin import api, registry
from recommender.plugin.plugin_status import plugin_statuses

API_FILES = sorted((Path(recommender.plugin.__path__[0]) / "api").glob("*.py"))
PUBLIC_NAMES = (Path(__file__).parents[1] / "fixtures" / "v0.1" / "public_names.txt").read_text(encoding="utf-8")
IN_0_1 = {module: names.split() for module, _, names in (line.partition(" ") for line in PUBLIC_NAMES.splitlines())}
"""Modules that version 0.1 let plug-ins import (DEVELOPERS.md of commit 9b4cb33) -> the public names in them."""


@pytest.fixture
def _three_versions(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(registry, "API_VERSIONS", range(3, 6))


def loading(version: object) -> registry.Registry:
    return registry.load(extra={"mine": types.SimpleNamespace(BEVELWRIGHT_API=version)})


@pytest.mark.usefixtures("_three_versions")
@pytest.mark.parametrize("version", [3, 4, 5])
def test_each_version_of_the_range_is_let_in_and_told(version: int) -> None:
    loaded = loading(version)
    assert not [failure for failure in loaded.failures if failure.plugin == "mine"]
    (mine,) = (status for status in plugin_statuses(loaded) if status.plugin == "mine")
    assert mine.as_json()["api"] == version


@pytest.mark.usefixtures("_three_versions")
@pytest.mark.parametrize("version", [2, 6, -4, "4", 4.0, (3, 4), None])
def test_others_are_refused_with_the_range(version: object) -> None:
    loaded = loading(version)
    (failure,) = (failure for failure in loaded.failures if failure.plugin == "mine")
    assert failure.doing == "registering"
    assert "BEVELWRIGHT_API is " in str(failure)
    assert "this version serves 3 to 5" in str(failure)
    (mine,) = (status for status in plugin_statuses(loaded) if status.plugin == "mine")
    assert mine.as_json()["api"] is None


def test_the_version_that_was_first_is_served() -> None:
    assert 1 in api.API_VERSIONS


def documented() -> set[str]:
    """Names of the API that have a docstring of their own; a dataclass without one would still show its signature."""
    found = set()
    for file in API_FILES:
        body = ast.parse(file.read_text(encoding="utf-8")).body
        for node, below in zip(body, [*body[1:], None], strict=True):
            if isinstance(node, ast.ClassDef | ast.FunctionDef) and ast.get_docstring(node):
                found.add(node.name)
            said = isinstance(below, ast.Expr) and isinstance(below.value, ast.Constant)
            if isinstance(node, ast.Assign) and said:
                found |= {name.id for target in node.targets for name in ast.walk(target) if isinstance(name, ast.Name)}
    return found


@pytest.mark.parametrize("name", api.__all__)
def test_every_promised_name_is_there_and_documented(name: str) -> None:
    assert hasattr(api, name)
    assert name in documented()


def test_the_public_methods_of_promised_classes_are_documented() -> None:
    for name in api.__all__:
        item = getattr(api, name)
        if inspect.isclass(item):
            fields = getattr(item, "__dataclass_fields__", {})
            own = [value for key, value in vars(item).items() if not key.startswith("_") and key not in fields]
            assert [str(value) for value in own if hasattr(value, "__get__") and not inspect.getdoc(value)] == []


@pytest.mark.parametrize("old", MOVED)
def test_an_earlier_name_finds_the_module_of_today_and_warns(old: str) -> None:
    sys.modules.pop(old, None)
    with pytest.warns(DeprecationWarning, match=f"{old} is now {MOVED[old]}"):
        module = importlib.import_module(old)
    assert module is importlib.import_module(MOVED[old])
    assert module.__name__ == MOVED[old]


@pytest.mark.parametrize("module", IN_0_1)
def test_what_version_0_1_let_plugins_import_can_be_imported(module: str) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        found = importlib.import_module(f"recommender.{module}")
    assert [name for name in IN_0_1[module] if not hasattr(found, name)] == []
