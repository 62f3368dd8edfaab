"""The one way in which functions of plug-ins are called: what they print is captured, what fails is noted and named."""

from __future__ import annotations

import contextlib
import dataclasses
import decimal
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import partial
from typing import Any, Generic, TypeVar

import numpy as np

from recommender.cancellation import Cancelled, checkpoint
from recommender.errors import GeometryError, PluginError
from recommender.geometry.outline import Outline, as_batch
from recommender.plugin.api import Designs, Grind, Refusal
from recommender.plugin.foreign_calls import foreign_call
from recommender.plugin.installed import BUILTIN, DISTRIBUTION
from recommender.plugin.lending import Lender, digest, twin
from recommender.plugin.output_capture import MOST_PRINTED, OutputCapture, captured
from recommender.text import clean, shorten

T = TypeVar("T")


@dataclass(frozen=True)
class Origin:
    """Which plug-in something came from."""

    plugin: str
    distribution: str
    version: str

    @property
    def foreign(self) -> bool:
        """Whether it is none of those shipped, which the test kit holds to their promises."""
        return (self.plugin, self.distribution) != (BUILTIN, DISTRIBUTION)

    def __str__(self) -> str:
        return f"{self.plugin} ({self.distribution} {self.version})"


@dataclass(frozen=True)
class Registered(Generic[T]):
    """A contribution with the plug-in that gave it."""

    item: T
    origin: Origin
    declared: T | None = None
    """The item as its plug-in gave it, where the calls of `item` are guarded."""


class UnusableResultError(Exception):
    """A plug-in's function gave something that cannot be used; the message says what."""


@dataclass
class Guard:
    """Calls of plug-ins for one question, and what failed in them: nothing of it outlives the question."""

    strict: bool = False
    failures: list[PluginError] = field(default_factory=list)
    captures: dict[tuple[Origin, str], OutputCapture] = field(default_factory=dict)
    """What was printed so far, by what was being done."""
    left_out: dict[Origin, PluginError] = field(default_factory=dict, init=False)
    """Plug-ins that changed what they were lent: not called any more."""
    _lenders: dict[Origin, Lender] = field(default_factory=dict, init=False)
    _watched: set[tuple[Origin, str]] = field(default_factory=set, init=False)
    """What plug-ins have done once under the eyes of the guard."""

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

        Raises PluginError, noted, on whatever it raises, a result that cannot be used or a flood of print; an interrupt
        alone goes through, and Cancelled where the question is dropped. What it prints goes to standard error.
        """
        checkpoint()
        if origin in self.left_out:
            raise self.left_out[origin]
        # What is shipped prints nothing and sets nothing: the test kit sees to it.
        watch = self._watching(origin, doing) if origin.foreign else contextlib.nullcontext()
        try:
            with watch:
                return function(*args)
        except (PluginError, KeyboardInterrupt, Cancelled):
            raise  # the first by a function within, where it was noted
        except UnusableResultError as cause:
            raise self.failed(origin, doing, str(cause)) from None
        except BaseException as cause:
            raise self.failed(origin, doing, cause) from cause

    @contextlib.contextmanager
    def _watching(self, origin: Origin, doing: str) -> Iterator[None]:
        """A call of a plug-in from outside: what it prints is captured, and how numbers round is its own affair."""
        capture = self.captures.setdefault((origin, doing), OutputCapture())
        # How numpy and decimal round and what they raise may be set: what a plug-in sets ends with its call.
        with captured(capture), np.errstate(), decimal.localcontext(), called(origin, doing):
            yield
        if capture.flooded:
            raise UnusableResultError(f"printed more than {MOST_PRINTED:,} characters")

    def call(self, origin: Origin, doing: str, function: Callable[..., T], *args: Any) -> T | None:
        """Like `run`, but None where it fails. Raises PluginError only when strict."""
        try:
            return self.run(origin, doing, function, *args)
        except PluginError:
            if self.strict:
                raise
            return None

    def lending(self, origin: Origin, doing: str, function: Callable[..., T]) -> Callable[..., T]:
        """A function of a plug-in that gets twins of what it is called with, unless the plug-in is shipped.

        Whether it left them as they were is looked at when it is first called: one that did not raises
        UnusableResultError, and the plug-in is left out of the question from then on.
        """
        if not origin.foreign:
            return function
        lender = self._lenders.setdefault(origin, Lender())

        def lent(*args: Any) -> T:
            twins = [lender.twin(value) for value in args]
            if (origin, doing) in self._watched:
                return function(*twins)
            self._watched.add((origin, doing))
            before = [digest(value) for value in twins]
            answer = function(*twins)
            for value, was in zip(twins, before, strict=True):
                if digest(value) != was:
                    problem = f"changed the {type(value).__name__} that it was lent, and is left out"
                    self.left_out[origin] = self.failed(origin, doing, problem)
                    raise self.left_out[origin]
            return answer

        return lent

    def grind(self, stamped: Registered[Grind]) -> Registered[Grind]:
        """A grind each of whose functions is called guarded.

        They raise PluginError where they fail or give something of a wrong type or shape.
        """
        grind, origin = stamped.item, stamped.origin

        def guarded(doing: str, function: Callable[..., Any], usable: Callable[..., Any]) -> Callable[..., Any]:
            doing = f"{doing} {grind.id}"
            called = self.lending(origin, doing, function)

            def checked(designs: Designs, *others: Any) -> Any:
                given = usable(called(designs, *others), designs)
                if not origin.foreign:
                    return given
                if isinstance(given, Designs):
                    _check_finite(given)
                return twin(given)  # what the plug-in does not hold as well

            return partial(self.run, origin, doing, checked)

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
            declared=grind,
        )


def called(origin: Origin, doing: str) -> contextlib.AbstractContextManager[None]:
    """Hold a call of a plug-in, and tell whoever watches of it where it is foreign."""
    if not origin.foreign:
        return _NOBODY_IS_TOLD
    return foreign_call(origin.plugin, origin.distribution, origin.version, doing)


_NOBODY_IS_TOLD = contextlib.nullcontext()


def _outlines(drawn: Any, designs: Designs) -> Outline:
    if isinstance(drawn, np.ndarray) and drawn.ndim == 3:
        _check_count(drawn, designs)  # before anything as large is made of it
    try:
        outlines = as_batch(drawn)
    except GeometryError as cause:
        raise UnusableResultError(f"outlines of a wrong shape: {cause}") from None
    _check_count(outlines, designs)
    return outlines


def _check_count(outlines: Outline, designs: Designs) -> None:
    if len(outlines) != len(designs):
        raise UnusableResultError(f"outlines of a wrong shape: {len(outlines)} of {len(designs)} designs")


def _designs(completed: Any, designs: Designs) -> Designs:
    if not isinstance(completed, Designs):
        raise UnusableResultError(f"{type(completed).__name__} came back instead of designs")
    gone = [name for name in designs.columns if name not in completed.columns]
    if gone:
        raise UnusableResultError(f"designs came back without {', '.join(gone)}")
    for name, column in completed.columns.items():
        shown = shorten(name).strip("'")
        if np.shape(column) != (len(designs),):
            raise UnusableResultError(f"{shown} of a wrong shape: {np.shape(column)} instead of ({len(designs)},)")
    return completed if type(completed) is Designs else Designs(completed.columns)


def _check_finite(designs: Designs) -> None:
    for name, column in designs.columns.items():
        if column.dtype.kind == "f" and np.isinf(column).any():
            raise UnusableResultError(shorten(name).strip("'") + " is infinite")


def _refusals(refusals: Any, designs: Designs) -> tuple[Refusal, ...]:
    """Every refusal with a reason in printable words."""
    if not isinstance(refusals, (list, tuple)):
        raise UnusableResultError(f"{type(refusals).__name__} came back instead of a list of refusals")
    for refusal in refusals:
        if not isinstance(refusal, Refusal) or not isinstance(refusal.reason, str):
            raise UnusableResultError("a refusal without a reason in words")
        if np.shape(refusal.rows) != (len(designs),):
            raise UnusableResultError(f"rows of shape {np.shape(refusal.rows)} instead of ({len(designs)},)")
    return tuple(Refusal(r.rows, clean(r.reason, one_line=True), bool(r.only_waist)) for r in refusals)
