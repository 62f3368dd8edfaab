"""What is imported when: the engine stays free of interfaces, and quick commands stay quick."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


def loaded_by(code: str) -> set[str]:
    script = f"import sys\n{code}\nprint('\\n'.join(sys.modules), file=sys.stderr)"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, timeout=60, check=True)
    return {name.split(".")[0] for name in done.stderr.split()}


def test_the_engine_imports_no_interface() -> None:
    loaded = loaded_by("from recommender.service import Service; Service().knowledge")
    assert "numpy" in loaded
    assert not loaded & {"textual", "rich", "argparse", "reportlab", "ezdxf"}


def test_version_imports_no_numpy() -> None:
    loaded = loaded_by("from recommender.cli import main\ntry:\n    main(['--version'])\nexcept SystemExit:\n    pass")
    assert not loaded & {"numpy", "pydantic", "pluggy", "textual"}


@pytest.mark.parametrize("layer", ["geometry", "mechanics"])
def test_geometry_and_mechanics_need_only_numpy(layer: str) -> None:
    modules = [
        f"recommender.{layer}.{p.stem}" for p in (ROOT / "recommender" / layer).glob("*.py") if p.stem != "__init__"
    ]
    loaded = loaded_by("import " + ", ".join(modules))
    assert "numpy" in loaded
    assert not loaded & {"pydantic", "pluggy", "textual"}


def test_the_top_level_holds_what_was_agreed() -> None:
    listed = subprocess.run(
        ["git", "ls-files", "--full-name"], cwd=ROOT, capture_output=True, text=True, timeout=60, check=True
    ).stdout.split()
    assert {name.split("/")[0] for name in listed} <= {
        "README.md", "DEVELOPERS.md", "pyproject.toml", "LICENSE", ".gitignore", ".ci",
        "recommender", "plugins", "rules", "tests", "scenarios",
    }  # fmt: skip


def test_the_version_is_said_once() -> None:
    from recommender import __version__

    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert project["version"] == __version__


def test_no_file_outgrows_one_idea() -> None:
    for folder in ("recommender", "plugins"):
        for path in (ROOT / folder).rglob("*.py"):
            assert len(path.read_text(encoding="utf-8").splitlines()) <= 600, path
