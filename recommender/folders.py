"""Where files lie: the user's own folders by kind, and the briefs that come along."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Literal

_APP = "bevelwright"
EXPECTED = ".expected.toml"
"""Ending of the files beside briefs that say what a maker expects: no briefs."""
_XDG_ALONE: bool = sys.platform == "linux"
"""Whether these variables and their defaults are all there is to know."""
_XDG = {
    "config": ("XDG_CONFIG_HOME", "~/.config"),
    "data": ("XDG_DATA_HOME", "~/.local/share"),
    "state": ("XDG_STATE_HOME", "~/.local/state"),
    "cache": ("XDG_CACHE_HOME", "~/.cache"),
}


def user_folder(kind: Literal["config", "data", "state", "cache"]) -> Path:
    """The folder for a kind of file, by the customs of the system.

    A relative path in one of the XDG variables is ignored: XDG Base Directory Specification 0.8, "Basics".
    """
    variable, usual = _XDG[kind]
    named = os.environ.get(variable, "").strip()
    if _XDG_ALONE:
        return Path(named if os.path.isabs(named) else usual).expanduser() / _APP
    if os.name == "posix" and named and not os.path.isabs(named):
        return Path(usual).expanduser() / _APP
    import platformdirs

    return Path(getattr(platformdirs, f"user_{kind}_dir")(_APP, appauthor=False))


def user_folders() -> tuple[Path, ...]:
    """Those of what a user keeps; the cache may go at any time."""
    return user_folder("config"), user_folder("data"), user_folder("state")


def shipped_briefs() -> list[Path]:
    """The briefs that come along, by name: beside the package in a checkout, else where installing put them."""
    import sysconfig

    beside = Path(__file__).resolve().parents[1] / "scenarios"
    folder = beside if beside.is_dir() else Path(sysconfig.get_path("data")) / "share" / _APP / "scenarios"
    return sorted(path for path in folder.glob("*.toml") if not path.name.endswith(EXPECTED))
