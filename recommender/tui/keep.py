"""What is kept: the form as it was left, and briefs written to files. Files are written whole or not at all."""

from __future__ import annotations

import json
import os
from pathlib import Path

import platformdirs

from recommender.errors import InputError

LAST = "as-left.json"
_MOST_BYTES = 64_000


class Keep:
    """A folder of the user's in which the form is kept while it is filled in."""

    def __init__(self, folder: Path | None = None) -> None:
        self.folder = folder or Path(platformdirs.user_state_dir("bevelwright", appauthor=False))

    def left_off(self) -> dict[str, str]:
        """The fields as they were left; nothing where there is nothing, or nothing that can be read."""
        try:
            raw = (self.folder / LAST).read_bytes()
            data = json.loads(raw) if len(raw) <= _MOST_BYTES else {}
        except (OSError, ValueError):
            return {}
        if not isinstance(data, dict):
            return {}
        return {str(key): value for key, value in data.items() if isinstance(value, str) and len(value) <= 200}

    def leave(self, values: dict[str, str]) -> None:
        """Keep the fields as they are now. A folder that cannot be written costs the memory, not the session."""
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            _write_whole(self.folder / LAST, json.dumps(values).encode())
        except OSError:
            return


def save(text: str, folder: Path, stem: str = "brief") -> Path:
    """Write a text to the first free `stem.toml`, `stem-2.toml` ... of a folder. Raises InputError."""
    for number in range(1, 1000):
        path = folder / (f"{stem}.toml" if number == 1 else f"{stem}-{number}.toml")
        if path.exists():
            continue
        try:
            _write_whole(path, text.encode())
        except OSError as cause:
            raise InputError(
                f"cannot be written ({cause.strerror})", file=str(path), expected="a writable folder"
            ) from None
        return path
    raise InputError("too many briefs here", file=str(folder), expected="a folder with fewer than 1,000")


def _write_whole(path: Path, data: bytes) -> None:
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        beside.write_bytes(data)
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)
