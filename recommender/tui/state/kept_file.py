"""A file of kept state: out of the way before it is read, so that one that does harm does it once."""

from __future__ import annotations

import contextlib
import json
import os
from pathlib import Path
from typing import Any

from recommender.errors import InputError
from recommender.files import read_file, write_whole
from recommender.parsing import parse_json
from recommender.tui.state.free_name import free

MOST_BYTES = 64_000


class KeptFile:
    """Holds one JSON value from one session to the next.

    While what it held is being tried, the file goes by another name. A session that stands gives the name back
    (`settle`); after one that did not come to stand, the next finds it, sets it aside and starts without.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._opening = path.with_name(f"{path.stem}.opening{path.suffix}")
        self.set_aside: list[Path] = []
        """Where files that could not be used lie now."""

    def read(self) -> Any:
        """What was kept; None where there is nothing, or nothing that can be read."""
        if os.path.lexists(self._opening):
            self.refuse()
        place = self._opening
        try:
            self.path.rename(place)
        except FileNotFoundError:
            return None
        except OSError:  # a folder that cannot be written: it is read where it lies
            place = self.path
        try:
            expected = "kept state"
            raw = read_file(place, MOST_BYTES, expected)
            return parse_json(raw, place.name, expected, most_bytes=MOST_BYTES)
        except InputError:
            self.refuse()
            return None

    def refuse(self) -> None:
        """Set the file aside: what it holds cannot be used, or not all of it."""
        place = self._opening if os.path.lexists(self._opening) else self.path
        try:
            aside = free(self.path.parent, f"{self.path.stem}.set-aside", self.path.suffix.removeprefix("."))
            self.set_aside.append(place.rename(aside))
        except (OSError, InputError):
            self.set_aside.append(place)

    def settle(self) -> None:
        """Give the file its name back, unless something newer goes by it: what it held did no harm."""
        with contextlib.suppress(OSError):
            if os.path.lexists(self.path):
                self._opening.unlink(missing_ok=True)
            else:
                self._opening.rename(self.path)

    def write(self, value: Any) -> None:
        """Keep a value; a folder that cannot be written costs the memory, not the session."""
        with contextlib.suppress(OSError, InputError):
            self.path.parent.mkdir(parents=True, exist_ok=True)
            write_whole(self.path, json.dumps(value).encode())
