"""What `plugins check` is asked to check: an installed plug-in, a file, a distribution's folder, a pack, a module."""

from __future__ import annotations

import importlib.machinery
import importlib.util
import os
from pathlib import Path
from typing import NamedTuple

from recommender.errors import InputError
from recommender.files import read_file
from recommender.service import MAX_TOML_BYTES, PLUGIN_GROUP, installed, parse_toml
from recommender.text import clean, shorten

_EXPECTED = "the name of an installed plug-in, a module, a .py file, a distribution's folder or a pack's folder"


class Target(NamedTuple):
    """One thing to check: how it is found, what it is called, and where it is."""

    kind: str
    """plug-in, file, folder, module or pack."""
    name: str
    value: str
    """An entry point's value, or a path; of a folder FOLDER::VALUE."""


def targets(text: str) -> list[Target]:
    """What a name, module or path means; nothing is imported. Raises InputError."""
    named = [point for point in installed() if point.name == text]
    if named:
        return [Target("plug-in", text, point.value) for point in named]
    path = Path(text)
    if path.is_dir():
        return _of_folder(path.resolve())
    if path.suffix == ".py" and path.is_file():
        return [Target("file", path.stem, str(path.resolve()))]
    if all(part.isidentifier() for part in text.split(".")) and _is_there(text.partition(".")[0]):
        return [Target("module", text, text)]
    raise InputError(
        f"there is no plug-in {shorten(text)}", expected=_EXPECTED, given=text, valid=[p.name for p in installed()]
    )


def _is_there(package: str) -> bool:
    here = importlib.machinery.PathFinder.find_spec(package, [os.getcwd()])
    return here is not None or importlib.util.find_spec(package) is not None


def _of_folder(folder: Path) -> list[Target]:
    if (folder / "pack.toml").is_file():
        return [Target("pack", folder.name, str(folder))]
    file = folder / "pyproject.toml"
    shown = clean(str(file), one_line=True)
    data = parse_toml(read_file(file, MAX_TOML_BYTES, _EXPECTED), shown)
    try:
        points = dict(data["project"]["entry-points"][PLUGIN_GROUP])
    except (KeyError, TypeError, ValueError):
        raise InputError("names no plug-in", file=shown, expected=f'[project.entry-points."{PLUGIN_GROUP}"]') from None
    return [Target("folder", str(name), f"{folder}::{value}") for name, value in points.items()]
