"""What is kept: form, order and view as they were left, the briefs used last, names of free files, the user's keys."""

from __future__ import annotations

import contextlib
import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from recommender.errors import InputError
from recommender.files import read_file, write_whole
from recommender.folders import user_folder
from recommender.parsing import parse_json, parse_toml
from recommender.text import shorten

LAST = "as-left.json"
ORDER = "order.json"
VIEW = "view.json"
RECENT = "recent.json"
KEYS = "keys.toml"
_MOST_RECENT = 9
_MOST_BYTES = 64_000


class SessionState:
    """A folder of the user's in which the form is kept while it is filled in."""

    def __init__(self, folder: Path | None = None) -> None:
        self.folder = folder or user_folder("state")

    def left_off(self) -> dict[str, str]:
        """The fields as they were left; nothing where there is nothing, or nothing that can be read."""
        return self._recalled(LAST)

    def leave(self, values: dict[str, str]) -> None:
        """Keep the fields as they are now."""
        self._remember(LAST, values)

    def order(self) -> dict[str, str]:
        """The order as it was left before it became a quote."""
        return self._recalled(ORDER)

    def leave_order(self, order: dict[str, str]) -> None:
        """Keep the order as it is now."""
        self._remember(ORDER, order)

    def view(self) -> dict[str, str]:
        """For whom, in which lengths and colours the last session answered."""
        return self._recalled(VIEW)

    def leave_view(self, **view: str) -> None:
        """Keep one or more of them as they are now."""
        self._remember(VIEW, {**self.view(), **view})

    def recent(self) -> list[Path]:
        """Briefs opened and saved before that are still there, the last first."""
        try:
            data = self._read(RECENT)
        except (OSError, InputError):
            return []
        paths = [Path(p) for p in data if isinstance(p, str)] if isinstance(data, list) else []
        return [p for p in paths if p.is_file()][:_MOST_RECENT]

    def used(self, path: Path) -> None:
        """Remember a brief as the last one used."""
        paths = [path.absolute(), *(p for p in self.recent() if p != path.absolute())]
        self._remember(RECENT, [str(p) for p in paths[:_MOST_RECENT]])

    def _recalled(self, name: str) -> dict[str, str]:
        try:
            data = self._read(name)
        except (OSError, InputError):
            return {}
        if not isinstance(data, dict):
            return {}
        return {str(key): value for key, value in data.items() if isinstance(value, str) and len(value) <= 200}

    def _read(self, name: str) -> Any:
        expected = "what the interface keeps"
        raw = read_file(self.folder / name, _MOST_BYTES, expected)
        return parse_json(raw, name, expected, most_bytes=_MOST_BYTES)

    def _remember(self, name: str, data: object) -> None:
        """A folder that cannot be written costs the memory, not the session."""
        with contextlib.suppress(OSError, InputError):
            self.folder.mkdir(parents=True, exist_ok=True)
            write_whole(self.folder / name, json.dumps(data).encode())


def free(folder: Path, stem: str, ending: str) -> Path:
    """The first of `stem.ending`, `stem-2.ending` ... that does not exist yet. Raises InputError."""
    for number in range(1, 1000):
        path = folder / (f"{stem}.{ending}" if number == 1 else f"{stem}-{number}.{ending}")
        if not path.exists():
            return path
    raise InputError("too many files here", file=str(folder), expected="a folder with fewer than 1,000")


def keys_folder() -> Path:
    """Where keys of the user's own are looked for."""
    return user_folder("config")


def keymap(known: Iterable[str], folder: Path | None = None) -> dict[str, str]:
    """Keys of the user's own, by the ids of what they do, from `keys.toml`. Raises InputError for unknown ids."""
    path = (folder or keys_folder()) / KEYS
    if not path.is_file():
        return {}
    valid = list(known)
    data = parse_toml(read_file(path, _MOST_BYTES, "a file of keys"), str(path), InputError)
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
        if not isinstance(key, str) or not key:
            raise InputError(f"{shorten(key)} is no key", file=str(path), key=name, expected='such as "f7" or "ctrl+t"')
    return {name: str(key) for name, key in data.items()}
