"""Sections and blades as metrics meet them, of every grind: for trying metrics out."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from recommender.engine.intake.case import Case
from recommender.engine.search.blade_form import in_every_form
from recommender.engine.search.candidates import filter_feasible, sample
from recommender.engine.search.measuring import Measured
from recommender.engine.search.ranking import bests_of, survey
from recommender.errors import GeometryError


def sections(case: Case, n: int) -> Iterator[Measured]:
    """Up to n sections of each grind, evenly spread over its knobs; what its plug-in fails at is left out."""
    for grind in case.registry.grinds.values():
        family = grind.item

        def makeable(family=family):  # type: ignore[no-untyped-def]
            designs = sample(family, case.resolved, 4 * n)
            return designs.taking(np.flatnonzero(filter_feasible(family, designs, case.resolved)[0])[:n])

        designs = case.registry.call(grind.origin, f"sampling {family.id}", makeable)
        if designs is not None and len(designs):
            measured = Measured.of(grind, designs, case.resolved.context(family), case.registry)
            if measured is not None:
                yield measured


def blades(case: Case, n: int) -> Iterator[Measured]:
    """The best of n designs of each grind, in every form there is to choose from; those without one are left out."""
    for grind in case.registry.grinds.values():
        for best in bests_of(survey([grind], case, n), case):
            try:
                yield in_every_form(best, case)
            except GeometryError:
                continue
