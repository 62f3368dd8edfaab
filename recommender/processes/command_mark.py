"""A mark that outlives a process: how far the command got that it ran."""

from __future__ import annotations

from recommender.processes.shared_page import SharedPage

_SIDE_EFFECT, _DONE = 1, 2


class CommandMark(SharedPage):
    """Two flags and an exit code, as the command writes them and its supervisor reads them."""

    def __init__(self, name: str | None = None) -> None:
        super().__init__(name)
        self._flags = 0

    def side_effect(self) -> None:
        """Mark that something was done that cannot be taken back."""
        if not self._flags & _SIDE_EFFECT:
            self._flags |= _SIDE_EFFECT
            self.write(bytes([self._flags, 0]))

    def done(self, code: int) -> None:
        """Mark that the command has come to its end: an exit code alone proves nothing, as a plug-in may exit."""
        self._flags |= _DONE
        self.write(bytes([self._flags, code]))

    @property
    def had_side_effect(self) -> bool:
        """Whether something was done that cannot be taken back."""
        return bool(self.read()[:1] and self.read()[0] & _SIDE_EFFECT)

    @property
    def exit_code(self) -> int | None:
        """That of the command; None where it did not come to its end."""
        data = self.read()
        return data[1] if len(data) > 1 and data[0] & _DONE else None
