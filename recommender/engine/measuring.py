"""Metrics of a batch of candidates, of one grind or several, computed once and only when asked for."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from recommender.errors import GeometryError
from recommender.geometry.arcs import Array
from recommender.geometry.outline import as_batch, padded
from recommender.geometry.section import area_mm2
from recommender.plugin.api import Context, Designs, Grind, Metric, Sections
from recommender.plugin.registry import Registry, Stamped


@dataclass
class Measured:
    """Candidates with lazily computed metrics."""

    grinds: tuple[Stamped[Grind], ...]
    which: npt.NDArray[np.intp]
    """(n,), the grind of each candidate."""
    sections: Sections
    context: Context
    registry: Registry
    _cache: dict[str, Any] = field(default_factory=dict)

    @classmethod
    def of(cls, grind: Stamped[Grind], designs: Designs, context: Context, registry: Registry) -> Measured | None:
        """Draw the outlines of designs of one grind that can be made; None when the plug-in fails at it."""
        family, n = grind.item, len(designs)
        outlines = registry.call(grind.origin, f"drawing {family.id}", family.outlines, designs)
        if outlines is None or not _sound(outlines, n):
            if outlines is not None:
                registry.failed(
                    grind.origin, f"drawing {family.id}", "outlines of a wrong shape, clockwise, or with NaN in them"
                )
            return None
        tips = outlines = as_batch(outlines)
        zoned = False
        if family.tip_outlines is not None:
            drawn = registry.call(grind.origin, f"drawing the tip of {family.id}", family.tip_outlines, designs)
            if drawn is not None and _sound(drawn, n):
                tips, zoned = as_batch(drawn), True
        sections = Sections(designs, outlines, tips, np.full(n, zoned))
        return cls((grind,), np.zeros(n, dtype=np.intp), sections, context, registry)

    @classmethod
    def joined(cls, parts: Sequence[Measured], context: Context | None = None) -> Measured:
        """Batches of one grind each as one batch: what takes its time by the call is then called once.

        `context` is that of the whole batch where theirs do not simply follow one another.
        """
        if len(parts) == 1 and context is None:
            return parts[0]
        count = max(max(p.sections.outlines.shape[1], p.sections.tip_outlines.shape[1]) for p in parts) | 1
        outlines = np.concatenate([padded(p.sections.outlines, count) for p in parts])
        zoned = np.concatenate([p.sections.zoned for p in parts])
        tips = outlines
        if zoned.any():
            tips = np.concatenate([padded(p.sections.tip_outlines, count) for p in parts])
        return cls(
            tuple(p.grinds[0] for p in parts),
            np.repeat(np.arange(len(parts)), [len(p) for p in parts]),
            Sections(_joined_designs([p.designs for p in parts]), outlines, tips, zoned),
            _joined_context(parts) if context is None else context,
            parts[0].registry,
        )

    def part(self, rows: npt.NDArray[np.intp], context: Context) -> Measured:
        """Some candidates of one grind as a batch of their own, with what is already computed; `context` is theirs."""
        s = self.sections
        outlines, zoned = s.outlines[rows], s.zoned[rows]
        return Measured(
            (self.grinds[self.which[rows[0]]],),
            np.zeros(len(rows), dtype=np.intp),
            Sections(s.designs.taking(rows), outlines, s.tip_outlines[rows] if zoned.any() else outlines, zoned),
            context,
            self.registry,
            {name: _taking(value, rows) for name, value in self._cache.items()},
        )

    def __len__(self) -> int:
        return len(self.sections)

    @property
    def grind(self) -> Stamped[Grind]:
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
        parts = self.by_task(name)
        loads = [t for t in self.context.tasks if t.task.id in parts and (not tasks or t.task.id in tasks)]
        total = sum(load.share for load in loads)
        if not loads or np.all(total <= 0):
            return None
        if len(loads) == 1:
            return parts[loads[0].task.id]
        return np.asarray(sum(load.share * parts[load.task.id] for load in loads) / total)

    def by_task(self, name: str) -> dict[str, Array]:
        """A per-task metric's value for each task it applies to."""
        if name not in self._cache:
            stamped = self.registry.metrics[name]
            compute = stamped.item.compute_for_task
            values = {}
            for load in self.context.tasks:
                value = None
                if compute is not None:
                    value = self._call(stamped, compute, self.sections, self.context, load)
                if value is not None:
                    values[load.task.id] = value
            self._cache[name] = values
        found: dict[str, Array] = self._cache[name]
        return found

    def _whole(self, stamped: Stamped[Metric]) -> Array | None:
        name = stamped.item.id
        if name not in self._cache:
            compute = stamped.item.compute
            self._cache[name] = None if compute is None else self._call(stamped, compute, self.sections, self.context)
        value: Array | None = self._cache[name]
        return value

    def _call(self, stamped: Stamped[Metric], compute: Any, *args: Any) -> Array | None:
        doing = f"computing {stamped.item.id}"
        value = self.registry.call(stamped.origin, doing, compute, *args)
        if value is None:
            return None
        try:
            array = np.asarray(value, dtype=float)
        except (TypeError, ValueError) as cause:
            self.registry.failed(stamped.origin, doing, cause)
            return None
        if array.shape != (len(self),):
            self.registry.failed(stamped.origin, doing, f"shape {array.shape} instead of ({len(self)},)")
            return None
        return array


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


def _joined_context(parts: Sequence[Measured]) -> Context:
    """What grinds differ in, their sharpening and the edge that it leaves, as columns."""
    contexts, sizes = [p.context for p in parts], [len(p) for p in parts]

    def column(values: Sequence[Any]) -> Any:
        return np.repeat(np.asarray(values, dtype=float), sizes)

    first = contexts[0]
    return dataclasses.replace(
        first,
        steel=dataclasses.replace(first.steel, edge_failure_mpa=column([c.steel.edge_failure_mpa for c in contexts])),
        sharpening=dataclasses.replace(
            first.sharpening,
            gear=(),
            **{
                name: column([getattr(c.sharpening, name) for c in contexts])
                for name in ("apex_radius_mm", "removal_mm3_per_min", "setup_minutes", "angle_wander_deg")
            },
        ),
    )


def _sound(outlines: Any, n: int) -> bool:
    """Whether a plug-in's outlines are n closed, anticlockwise shapes of finite numbers."""
    try:
        array = as_batch(outlines)
        return len(array) == n and bool((np.asarray(area_mm2(array)) > 0).all())
    except GeometryError:
        return False
