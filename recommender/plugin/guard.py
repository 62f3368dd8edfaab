"""The one way in which functions of plug-ins are called: what they print is captured, what fails is noted and named."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from typing import Any, Generic, TypeVar

from recommender.errors import GeometryError, PluginError
from recommender.geometry.outline import Outline, as_batch
from recommender.plugin.api import Designs, Grind, Refusal
from recommender.plugin.output_capture import MOST_PRINTED, OutputCapture, captured
from recommender.text import clean

T = TypeVar("T")


@dataclass(frozen=True)
class Origin:
    """Which plug-in something came from."""

    plugin: str
    distribution: str
    version: str

    def __str__(self) -> str:
        return f"{self.plugin} ({self.distribution} {self.version})"


@dataclass(frozen=True)
class Registered(Generic[T]):
    """A contribution with the plug-in that gave it."""

    item: T
    origin: Origin


class UnusableResultError(Exception):
    """A plug-in's function gave something that cannot be used; the message says what."""


@dataclass
class Guard:
    """Calls of plug-ins for one question, and what failed in them: nothing of it outlives the question."""

    strict: bool = False
    failures: list[PluginError] = field(default_factory=list)
    captures: dict[tuple[Origin, str], OutputCapture] = field(default_factory=dict)
    """What was printed so far, by what was being done."""

    def failed(self, origin: Origin, doing: str, cause: BaseException | str) -> PluginError:
        """Note the first failure of a plug-in at one thing and give it. Raises it, a PluginError, when strict."""
        error = PluginError(origin.plugin, f"{origin.distribution} {origin.version}", doing, cause)
        if self.strict:
            raise error
        known = next((f for f in self.failures if (f.plugin, f.doing) == (error.plugin, doing)), None)
        if known is None:
            self.failures.append(error)
        return known or error

    def run(self, origin: Origin, doing: str, function: Callable[..., T], *args: Any) -> T:
        """Call a function of a plug-in and give what it gives.

        Raises PluginError, noted, on Exception, SystemExit, a result that cannot be used or a flood of print;
        KeyboardInterrupt goes through. What it prints goes to standard error.
        """
        capture = self.captures.setdefault((origin, doing), OutputCapture())
        try:
            with captured(capture):
                answer = function(*args)
        except PluginError:
            raise  # by a function within, where it was noted
        except UnusableResultError as cause:
            raise self.failed(origin, doing, str(cause)) from None
        except (Exception, SystemExit) as cause:
            raise self.failed(origin, doing, cause) from cause
        if capture.flooded:
            raise self.failed(origin, doing, f"printed more than {MOST_PRINTED:,} characters")
        return answer

    def call(self, origin: Origin, doing: str, function: Callable[..., T], *args: Any) -> T | None:
        """Like `run`, but None where it fails. Raises PluginError only when strict."""
        try:
            return self.run(origin, doing, function, *args)
        except PluginError:
            if self.strict:
                raise
            return None

    def grind(self, stamped: Registered[Grind]) -> Registered[Grind]:
        """A grind each of whose functions is called guarded.

        They raise PluginError where they fail or give something of a wrong type or shape.
        """
        grind, origin = stamped.item, stamped.origin

        def guarded(doing: str, function: Callable[..., Any], usable: Callable[..., Any]) -> Callable[..., Any]:
            def checked(designs: Designs, *others: Any) -> Any:
                return usable(function(designs, *others), designs)

            return partial(self.run, origin, f"{doing} {grind.id}", checked)

        tip, line = grind.tip_outlines, grind.for_line
        return Registered(
            dataclasses.replace(
                grind,
                outlines=guarded("drawing", grind.outlines, _outlines),
                complete=guarded("completing designs of", grind.complete, _designs),
                refusals=guarded("checking", grind.refusals, _refusals),
                tip_outlines=None if tip is None else guarded("drawing the tip of", tip, _outlines),
                for_line=None if line is None else guarded("setting the line of", line, _designs),
            ),
            origin,
        )


def _outlines(drawn: Any, designs: Designs) -> Outline:
    try:
        outlines = as_batch(drawn)
    except GeometryError as cause:
        raise UnusableResultError(f"outlines of a wrong shape: {cause}") from None
    if len(outlines) != len(designs):
        raise UnusableResultError(f"outlines of a wrong shape: {len(outlines)} of {len(designs)} designs")
    return outlines


def _designs(completed: Any, designs: Designs) -> Designs:
    if not isinstance(completed, Designs):
        raise UnusableResultError(f"{type(completed).__name__} came back instead of designs")
    gone = [name for name in designs.columns if name not in completed]
    if gone:
        raise UnusableResultError(f"designs came back without {', '.join(gone)}")
    return completed


def _refusals(refusals: Any, designs: Designs) -> list[Refusal]:
    """Every refusal with a reason in printable words."""
    if not isinstance(refusals, (list, tuple)):
        raise UnusableResultError(f"{type(refusals).__name__} came back instead of a list of refusals")
    for refusal in refusals:
        if not isinstance(refusal, Refusal) or not isinstance(refusal.reason, str):
            raise UnusableResultError("a refusal without a reason in words")
    return [dataclasses.replace(r, reason=clean(r.reason, one_line=True)) for r in refusals]
