"""A working distribution to start a plug-in from: the hook's own example, with a test that passes at once."""

from __future__ import annotations

import importlib.util
import keyword
import os
import re
from pathlib import Path

from recommender import __version__
from recommender.errors import InputError
from recommender.files import write_whole
from recommender.plugin.hooks import EXAMPLE_IDS, example
from recommender.text import clean, shorten

_NAME = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")
_LONGEST = 40
_NEXT = int(__version__.partition(".")[0]) + 1
"""The version in which promises may end without a word."""
_ABOUT = {
    "grind": "a grind family",
    "metric": "a figure of a section",
    "pack": "rules and tables, which are data",
    "writer": "a kind of document",
}


def new_plugin(name: str, kind: str, into: Path) -> list[Path]:
    """Write a distribution into a folder of its own; gives the folder, then its files.

    Raises InputError for a name that cannot be one or is taken, and for a folder that is there already.
    """
    # A package of its folder's name would be hidden by that folder for whoever starts Python beside it.
    package = name.replace("-", "_") if "-" in name else f"{name}_plugin"
    if not _NAME.fullmatch(name) or len(name) > _LONGEST or keyword.iskeyword(name):
        raise InputError(f"{shorten(name)} is no name", expected="lower case with hyphens, such as river-knives")
    for module in (name.replace("-", "_"), package):
        if importlib.util.find_spec(module) is not None:
            raise InputError(f"there is a module {module} already", expected="a name of its own")
    folder = into / name
    shown = clean(str(folder), one_line=True)
    if os.path.lexists(folder):
        raise InputError("is there already", file=shown, expected="a plug-in of another name")
    files = {folder / path: text for path, text in _files(name, package, kind).items()}
    try:
        for file in files:
            file.parent.mkdir(parents=True, exist_ok=True)
    except OSError as cause:
        raise InputError(f"cannot be made ({cause.strerror})", file=shown, expected="a folder of yours") from None
    for file, text in files.items():
        write_whole(file, text.encode())
    return [folder, *files]


def _files(name: str, package: str, kind: str) -> dict[str, str]:
    files = {
        "pyproject.toml": _PYPROJECT.format(
            name=name, package=package, about=_ABOUT[kind], version=__version__, next=_NEXT
        ),
        "README.md": _README.format(name=name, package=package, about=_ABOUT[kind]),
        f"{package}/__init__.py": f'"""{name}: {_ABOUT[kind]} for Bevelwright."""\n\n{_module(name, package, kind)}',
        f"tests/test_{package}.py": _TEST.format(package=package),
    }
    if kind == "pack":
        title = name.replace("-", " ").capitalize()
        files[f"{package}/pack/pack.toml"] = f'id = "{name}"\ntitle = "{title}"\nversion = "1"\n'
        files[f"{package}/pack/rules/{name}.toml"] = _RULE.format(name=name, title=title)
    return files


def _module(name: str, package: str, kind: str) -> str:
    known = EXAMPLE_IDS.get(kind)
    own = name.replace("-", "_") if kind == "metric" else name
    return example(kind) if known is None else example(kind).replace(f'id="{known}"', f'id="{own}"')


_PYPROJECT = """[build-system]
requires = ["setuptools>=61"]
build-backend = "setuptools.build_meta"

[project]
name = "{name}"
version = "0.1.0"
description = "For Bevelwright: {about}"
readme = "README.md"
requires-python = ">=3.11"
dependencies = ["bevelwright>={version},<{next}"]

[project.optional-dependencies]
test = ["pytest"]

[project.entry-points."bevelwright.plugins"]
{name} = "{package}"

[tool.setuptools]
packages = ["{package}"]

[tool.setuptools.package-data]
{package} = ["**/*.toml"]
"""
_README = """# {name}

For Bevelwright: {about}. What it does is in `{package}/__init__.py`.

```sh
python3 -m pip install -e '.[test]'
python3 -m pytest
bevelwright plugins check {name}
```
"""
_TEST = '''"""The plug-in keeps what Bevelwright relies on."""

import {package}

from recommender.plugin.testing import assert_sound


def test_it_is_sound():
    assert_sound({package})
'''
_RULE = """# Several rules stand in a file, one after the other: a file is a topic. `bevelwright rules new` writes more.

[[rule]]
id = "{name}-first"
title = "{title}: a first rule"
kind = "advice"
tasks = ["wood-carving"]
text = "Say here what is worth knowing."
because = "One or two sentences that a customer can read."
basis = {{ level = "estimate" }}
"""
