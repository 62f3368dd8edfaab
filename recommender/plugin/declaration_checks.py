"""What a contribution must be before it is let in: of the right kind, with an id, a known unit and printable words."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import Any, get_args

from recommender.models.knowledge.tables import Surface
from recommender.plugin.api import Grind, Metric, Parameter, Writer
from recommender.text import clean, shorten
from recommender.units import Unit

_ID = re.compile(r"[a-z0-9][a-z0-9._-]{0,59}")
_LONGEST = 2000
_FUNCTIONS = {
    Grind: ("outlines", "complete", "refusals", "tip_outlines", "for_line"),
    Metric: ("compute", "compute_for_task", "applies"),
    Writer: ("write",),
}
_MAY_BE_NONE = frozenset({"tip_outlines", "for_line", "compute", "compute_for_task", "applies"})
_WORDS = {Grind: ("label", "about", "made", "sharpened"), Metric: ("label", "about"), Writer: ("label",)}
SURFACES = frozenset(get_args(Surface))


def is_id(value: Any) -> bool:
    """Whether it may name something: lower case, digits, dots, hyphens, underscores, 60 at most."""
    return isinstance(value, str) and _ID.fullmatch(value) is not None


def declaration_fault(item: Any, kind: type[Grind] | type[Metric] | type[Writer]) -> str | None:
    """Why a contribution cannot be let in, None where it can."""
    if not isinstance(item, kind):
        return f"{type(item).__name__} instead of {kind.__name__}"
    if not is_id(item.id):
        return f"{shorten(item.id)} is no id"
    words = (_wording(name, getattr(item, name)) for name in _WORDS[kind])
    problem = next((p for p in words if p), None) or next(_faults(item, kind), None)
    return f"{item.id}: {problem}" if problem else None


def _wording(name: str, text: Any) -> str | None:
    if not isinstance(text, str) or not text.strip():
        return f"{name} is no text"
    if len(text) > _LONGEST:
        return f"{name} is longer than {_LONGEST:,} characters"
    if clean(text) != text:
        return f"{name} holds what cannot be printed: {shorten(text)}"
    return None


def _faults(item: Any, kind: type[Grind] | type[Metric] | type[Writer]) -> Iterator[str]:
    for name in _FUNCTIONS[kind]:
        function = getattr(item, name)
        if not callable(function) and not (function is None and name in _MAY_BE_NONE):
            yield f"{name} is no function"
    if kind is Grind:
        if not _is_number(item.plunge_radius_mm) or item.plunge_radius_mm <= 0:
            yield "plunge_radius_mm is no length"
        if item.parent not in ("flat", "hollow", "convex"):
            yield f"parent {shorten(item.parent)} is none of flat, hollow, convex"
        if not isinstance(item.surfaces, frozenset) or not item.surfaces or not item.surfaces <= SURFACES:
            yield f"surfaces is no frozenset of {', '.join(sorted(SURFACES))}"
        if not isinstance(item.parameters, tuple):
            yield "parameters is no tuple"
        else:
            yield from (f"parameter {k + 1}: {problem}" for k, p in enumerate(item.parameters) if (problem := _knob(p)))
    if kind is Metric:
        if (item.compute is None) == (item.compute_for_task is None):
            yield "not one of compute and compute_for_task"
        if not isinstance(item.unit, Unit):
            yield f"{shorten(item.unit)} is no unit of the closed set"
        if item.better not in ("higher", "lower", "either"):
            yield f"better {shorten(item.better)} is none of higher, lower, either"
        if item.of not in ("section", "blade"):
            yield f"of {shorten(item.of)}, not of a section or a blade"
        if not isinstance(item.also, tuple):
            yield "also is no tuple of words"
        else:
            yield from filter(None, (_wording("also", word) for word in item.also))


def _knob(parameter: Any) -> str | None:
    if not isinstance(parameter, Parameter):
        return f"{type(parameter).__name__} instead of Parameter"
    values: dict[str, Any] = vars(parameter)
    if not isinstance(values["name"], str) or not values["name"].isidentifier():
        return f"{shorten(values['name'])} is no name"
    if not isinstance(values["unit"], Unit):
        return f"{shorten(values['unit'])} is no unit of the closed set"
    if not isinstance(values["choices"], tuple) or any(not is_id(choice) for choice in values["choices"]):
        return f"choices of {parameter.name} are no tuple of ids"
    if not all(_is_number(values[name]) for name in ("low", "high", "step")) or values["low"] > values["high"]:
        return f"{parameter.name} has no range"
    return _wording("label", values["label"])


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)
