"""Metrics of a batch of candidates, of one grind or several, computed once and only when asked for."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from recommender.errors import GeometryError, PluginError
from recommender.geometry.arcs import Array
from recommender.geometry.outline import Outline, Sides, padded
from recommender.geometry.section import area_mm2
from recommender.plugin.api import Context, Designs, Forms, Grind, Metric, Sections, TaskLoad
from recommender.plugin.api.figure_store import FIGURES, FigureTable
from recommender.plugin.guard import Registered, UnusableResultError
from recommender.plugin.registry import Registry


@dataclass
class Measured:
    """Candidates with lazily computed metrics."""

    grinds: tuple[Registered[Grind], ...]
    which: npt.NDArray[np.intp]
    """(n,), the grind of each candidate."""
    sections: Sections
    context: Context
    registry: Registry
    forms: Forms | None = None
    """The same candidates as whole blades, where tip, swedge and taper are being chosen."""
    columns: tuple[tuple[str, ...], ...] = ()
    """Of several grinds: the columns that the designs of each have; the others are blank there."""
    _cache: dict[str, Any] = field(default_factory=dict)
    _weighted: dict[tuple[str, frozenset[str]], Array | None] = field(default_factory=dict)
    """Per-task metrics over some tasks, as rules ask for them."""
    _of_tasks: dict[str, tuple[Sections, Context]] = field(default_factory=dict)
    """Tasks that not every row has: the rows that have them."""

    @classmethod
    def of(
        cls,
        grind: Registered[Grind],
        designs: Designs,
        context: Context,
        registry: Registry,
        row: npt.NDArray[np.intp] | None = None,
    ) -> Measured | None:
        """Draw the outlines of designs of one grind that can be made; None when the plug-in fails at it.

        `row`: the design of each candidate, (n,), where several have the same; else each design is a candidate.
        """
        family = grind.item
        doing = f"drawing {family.id}"
        outlines = registry.call(grind.origin, doing, family.outlines, designs)
        if outlines is None or not _sound(outlines):
            registry.failed(grind.origin, doing, _UNSOUND)
            return None
        tips = outlines
        zoned = False
        if family.tip_outlines is not None:
            doing = f"drawing the tip of {family.id}"
            drawn = registry.call(grind.origin, doing, family.tip_outlines, designs)
            if drawn is not None and _sound(drawn):
                tips, zoned = drawn, True
            else:
                registry.failed(grind.origin, doing, _UNSOUND)
        candidates = designs if row is None else designs.taking(row)
        sections = Sections(candidates, outlines, tips, row, np.full(len(candidates), zoned))
        if grind.declared is not None and not grind.origin.foreign:  # one from outside may draw the same design anew
            table, by = FIGURES.table, (grind.declared.outlines, grind.declared.tip_outlines)
            sections = sections.placed(table, table.places(by, designs))
        return cls((grind,), np.zeros(len(candidates), dtype=np.intp), sections, context, registry)

    @classmethod
    def joined(cls, parts: Sequence[Measured], context: Context | None = None) -> Measured:
        """Batches of one grind each as one batch: what takes its time by the call is then called once.

        `context` is that of the whole batch where theirs do not simply follow one another.
        """
        if len(parts) == 1 and context is None:
            return parts[0]
        sections = [p.sections for p in parts]
        count = max(max(s.drawn.shape[1], s.drawn_tips.shape[1]) for s in sections) | 1
        drawn = np.concatenate([padded(s.drawn, count) for s in sections])
        zoned = np.concatenate([s.zoned for s in sections])
        tips = np.concatenate([padded(s.drawn_tips, count) for s in sections]) if zoned.any() else drawn
        row = None
        if any(s.row is not None for s in sections):
            start = np.cumsum([0, *(len(s.drawn) for s in sections)])
            own = [np.arange(len(s)) if s.row is None else s.row for s in sections]
            row = np.concatenate([first + r for first, r in zip(start[:-1], own, strict=True)])
        joined = Sections(_joined_designs([p.designs for p in parts]), drawn, tips, row, zoned)
        return cls(
            tuple(p.grinds[0] for p in parts),
            np.repeat(np.arange(len(parts)), [len(p) for p in parts]),
            joined.placed(*_placing(sections)),
            Context.joined([p.context for p in parts], [len(p) for p in parts]) if context is None else context,
            parts[0].registry,
            columns=tuple(tuple(p.designs.columns) for p in parts),
        )

    def taking(self, rows: npt.NDArray[np.intp], context: Context) -> Measured:
        """Some candidates as a batch of their own, with what is already computed; `context` is theirs."""
        used, which = np.unique(self.which[rows], return_inverse=True)
        sections = self.sections.taking(rows)
        columns = tuple(self.columns[k] for k in used) if self.columns else ()
        if len(columns) == 1:  # blanks that stand for what only other grinds have are not this one's
            own = Designs({name: sections.designs[name] for name in columns[0]})
            sections = dataclasses.replace(sections, designs=own).placed(*_placing([sections]))
        return Measured(
            tuple(self.grinds[k] for k in used),
            which,
            sections,
            context,
            self.registry,
            columns=columns,
            _cache={name: _taking(value, rows) for name, value in self._cache.items()},
        )

    def take_over(self, joined: Measured, rows: npt.NDArray[np.intp]) -> None:
        """Keep what was computed of these candidates in a joined batch, in which they are the given rows."""
        self._cache.update({name: _taking(value, rows) for name, value in joined._cache.items()})

    def __len__(self) -> int:
        return len(self.sections)

    @property
    def grind(self) -> Registered[Grind]:
        """The grind of a batch of one grind."""
        (grind,) = self.grinds
        return grind

    @property
    def designs(self) -> Designs:
        """The designs behind the sections."""
        return self.sections.designs

    def of_grind(self, get: Callable[[Grind], str]) -> Any:
        """A word about the grind: one for all, or (n,) where there are several."""
        words = [get(stamped.item) for stamped in self.grinds]
        return words[0] if len(words) == 1 else np.asarray(words)[self.which]

    def metric(self, name: str, tasks: frozenset[str] = frozenset()) -> Array | None:
        """A metric (n,), weighted by share over the tasks named (all when none is); None where it has no meaning."""
        stamped = self.registry.metrics[name]
        if stamped.item.compute_for_task is None:
            return self._whole(stamped)
        if (name, tasks) not in self._weighted:  # several rules ask for the same
            self._weighted[name, tasks] = self._weighted_by_share(name, tasks)
        return self._weighted[name, tasks]

    def _weighted_by_share(self, name: str, tasks: frozenset[str]) -> Array | None:
        parts = self.by_task(name)
        loads = [t for t in self.context.tasks if t.task.id in parts and (not tasks or t.task.id in tasks)]
        if not loads:
            return None
        if len(loads) == 1:
            return parts[loads[0].task.id]
        total = sum(load.share for load in loads)
        weighted = sum(_weighted(load.share, parts[load.task.id]) for load in loads)
        return np.asarray(weighted / np.where(total > 0, total, np.nan))

    def by_task(self, name: str) -> dict[str, Array]:
        """A per-task metric's value for each task it applies to."""
        if name not in self._cache:
            stamped = self.registry.metrics[name]
            compute = stamped.item.compute_for_task
            values = {}
            for load in self.context.tasks if compute is not None else ():
                value = self._of_task(stamped, load)
                if value is not None:
                    values[load.task.id] = value
            self._cache[name] = values
        found: dict[str, Array] = self._cache[name]
        return found

    def applies(self, name: str, tasks: frozenset[str]) -> Any:
        """Where a metric has a meaning for the tasks named (all when none is): a flag, or (n,) where rows differ."""
        stamped = self.registry.metrics[name]
        here: Any = True
        subject = self._subject(stamped)
        if stamped.item.applies is not None and subject is not None:
            asked = self._asked_where(stamped, subject)
            here = True if asked is None else asked
        if stamped.item.compute_for_task is None:
            return here
        loads = [t for t in self.context.tasks if t.task.id in self.by_task(name) and (not tasks or t.task.id in tasks)]
        return here & (np.asarray(sum(load.share for load in loads)) > 0)

    def _asked_where(self, stamped: Registered[Metric], subject: Sections | Forms) -> npt.NDArray[np.bool_] | None:
        """Where a metric says that it has a meaning, (n,); None where it fails to say."""
        assert stamped.item.applies is not None
        doing = f"asking where {stamped.item.id} applies"
        applies = self.registry.lending(stamped.origin, doing, stamped.item.applies)

        def flags() -> npt.NDArray[np.bool_]:
            asked = applies(subject)
            if np.shape(asked) != (len(subject),):
                raise UnusableResultError(f"shape {np.shape(asked)} instead of ({len(subject)},)")
            return np.array(asked, dtype=bool)

        return self.registry.call(stamped.origin, doing, flags)

    def _of_task(self, stamped: Registered[Metric], load: TaskLoad) -> Array | None:
        """A metric for one task (n,): NaN for rows without the task, which are left out of the reckoning."""
        compute = stamped.item.compute_for_task
        rows = None if np.all(np.asarray(load.share) > 0) else np.flatnonzero(np.asarray(load.share) > 0)
        subject = self._subject(stamped)
        if subject is None:
            return None
        if rows is None:
            return self._by_grind(stamped, compute, subject, load)
        if not rows.size:
            return np.full(len(self), np.nan)
        if load.task.id not in self._of_tasks:
            context = self.context.taking(rows, (load,))
            self._of_tasks[load.task.id] = self.sections.taking(rows), context
        sections, context = self._of_tasks[load.task.id]
        value = self._call(stamped, len(rows), compute, sections, context, context.tasks[0])
        if value is None:
            return None
        out = np.full(len(self), np.nan)
        out[rows] = value
        return out

    def _whole(self, stamped: Registered[Metric]) -> Array | None:
        name = stamped.item.id
        if name not in self._cache:
            compute = stamped.item.compute
            value = None
            subject = self._subject(stamped)
            if compute is not None and subject is not None:
                value = self._by_grind(stamped, compute, subject)
            self._cache[name] = value
        found: Array | None = self._cache[name]
        return found

    def _subject(self, stamped: Registered[Metric]) -> Sections | Forms | None:
        """What a metric is a figure of; None where that is not at hand."""
        return self.forms if stamped.item.of == "blade" else self.sections

    def _by_grind(
        self, stamped: Registered[Metric], compute: Any, subject: Sections | Forms, *load: TaskLoad
    ) -> Array | None:
        """Compute for all rows at once; should that fail, for each grind alone: one grind's odd shape stays its own."""
        failed, value = self._tried(stamped, len(self), compute, subject, self.context, *load)
        if not failed or len(self.grinds) == 1 or not isinstance(subject, Sections):
            return value
        out = np.full(len(self), np.nan)
        for k in range(len(self.grinds)):
            rows = np.flatnonzero(self.which == k)
            context = self.context.taking(rows, self.context.tasks)
            part = self._call(stamped, len(rows), compute, subject.taking(rows), context, *load)
            if part is not None:
                out[rows] = part
        return out

    def _call(self, stamped: Registered[Metric], n: int, compute: Any, *args: Any) -> Array | None:
        return self._tried(stamped, n, compute, *args)[1]

    def _tried(self, stamped: Registered[Metric], n: int, compute: Any, *args: Any) -> tuple[bool, Array | None]:
        """Whether a metric's function failed, and its n values; None where it failed or has no meaning."""
        doing = f"computing {stamped.item.id}"
        compute = self.registry.lending(stamped.origin, doing, compute)

        def values() -> Array | None:
            value = compute(*args)
            if value is None:
                return None
            if np.shape(value) != (n,):  # before an array as large is made of it
                raise UnusableResultError(f"shape {np.shape(value)} instead of ({n},)")
            if not stamped.origin.foreign:
                return np.asarray(value, dtype=float)
            array = np.array(value, dtype=float)  # one that the plug-in does not hold as well
            if np.isinf(array).any() and np.isinf(array[self._where(stamped, args[0])]).any():
                raise UnusableResultError("infinite where it applies")
            return array

        try:
            return False, self.registry.run(stamped.origin, doing, values)
        except PluginError:
            if self.registry.strict:
                raise
            return True, None

    def _where(self, stamped: Registered[Metric], subject: Sections | Forms) -> Any:
        asked = None if stamped.item.applies is None else self._asked_where(stamped, subject)
        return slice(None) if asked is None else asked


def _placing(parts: Sequence[Sections]) -> tuple[FigureTable | None, npt.NDArray[np.intp] | None]:
    """The table and places of several batches together; none where they do not stand in one table."""
    placings = [p.placing for p in parts]
    known = [p for p in placings if p is not None]
    if len(known) < len(placings) or any(table is not known[0][0] for table, _ in known):
        return None, None
    return known[0][0], np.concatenate([places for _, places in known])


def _weighted(share: Any, value: Array) -> Array:
    """Share times value; a task that a row does not have counts nothing, whatever its value."""
    return np.where(np.asarray(share) > 0, share * value, 0.0)


def _taking(cached: Any, rows: npt.NDArray[np.intp]) -> Any:
    if isinstance(cached, dict):
        return {task: value[rows] for task, value in cached.items()}
    return None if cached is None else cached[rows]


def _joined_designs(batches: Sequence[Designs]) -> Designs:
    """Every column of any batch; NaN, or no text, where a grind does not have it."""
    columns = {}
    for name in dict.fromkeys(name for batch in batches for name in batch.columns):
        blank = "" if next(b[name] for b in batches if name in b).dtype.kind == "U" else np.nan
        columns[name] = np.concatenate([b[name] if name in b else np.full(len(b), blank) for b in batches])
    return Designs(columns)


_UNSOUND = "outlines of a wrong shape: clockwise, or with a face that turns back"


def _sound(outlines: Outline) -> bool:
    """Whether a plug-in's outlines are closed, anticlockwise shapes whose faces only climb."""
    try:
        return bool((np.asarray(area_mm2(outlines)) > 0).all()) and Sides.of(outlines).monotone
    except GeometryError:
        return False
