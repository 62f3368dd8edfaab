"""Typed errors: each names its file, rule or plug-in and prints as one line."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Self

from recommender.text import clean, nearest


class BevelwrightError(Exception):
    """Anything Bevelwright refuses; `str()` is one printable line, `exit_code` what the shell gets."""

    exit_code = 2

    def __str__(self) -> str:
        return clean(super().__str__(), one_line=True)


class InputError(BevelwrightError):
    """Bad input: which file, which rule in it, which key, what was expected and the nearest valid name."""

    def __init__(
        self,
        problem: str,
        *,
        file: str | None = None,
        rule: str | None = None,
        key: str | None = None,
        expected: str | None = None,
        given: str | None = None,
        valid: Iterable[str] = (),
    ) -> None:
        self.file, self.rule, self.key = file, rule, key
        self.expected, self.given, self.problem = expected, given, problem
        self.nearest = nearest(given, valid) if given is not None else None
        super().__init__(self._line())

    def located(self, rule: str | None, key: str | None) -> Self:
        """The same, told of a rule of the file, and a key in that."""
        self.rule, self.key = rule, key
        self.args = (self._line(),)
        return self

    def _line(self) -> str:
        where = ": ".join(part for part in (self.file, self.rule, self.key) if part)
        line = f"{where}: {self.problem}" if where else self.problem
        if self.expected:
            line += f"; expected {self.expected}"
        if self.nearest:
            line += f"; nearest: {self.nearest}"
        return line


class PackError(InputError):
    """A pack (rules or tables) that cannot be loaded."""


class GeometryError(BevelwrightError):
    """A shape that cannot exist: crossing faces, a line above the spine, degenerate outlines."""


_LONGEST_CAUSE = 300


def describe(cause: BaseException) -> str:
    """What an exception from foreign code says, in a few words: even that may be endless, or fail."""
    try:
        words = f"{type(cause).__name__}: {cause}"
    except KeyboardInterrupt:
        raise
    except BaseException:
        words = type(cause).__name__
    return words if len(words) <= _LONGEST_CAUSE else words[:_LONGEST_CAUSE] + "…"


class PluginError(BevelwrightError):
    """A plug-in that failed to load or failed when called; names the plug-in and its distribution."""

    exit_code = 3

    def __init__(self, plugin: str, distribution: str, doing: str, cause: BaseException | str) -> None:
        self.plugin, self.distribution, self.doing = plugin, distribution, doing
        self.cause = cause if isinstance(cause, str) else describe(cause)
        super().__init__(f"plug-in {plugin} ({distribution}) failed while {doing}: {self.cause}")

    def __reduce__(self) -> tuple[type[PluginError], tuple[str, ...]]:
        # It has to come back whole from another process.
        return PluginError, (self.plugin, self.distribution, self.doing, self.cause)
