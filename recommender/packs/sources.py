"""Where packs are found, and in which order they lie over each other."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from recommender.errors import PackError
from recommender.folders import user_folder
from recommender.text import clean

FOLDER = "packs"
MARK = "pack.toml"
"""The file that makes a folder a pack."""


def own_folder() -> Path:
    """Where a user's own packs lie, each in a folder of its own: over those of plug-ins, under `--packs`."""
    return user_folder("data") / FOLDER


def own_packs() -> list[Path]:
    """The user's own packs, by the names of their folders."""
    return _packs_in(own_folder())


def named_packs(places: Iterable[str]) -> list[Path]:
    """The packs that places name, in their order: a pack's folder, or a folder of packs. Raises PackError."""
    out: list[Path] = []
    for place in places:
        folder = Path(place)
        found = [folder] if (folder / MARK).is_file() else _packs_in(folder)
        if not found:
            shown = clean(place, one_line=True)
            raise PackError("no pack", file=shown, expected=f"a folder with a {MARK} in it, or with packs in it")
        out += [path for path in found if path.resolve() not in {known.resolve() for known in out}]
    return out


def _packs_in(folder: Path) -> list[Path]:
    if not folder.is_dir():
        return []
    return sorted((path for path in folder.iterdir() if (path / MARK).is_file()), key=lambda path: path.name)
