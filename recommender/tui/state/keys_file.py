"""Keys of the user's own, by the ids of what they do."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from recommender.errors import InputError
from recommender.files import read_file
from recommender.folders import user_folder
from recommender.parsing import parse_toml
from recommender.text import clean, shorten

KEYS = "keys.toml"
FORMERLY = {"ghost": "dotted"}
"""Names of earlier versions, which go on working."""
_MOST_BYTES = 64_000
_LONGEST = 60
"""Characters; several keys, with commas between them, do the same."""


def keys_folder() -> Path:
    """Where keys of the user's own are looked for."""
    return user_folder("config")


def keymap(known: Iterable[str], folder: Path | None = None) -> dict[str, str]:
    """Keys of the user's own, by the ids of what they do, from `keys.toml`. Raises InputError for unknown ids."""
    path = (folder or keys_folder()) / KEYS
    if not path.exists():
        return {}
    valid = list(known)
    data = parse_toml(read_file(path, _MOST_BYTES, "a file of keys"), str(path), InputError, _MOST_BYTES)
    data = {FORMERLY.get(name, name): key for name, key in data.items()}
    for name, key in data.items():
        if name not in valid:
            raise InputError(
                f"unknown name {shorten(name)}",
                file=str(path),
                key=shorten(name),
                expected="one of " + ", ".join(valid),
                given=name,
                valid=valid,
            )
        if not _is_key(key):
            raise InputError(f"{shorten(key)} is no key", file=str(path), key=name, expected='such as "f7" or "ctrl+t"')
    return {name: str(key) for name, key in data.items()}


def _is_key(key: object) -> bool:
    """Whether it may be one: it is shown at the foot of the screen, so it has to be printable."""
    if not isinstance(key, str) or len(key) > _LONGEST or clean(key, one_line=True) != key:
        return False
    return all(part.strip() for part in key.split(","))
