"""What stood in the form before, so that every change of it can be undone and done again."""

from __future__ import annotations

MOST_KEPT = 200


class FormHistory:
    """States of the form, each the text of its fields."""

    def __init__(self, values: dict[str, str]) -> None:
        self._past: list[dict[str, str]] = []
        self._now = dict(values)
        self._future: list[dict[str, str]] = []
        self._typed = ""

    def changed(self, values: dict[str, str], typed: str = "") -> None:
        """Take a change; what is `typed` into one field after the other key is one change."""
        if values == self._now:
            return
        if not typed or typed != self._typed:
            self._past = [*self._past, self._now][-MOST_KEPT:]
        self._typed, self._now = typed, dict(values)
        self._future.clear()

    def undo(self) -> dict[str, str] | None:
        """What stood there before; None where nothing was changed."""
        return self._turn(self._past, self._future)

    def redo(self) -> dict[str, str] | None:
        """What was undone last; None where nothing was, or the form was changed since."""
        return self._turn(self._future, self._past)

    def _turn(self, back: list[dict[str, str]], forth: list[dict[str, str]]) -> dict[str, str] | None:
        if not back:
            return None
        forth.append(self._now)
        self._now, self._typed = back.pop(), ""
        return dict(self._now)
