"""Hooks: each is typed and short, says what it gets and gives, and its example runs; the guide says the same."""

from __future__ import annotations

import importlib.resources
import inspect
import re
import sys
import types
from pathlib import Path

import pytest

from recommender.cli import main
from recommender.errors import InputError
from recommender.plugin import hooks
from recommender.plugin.scaffold import new_plugin
from recommender.plugin.testing import check_pack, check_plugin

ROOT = Path(__file__).parents[2]
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
GIVES = {"grind": "grinds", "metric": "metrics", "pack": "packs", "writer": "writers"}


def test_every_hook_has_a_kind_and_nothing_else_is_one() -> None:
    specified = {name for name, value in vars(hooks).items() if hasattr(value, f"{hooks.PROJECT}_spec")}
    assert specified == set(GIVES.values())
    assert {kind: hook.__name__ for kind, hook in hooks.KINDS.items()} == GIVES


@pytest.mark.parametrize("name", GIVES.values())
def test_the_guide_has_a_section_with_the_exact_signature(name: str) -> None:
    signature = f"{name}{inspect.signature(getattr(hooks, name))}"
    assert re.search(rf"^### `{re.escape(signature.replace(chr(39), ''))}`$", GUIDE, flags=re.MULTILINE)


@pytest.mark.parametrize("name", GIVES.values())
def test_a_docstring_says_when_it_is_called(name: str) -> None:
    assert "asked for once" in str(inspect.getdoc(getattr(hooks, name)))


@pytest.mark.parametrize("kind", ["grind", "metric", "writer"])
def test_the_example_runs_and_is_sound(kind: str) -> None:
    module = types.ModuleType("example")
    exec(compile(hooks.example(kind), "example", "exec"), module.__dict__)
    given = getattr(module, GIVES[kind])()
    assert [item.id for item in given] == [hooks.EXAMPLE_IDS[kind]]
    assert check_plugin(module) == []


def test_the_example_of_a_pack_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.syspath_prepend(tmp_path)
    (tmp_path / "example_pack" / "pack").mkdir(parents=True)
    (tmp_path / "example_pack" / "__init__.py").write_text(hooks.example("pack"), encoding="utf-8")
    (folder,) = __import__("example_pack").packs()
    assert folder == importlib.resources.files("example_pack") / "pack"
    del sys.modules["example_pack"]


@pytest.mark.parametrize("kind", GIVES)
def test_a_new_plugin_passes_its_own_test_at_once(kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert main(["plugins", "new", f"tried-{kind}", "--kind", kind, "--into", str(tmp_path)]) == 0
    folder = tmp_path / f"tried-{kind}"
    monkeypatch.syspath_prepend(folder)
    test: dict[str, object] = {}
    exec((folder / "tests" / f"test_tried_{kind}.py").read_text(encoding="utf-8"), test)
    test["test_it_is_sound"]()  # type: ignore[operator]
    module = sys.modules.pop(f"tried_{kind}")
    given = getattr(module, GIVES[kind])()
    if kind == "pack":
        assert check_pack(str(given[0])) == []
    else:
        assert [item.id.replace("_", "-") for item in given] == [f"tried-{kind}"]
    assert (folder / "README.md").exists()


@pytest.mark.parametrize("name", ["", "../out", "Upper", "a b", "class", "json", "x" * 60, "-x", "numpy"])
def test_a_name_that_cannot_be_one_is_refused(name: str, tmp_path: Path) -> None:
    with pytest.raises(InputError):
        new_plugin(name, "metric", tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_there_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "river-knives").mkdir()
    with pytest.raises(InputError, match="is there already"):
        new_plugin("river-knives", "grind", tmp_path)
    assert list((tmp_path / "river-knives").iterdir()) == []
