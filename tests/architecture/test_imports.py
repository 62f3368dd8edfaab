"""What is imported when: the engine stays free of interfaces, and quick commands stay quick."""

from __future__ import annotations

import argparse
import importlib
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from recommender.commands.families import FAMILIES
from recommender.service import Service

ROOT = Path(__file__).parents[2]


def modules_of(code: str) -> set[str]:
    """Every module that is there after some code has run in a process of its own."""
    script = f"import sys\n{code}\nprint('\\n'.join(sys.modules), file=sys.stderr)"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, timeout=300, check=True)
    return set(done.stderr.split())


def loaded_by(code: str) -> set[str]:
    return {name.split(".")[0] for name in modules_of(code)}


def test_the_engine_imports_no_interface() -> None:
    loaded = loaded_by("from recommender.service import Service; Service().knowledge")
    assert "numpy" in loaded
    assert not loaded & {"textual", "rich", "argparse", "reportlab", "ezdxf"}


def test_version_imports_no_numpy() -> None:
    loaded = loaded_by("from recommender.cli import main\ntry:\n    main(['--version'])\nexcept SystemExit:\n    pass")
    assert not loaded & {"numpy", "pydantic", "pluggy", "textual"}


OTHERS_JOBS = {
    "recommender.engine.audit": "asked by commands about rules",
    "recommender.engine.batch": "asked by sweep",
    "recommender.engine.identify": "asked by section and measure",
    "recommender.drawing.sheet": "drawn by draw and quote",
    "recommender.drawing.documents": "written by quote and worksheet",
    "recommender.drawing.pages": "written by rules pages",
    "recommender.models.workshop": "quotes and sheets",
    "recommender.shop.price": "quotes",
    "recommender.shop.quotes": "the quote book",
    "recommender.tui": "the interface",
    "textual": "the interface",
    "rich": "the interface",
    "reportlab": "PDF",
    "ezdxf": "DXF",
    "sqlite3": "the quote book",
    "scipy": "no answer needs it",
    "platformdirs": "systems that have other folders than the XDG specification",
}
NO_ENGINE = {
    **OTHERS_JOBS,
    "recommender.engine.answer": "no brief is asked",
    "recommender.engine.search": "no brief is asked",
    "recommender.engine.sensitivity": "no brief is asked",
    "recommender.models.answer.proposal": "there is no answer",
    "recommender.service.briefs": "no brief is asked",
}
KNOWN = {"tomllib": "the packs were read before"}
NOTHING_LOADED = {
    **NO_ENGINE,
    "recommender.service": "nothing is answered",
    "recommender.packs": "no pack is read",
    "recommender.plugin": "no plug-in is loaded",
    "numpy": "nothing is computed",
    "pydantic": "nothing is validated",
    "pluggy": "no plug-in is loaded",
    "importlib.metadata": "no plug-in is looked for",
    "json": "nothing is written as JSON",
    "difflib": "nothing is misspelt",
    "traceback": "nothing has failed",
}
COMMANDS_BY_MODULE = {f"recommender.commands.{family}": commands for family, commands in FAMILIES.items()}


@pytest.mark.parametrize(
    ("asked", "too_early"),
    [
        pytest.param(["--version"], NOTHING_LOADED, id="version"),
        pytest.param(["--help"], NOTHING_LOADED, id="help"),
        pytest.param(["recommend", "--help"], NOTHING_LOADED | {"json": ""}, id="recommend-help"),
        pytest.param(["tasks"], NO_ENGINE | KNOWN, id="tasks"),
        pytest.param(["rules", "show", "food-prep-no-cracking"], NO_ENGINE | KNOWN, id="rules-show"),
    ],
)
def test_a_command_imports_nothing_that_it_does_not_need(
    asked: list[str], too_early: dict[str, str], service: Service
) -> None:
    """What may come early has no reason."""
    assert service.knowledge  # and its packs are kept
    loaded = modules_of(f"from recommender.cli import main\ntry:\n    main({asked})\nexcept SystemExit:\n    pass")
    assert [*_early(loaded, too_early)] == []
    families = {module for module in COMMANDS_BY_MODULE if module in loaded}
    assert families == {module for module, commands in COMMANDS_BY_MODULE.items() if asked[0] in commands}


def test_the_first_words_of_an_answer_wait_for_nothing_that_comes_after_them() -> None:
    code = (
        "from recommender.service import Service, with_settings\n"
        "from recommender.models.brief import Brief\n"
        "next(Service().answers(with_settings(Brief(), ['tasks.food-prep=1'])))"
    )
    loaded = modules_of(code)
    later = OTHERS_JOBS | {
        "recommender.engine.sensitivity": "comes after the answer stands",
        "recommender.engine.answer.tried_blade": "a trial of one blade",
        "recommender.engine.answer.rule_trace": "asked by rules why",
        "argparse": "no command line is read",
    }
    assert [*_early(loaded, later)] == []


def test_the_interface_is_painted_without_the_engine() -> None:
    """It computes nothing, and its other screens come when they are opened."""
    own = {"recommender.tui", "textual", "rich", "platformdirs", "recommender.models.workshop"}
    here = {name: reason for name, reason in OTHERS_JOBS.items() if name not in own}
    engine = dict.fromkeys(
        [f"recommender.engine.{room}" for room in ("answer", "search", "sensitivity", "intake.resolve")]
        + ["recommender.plugin.api", "recommender.plugin.registry", "recommender.packs.load", "pluggy"],
        "the worker's",
    )
    loaded = modules_of("import recommender.tui.terminal_app")
    assert [*_early(loaded, here | engine | {"recommender.tui.screens": "opened by a key"})] == []


def _early(loaded: set[str], too_early: dict[str, str]) -> Iterator[str]:
    for prefix, reason in too_early.items():
        if reason and any(name == prefix or name.startswith(f"{prefix}.") for name in loaded):
            yield f"{prefix}: {reason}"


def test_the_table_of_commands_is_what_the_families_add() -> None:
    added = []
    for family, commands in FAMILIES.items():
        parts = argparse.ArgumentParser().add_subparsers()
        importlib.import_module(f"recommender.commands.{family}").add(parts)
        assert list(parts.choices) == list(commands), family
        added.append(family)
    modules = (ROOT / "recommender" / "commands").glob("*/*_command.py")
    parts_of_rules = {"rulebook.rules_check_command", "rulebook.rules_reports_command"}
    assert {f"{path.parent.name}.{path.stem}" for path in modules} - parts_of_rules == set(added)


def test_the_service_passes_through_what_it_says() -> None:
    import recommender.service as service

    for name in service.__all__:
        assert getattr(service, name) is not None
    assert {*service._FROM} == {*service.__all__} - {"Service", "quote_book"}
    with pytest.raises(AttributeError, match="no attribute 'Brieff'"):
        _ = service.Brieff


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
