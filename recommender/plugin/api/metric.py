"""A metric, as a plug-in declares it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from recommender.geometry.arcs import Array
from recommender.plugin.api.context import Context, TaskLoad
from recommender.units import Unit


@dataclass(frozen=True)
class Metric:
    """A figure of a section. `compute` gives (n,) in `unit`, or None where it has no meaning for this brief.

    `of` "blade": a figure of the whole blade, by which tip, swedge and distal taper are chosen once the section is;
    its functions get `Forms` instead of `Sections`.

    NaN for a single section says that it does not get there (a blade too thin to open a billet): limits shut it
    out, goals give it nothing. Per-task metrics are called once a task, with it; the engine weights them by share
    and keeps the parts.
    """

    id: str
    label: str
    unit: Unit
    better: Literal["higher", "lower", "either"]
    about: str
    """Formula, limits and source in one or two sentences."""
    estimate: bool
    """The value leans on estimated coefficients rather than on geometry and published figures alone."""
    compute: Callable[[Any, Context], Array | None] | None = None
    compute_for_task: Callable[[Any, Context, TaskLoad], Array | None] | None = None
    of: Literal["section", "blade"] = "section"
    applies: Callable[[Any], npt.NDArray[np.bool_]] | None = None
    """Where it has a meaning, (n,): elsewhere rules on it are silent. NaN alone means “does not get there”."""
    also: tuple[str, ...] = ()
    """What else people call it or look for it by: `bevelwright metrics WORD` finds it by these too."""
