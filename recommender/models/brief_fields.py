"""What the model of a brief says of each of its fields: its type, its values and its bounds."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import inf
from types import NoneType
from typing import Annotated, Any, Literal, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from recommender.models.brief import Brief

FieldType = Literal["number", "numbers", "flag", "text", "names", "shares"]


@dataclass(frozen=True)
class BriefField:
    """A field of a brief as its model has it."""

    key: str
    """Dotted, as `--set` takes it."""
    type: FieldType
    values: tuple[str, ...] = ()
    """All that a text may be, where that is fixed."""
    bounds: tuple[float, float] = (-inf, inf)


def _fields(model: type[BaseModel], prefix: str = "") -> Iterator[BriefField]:
    for name, field in model.model_fields.items():
        annotation: Any = field.annotation
        if isinstance(annotation, type) and issubclass(annotation, BaseModel):
            yield from _fields(annotation, f"{name}.")
        else:
            yield _field(prefix + name, annotation)


def _field(key: str, annotation: Any) -> BriefField:
    if get_origin(annotation) is dict:
        return BriefField(key, "shares")
    stated = next(option for option in get_args(annotation) if option is not NoneType)
    plain = stated.__origin__ if get_origin(stated) is Annotated else stated
    if get_origin(plain) is tuple:
        return BriefField(key, "names" if get_args(plain)[0] is str else "numbers")
    if plain is bool:
        return BriefField(key, "flag")
    if plain is float:
        return BriefField(key, "number", bounds=_bounds(stated))
    return BriefField(key, "text", get_args(plain))


def _bounds(annotated: Any) -> tuple[float, float]:
    constraints = [c for part in annotated.__metadata__ if isinstance(part, FieldInfo) for c in part.metadata]
    low = next((getattr(c, end) for c in constraints for end in ("ge", "gt") if hasattr(c, end)), -inf)
    high = next((c.le for c in constraints if hasattr(c, "le")), inf)
    return float(low), float(high)


BRIEF_FIELDS = {field.key: field for field in _fields(Brief)}
"""Every field of a brief by its key, in the order of the model."""
