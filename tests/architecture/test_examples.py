"""The example distributions: they use only what contributors may use, and say what they are."""

from __future__ import annotations

import ast
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
EXAMPLES = sorted(path.parent for path in (ROOT / "plugins" / "examples").glob("*/pyproject.toml"))
FORBIDDEN = (
    "recommender.engine",
    "recommender.service",
    "recommender.cli",
    "recommender.commands",
    "recommender.packs",
)
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


def imported(file: Path) -> set[str]:
    tree = ast.parse(file.read_text(encoding="utf-8"))
    names = {alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names}
    return names | {str(node.module) for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}


def package_of(example: Path) -> str:
    (package,) = tomllib.loads((example / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"][
        "packages"
    ]
    return str(package)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: e.name)
def test_an_example_uses_only_what_contributors_may_use(example: Path) -> None:
    for file in (example / package_of(example)).rglob("*.py"):
        assert not [name for name in imported(file) if name.startswith(FORBIDDEN)], file


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: e.name)
def test_an_example_is_whole(example: Path) -> None:
    assert (example / "README.md").read_text(encoding="utf-8").strip()
    assert any((example / "tests").glob("test_*.py"))
    assert package_of(example) in PROJECT["tool"]["mypy"]["packages"], "types of the examples are checked too"


def test_there_is_one_of_each_kind() -> None:
    assert [example.name for example in EXAMPLES] == ["blade-card", "bookbinding", "relief-flat"]
