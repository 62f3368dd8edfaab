"""The contract of a metric: as many finite numbers as sections, the same however the batch is cut."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np

from recommender.models.base import Quantity
from recommender.models.knowledge.tables import HardContact, Splitting
from recommender.plugin.api import Context, Forms, Metric, Sections, TaskLoad
from recommender.plugin.declaration_checks import declaration_fault
from recommender.plugin.kit.finding import Calls, Finding, same

_ALONE = (0, 1, -1)
"""Rows that are measured again, alone."""
_STEP = 1e-9


@dataclass(frozen=True)
class Specimen:
    """Something to measure: sections with what is known of them, and the same as whole blades for blade metrics."""

    name: str
    sections: Sections
    context: Context
    forms: Forms | None = None


def check_metric_on(metric: Metric, specimens: Iterable[Specimen]) -> list[Finding]:
    """What a metric does not keep to on the first specimen that shows it."""
    calls = Calls(f"metric {getattr(metric, 'id', '?')}")
    problem = declaration_fault(metric, Metric)
    if problem:
        calls.find(problem)
        return calls.findings
    shown = []
    for specimen in specimens:
        if (specimen.forms is not None) is (metric.of == "blade"):
            shown.append(_has_a_number(metric, specimen, calls))
            if calls.findings:  # the others would only say the same
                return calls.findings
    if shown and not any(shown):
        calls.find("has no number for any section that was tried")
    return calls.findings


def _has_a_number(metric: Metric, specimen: Specimen, calls: Calls) -> bool:
    """Whether the metric has a number for some row of a specimen; what it does not keep to is noted."""
    if metric.compute is not None:
        return _computed(metric, specimen, metric.compute, (), calls)
    assert metric.compute_for_task is not None
    found = [_computed(metric, specimen, metric.compute_for_task, (load,), calls) for load in specimen.context.tasks]
    return any(found)


def _computed(
    metric: Metric, specimen: Specimen, compute: Callable[..., Any], loads: tuple[TaskLoad, ...], calls: Calls
) -> bool:
    subject, context = specimen.forms or specimen.sections, specimen.context
    n = len(subject)
    value = calls.lend("compute", compute, subject, context, *loads)
    if value is None:
        return False
    problem = _wrong(value, n)
    if problem:
        calls.find(f"{problem}, measuring {specimen.name}")
        return False
    here = _applies(metric, subject, n, calls)
    if np.isinf(value[here]).any():
        calls.find(f"is infinite where it applies, measuring {specimen.name}")
    _the_same(specimen, compute, loads, value, calls)
    return bool(np.isfinite(value[here]).any())


def _wrong(value: Any, n: int) -> str | None:
    if not isinstance(value, np.ndarray) or value.dtype.kind not in "fi":
        return f"gives {getattr(value, 'dtype', type(value).__name__)} instead of an array of numbers"
    return None if value.shape == (n,) else f"gives shape {value.shape} instead of ({n},)"


def _applies(metric: Metric, subject: Sections | Forms, n: int, calls: Calls) -> Any:
    if metric.applies is None:
        return np.full(n, True)
    here = calls.lend("applies", metric.applies, subject)
    if not isinstance(here, np.ndarray) or here.dtype != bool or here.shape != (n,):
        calls.find(f"applies gives {type(here).__name__} {np.shape(here)} instead of bool ({n},)")
        return np.full(n, True)
    return here


def _the_same(
    specimen: Specimen, compute: Callable[..., Any], loads: tuple[TaskLoad, ...], value: Any, calls: Calls
) -> None:
    """The same again, for rows alone, and with an array for every number of the context."""
    sections, context = specimen.sections, specimen.context
    n = len(value)
    if specimen.forms is None:
        every = np.arange(n)
        for rows, words in [(every, "again"), *((np.array([every[k]]), "for a row alone") for k in _ALONE)]:
            alone = calls.lend(f"compute {words}", compute, sections.taking(rows), context, *loads)
            if alone is None or not same(np.asarray(alone, float), np.asarray(value[rows], float), relative=_STEP):
                calls.find(f"does not give the same {words}, measuring {specimen.name}")
                return
        wide = widened(context, n)
        load = tuple(next(w for w in wide.tasks if w.task.id == load.task.id) for load in loads)
        spread = calls.lend("compute with arrays in the context", compute, sections.taking(every), wide, *load)
        if spread is None or not same(np.asarray(spread, float), np.asarray(value, float), relative=_STEP):
            calls.find(f"does not give the same with arrays in the context, measuring {specimen.name}")
    else:
        again = calls.lend("compute again", compute, specimen.forms, context, *loads)
        if again is None or not same(value, again):
            calls.find(f"does not give the same again, measuring {specimen.name}")


def widened(context: Context, n: int) -> Context:
    """The same context with an array (n,) for every number that may be one: as when uncertain numbers are redrawn."""

    def wide(part: Any) -> dict[str, Any]:
        values = {f.name: getattr(part, f.name) for f in dataclasses.fields(part)}
        return {k: np.full(n, v) for k, v in values.items() if isinstance(v, (int, float)) and not isinstance(v, bool)}

    def load(given: TaskLoad) -> TaskLoad:
        tables = {"task": _spread(given.task, n), "material": _spread(given.material, n)}
        return dataclasses.replace(given, **wide(given), **tables)

    carbides = {name: np.full(n, volume) for name, volume in context.steel.carbides.items()}
    return dataclasses.replace(
        context,
        **wide(context),
        tasks=tuple(load(each) for each in context.tasks),
        steel=dataclasses.replace(context.steel, **wide(context.steel), carbides=carbides),
        sharpening=dataclasses.replace(context.sharpening, **wide(context.sharpening)),
    )


def _spread(table: Any, n: int) -> Any:
    """A table of a pack with an array (n,) as the likely value of each quantity that may be redrawn."""
    changed: dict[str, Any] = {}
    for name in type(table).model_fields:
        value = getattr(table, name)
        if isinstance(value, Splitting):
            changed[name] = _spread(value, n)
        elif isinstance(value, tuple) and value and isinstance(value[0], HardContact):
            changed[name] = tuple(_spread(each, n) for each in value)
        elif isinstance(value, Quantity):
            changed[name] = value.model_copy(update={"likely": np.full(n, value.likely)})
    return table.model_copy(update=changed)
