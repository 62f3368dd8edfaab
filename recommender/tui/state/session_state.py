"""What is kept from one session to the next: form, order and view as they were left, the briefs used last."""

from __future__ import annotations

import contextlib
from pathlib import Path
from typing import Any

from recommender.folders import user_folder
from recommender.text import clean
from recommender.tui.state.kept_file import KeptFile

LAST = "as-left.json"
ORDER = "order.json"
VIEW = "view.json"
RECENT = "recent.json"
_CALLED = {LAST: "the form", ORDER: "the order", VIEW: "the view", RECENT: "the briefs used last"}
_MOST_RECENT = 9
_LONGEST_TEXT = 2_000
_LONGEST_PATH = 4_096


class SessionState:
    """A folder of the user's in which the form is kept while it is filled in."""

    def __init__(self, folder: Path | None = None) -> None:
        self.folder = folder or user_folder("state")
        self._files = {name: KeptFile(self.folder / name) for name in _CALLED}
        self._held: dict[str, Any] = {}
        """What has been read or written, by file: each is read once."""

    def set_aside(self) -> str:
        """Which files could not be used and where they lie now, in one line; "" where all could."""
        self._recent()
        for name in (LAST, ORDER, VIEW):
            self._texts(name)
        lies = [
            (name, clean(str(path), one_line=True)) for name, file in self._files.items() for path in file.set_aside
        ]
        where = "; ".join(f"{_CALLED[name]}, now in {path}" for name, path in lies)
        return f"Kept from last time, but could not be used: {where}." if where else ""

    def settle(self) -> None:
        """What was kept has been tried, and the session stands: the next one may read it too."""
        for file in self._files.values():
            file.settle()

    def left_off(self) -> dict[str, str]:
        """The fields as they were left; nothing where there is nothing, or nothing that can be read."""
        return self._texts(LAST)

    def leave(self, values: dict[str, str]) -> None:
        """Keep the fields as they are now."""
        self._remember(LAST, dict(values))

    def order(self) -> dict[str, str]:
        """The order as it was left before it became a quote."""
        return self._texts(ORDER)

    def leave_order(self, order: dict[str, str]) -> None:
        """Keep the order as it is now."""
        self._remember(ORDER, dict(order))

    def view(self) -> dict[str, str]:
        """For whom, in which lengths and colours the last session answered."""
        return self._texts(VIEW)

    def leave_view(self, **view: str) -> None:
        """Keep one or more of them as they are now."""
        self._remember(VIEW, {**self.view(), **view})

    def recent(self) -> list[Path]:
        """Briefs opened and saved before that are still there, the last first."""
        return [path for path in map(Path, self._recent()) if _is_there(path)][:_MOST_RECENT]

    def used(self, path: Path) -> None:
        """Remember a brief as the last one used."""
        paths = [path.absolute(), *(p for p in self.recent() if p != path.absolute())]
        self._remember(RECENT, [str(p) for p in paths[:_MOST_RECENT]])

    def _recent(self) -> list[str]:
        if RECENT not in self._held:
            data = self._files[RECENT].read()
            sound = [path for path in data if _is_path(path)] if isinstance(data, list) else []
            self._hold(RECENT, data, sound)
        return list(self._held[RECENT])

    def _texts(self, name: str) -> dict[str, str]:
        if name not in self._held:
            data = self._files[name].read()
            sound = {}
            if isinstance(data, dict):
                sound = {key: value for key, value in data.items() if _is_text(value) and _is_text(key)}
            self._hold(name, data, sound)
        return dict(self._held[name])

    def _hold(self, name: str, data: Any, sound: Any) -> None:
        """Go on with what is sound; where that is not all, the file is set aside as it is."""
        if data is not None and data != sound:
            self._files[name].refuse()
        self._held[name] = sound

    def _remember(self, name: str, data: Any) -> None:
        self._held[name] = data
        self._files[name].write(data)


def _is_text(value: object) -> bool:
    """Whether it is a text that can stand in a field."""
    return isinstance(value, str) and len(value) <= _LONGEST_TEXT and clean(value) == value


def _is_path(value: object) -> bool:
    return isinstance(value, str) and len(value) <= _LONGEST_PATH and "\0" not in value


def _is_there(path: Path) -> bool:
    with contextlib.suppress(OSError):  # a name too long for the system
        return path.is_file()
    return False
