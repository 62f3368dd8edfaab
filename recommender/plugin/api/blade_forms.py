"""Whole blades of several forms, for the metrics by which tip, swedge and distal taper are chosen."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from recommender.geometry.arcs import Array
from recommender.geometry.blade import Blade
from recommender.plugin.api.sections import full_key


@dataclass(frozen=True)
class Forms:
    """One design as whole blades of several forms: by tip, swedge and distal taper."""

    blades: tuple[Blade, ...]
    """One batch for each tip."""
    tips: tuple[str, ...]
    repeated: bool = False
    """Whether all are the same blade, in one batch: what uncertain numbers are redrawn for."""

    def __len__(self) -> int:
        return sum(len(blade.outlines) for blade in self.blades)

    @cached_property
    def tip(self) -> npt.NDArray[Any]:
        """Name of each form's side view, (n,) text."""
        return np.repeat(np.asarray(self.tips), [len(blade.outlines) for blade in self.blades])

    def figure(self, key: Hashable, compute: Callable[..., Array], *inputs: Any) -> Array:
        """A figure of the blades (n,), kept under a key of its own; `compute` gets a batch of blades and the inputs.

        `inputs` are what else goes into it, each a number or (n,), as in `Sections.figure`. The unit is that of
        `compute`; what it raises is passed on, and nothing is kept then.
        """
        kept: dict[Hashable, Array] = self._kept
        full = full_key(key, compute, inputs)
        if full not in kept:
            kept[full] = self._figure(compute, inputs)
        return kept[full]

    def _figure(self, compute: Callable[..., Array], inputs: tuple[Any, ...]) -> Array:
        several = any(np.ndim(value) for value in inputs)
        if self.repeated and not several:
            one = compute(self.blades[0].taking(np.array([0])), *inputs)
            return np.repeat(np.asarray(one), len(self))
        parts, start = [], 0
        for blade in self.blades:
            rows = slice(start, start + len(blade.outlines))
            start = rows.stop
            parts.append(compute(blade, *(np.asarray(v)[rows] if np.ndim(v) else v for v in inputs)))
        return np.concatenate(parts)

    @cached_property
    def _kept(self) -> dict[Hashable, Array]:
        return {}
