"""The user's own folders: where configuration, data and state are kept."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Literal

import platformdirs

_APP = "bevelwright"
_XDG = {
    "config": ("XDG_CONFIG_HOME", "~/.config"),
    "data": ("XDG_DATA_HOME", "~/.local/share"),
    "state": ("XDG_STATE_HOME", "~/.local/state"),
}


def user_folder(kind: Literal["config", "data", "state"]) -> Path:
    """The folder for a kind of file, by the customs of the system.

    A relative path in one of the XDG variables is ignored: XDG Base Directory Specification 0.8, "Basics".
    """
    variable, usual = _XDG[kind]
    named = os.environ.get(variable, "").strip()
    if os.name == "posix" and named and not os.path.isabs(named):
        return Path(usual).expanduser() / _APP
    return Path(getattr(platformdirs, f"user_{kind}_dir")(_APP, appauthor=False))


def user_folders() -> tuple[Path, ...]:
    """All of them."""
    return user_folder("config"), user_folder("data"), user_folder("state")
