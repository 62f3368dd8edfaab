"""What is installed with the program: its licences, and between which versions."""

from __future__ import annotations

import re
import tomllib
from importlib.metadata import distribution
from pathlib import Path

from packaging.requirements import Requirement
from packaging.version import Version

ROOT = Path(__file__).parents[2]
NEEDED = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["dependencies"]
LICENCES = {
    "annotated-types": "MIT",
    "charset-normalizer": "MIT",
    "ezdxf": "MIT",
    "font-source-sans-pro": "OFL",
    "fonttools": "MIT",
    "linkify-it-py": "MIT",
    "markdown-it-py": "MIT",
    "mdit-py-plugins": "MIT",
    "mdurl": "MIT",
    "numpy": "BSD",
    "pillow": "MIT-CMU|HPND",
    "platformdirs": "MIT",
    "pluggy": "MIT",
    "pydantic": "MIT",
    "pydantic-core": "MIT",
    "pygments": "BSD",
    "pyparsing": "MIT",
    "reportlab": "BSD",
    "rich": "MIT",
    "textual": "MIT",
    "typing-extensions": "PSF|Python Software Foundation",
    "typing-inspection": "MIT",
    "uc-micro-py": "MIT",
}
"""All that an installation brings, each with a licence that lets anybody use, change and pass it on."""


def installed() -> dict[str, str]:
    """Everything the program needs, by what it says of its licence."""
    found: dict[str, str] = {}
    wanted = [Requirement(line) for line in NEEDED]
    while wanted:
        requirement = wanted.pop()
        name = re.sub(r"[-_.]+", "-", requirement.name).lower()
        extras = requirement.extras or {""}
        if name in found or not (
            requirement.marker is None or any(requirement.marker.evaluate({"extra": extra}) for extra in extras)
        ):
            continue
        data = distribution(name)
        said = [data.metadata.get("License-Expression"), data.metadata.get("License")]
        found[name] = " ".join([*filter(None, said), *(data.metadata.get_all("Classifier") or [])])
        wanted += [Requirement(line) for line in data.requires or [] if "extra ==" not in line]
    return found


def test_every_licence_is_known() -> None:
    found = installed()
    assert set(found) <= set(LICENCES), "something new is installed: read its licence first"
    assert {name: words for name, words in found.items() if not re.search(LICENCES[name], words)} == {}


def test_every_dependency_is_bounded_on_both_sides() -> None:
    for line in NEEDED:
        operators = {specifier.operator for specifier in Requirement(line).specifier}
        assert operators == {">=", "<"}, line


def test_the_versions_that_passed_are_allowed() -> None:
    """`.ci/passed.txt` is what the whole suite last passed with."""
    lines = (ROOT / ".ci" / "passed.txt").read_text(encoding="utf-8").splitlines()
    passed = dict(line.split("==") for line in lines if line and not line.startswith("#"))
    for requirement in map(Requirement, NEEDED):
        assert Version(passed[requirement.name]) in requirement.specifier, requirement.name
    assert set(passed) <= set(LICENCES)
