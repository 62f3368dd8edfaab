"""One ordinary design of a grind, for pictures that explain it."""

from __future__ import annotations

import numpy as np

from recommender.engine.intake.case import Case
from recommender.engine.search.candidates import filter_feasible, sample
from recommender.plugin.api import Designs, Grind
from recommender.plugin.guard import Registered

_TRIED = 400


def representative(grind: Registered[Grind], case: Case) -> Designs | None:
    """The makeable design nearest to the middle of a grind's knobs, a batch of one; None where nothing can be made."""

    def find() -> Designs | None:
        designs = sample(grind.item, case.resolved, _TRIED)
        ok, _ = filter_feasible(grind.item, designs, case.resolved)
        if not ok.any():
            return None
        some = designs.taking(ok)
        away = np.zeros(len(some))
        for p in grind.item.parameters:
            if not p.choices and p.high > p.low and p.name != "stock_thickness_mm":
                away += np.nan_to_num(((some[p.name] - p.low) / (p.high - p.low) - 0.5) ** 2)
        return some.taking(np.array([int(np.argmin(away))]))

    return case.registry.call(grind.origin, f"drawing {grind.item.id}", find)
