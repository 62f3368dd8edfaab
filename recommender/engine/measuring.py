"""Metrics of a batch of candidates, computed once and only when asked for."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from recommender.errors import GeometryError
from recommender.geometry.arcs import Array
from recommender.geometry.outline import as_batch
from recommender.geometry.section import area_mm2
from recommender.plugin.api import Context, Designs, Grind, Metric, Sections
from recommender.plugin.registry import Registry, Stamped


@dataclass
class Measured:
    """Candidates of one grind with lazily computed metrics."""

    grind: Stamped[Grind]
    sections: Sections
    context: Context
    registry: Registry
    _cache: dict[str, Any] = field(default_factory=dict)

    @classmethod
    def of(cls, grind: Stamped[Grind], designs: Designs, context: Context, registry: Registry) -> Measured | None:
        """Draw the outlines of designs that can be made; None when the plug-in fails at it."""
        family = grind.item
        outlines = registry.call(grind.origin, f"drawing {family.id}", family.outlines, designs)
        if outlines is None or not _sound(outlines, len(designs)):
            if outlines is not None:
                registry.failed(
                    grind.origin, f"drawing {family.id}", "outlines of a wrong shape, clockwise, or with NaN in them"
                )
            return None
        tips = outlines
        if family.tip_outlines is not None:
            drawn = registry.call(grind.origin, f"drawing the tip of {family.id}", family.tip_outlines, designs)
            tips = drawn if drawn is not None and _sound(drawn, len(designs)) else outlines
        return cls(grind, Sections(designs, outlines, tips), context, registry)

    def __len__(self) -> int:
        return len(self.sections)

    @property
    def designs(self) -> Designs:
        """The designs behind the sections."""
        return self.sections.designs

    def metric(self, name: str, tasks: frozenset[str] = frozenset()) -> Array | None:
        """A metric (n,), weighted by share over the tasks named (all when none is); None where it has no meaning."""
        stamped = self.registry.metrics[name]
        if stamped.item.compute_for_task is None:
            return self._whole(stamped)
        parts = self.by_task(name)
        loads = [t for t in self.context.tasks if t.task.id in parts and (not tasks or t.task.id in tasks)]
        total = sum(load.share for load in loads)
        if not loads or total <= 0:
            return None
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


def _sound(outlines: Any, n: int) -> bool:
    """Whether a plug-in's outlines are n closed, anticlockwise shapes of finite numbers."""
    try:
        array = as_batch(outlines)
        return len(array) == n and bool((np.asarray(area_mm2(array)) > 0).all())
    except GeometryError:
        return False
