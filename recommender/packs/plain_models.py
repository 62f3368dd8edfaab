"""Models of packs as plain data that JSON keeps, and back without validating them again.

A model is an object with its class's name under "" and the fields that were given; a tuple is a list; a list and a
dictionary, which only facts of examples have, are objects named so. Validators are not even built for that, which takes
longer than to validate.
"""

from __future__ import annotations

import functools
from typing import Any

from recommender.models import base
from recommender.models.base import Model
from recommender.models.knowledge import rule, tables
from recommender.packs import knowledge

MODULES = (base, rule, tables, knowledge)
"""Where all models of packs stand."""
_set = object.__setattr__


def plain(value: Any) -> Any:
    """A model, or what stands in one, as plain data."""
    if isinstance(value, Model):
        given = (name for name in type(value).model_fields if name in value.model_fields_set)
        return {"": type(value).__name__, **{name: plain(getattr(value, name)) for name in given}}
    if isinstance(value, tuple):
        return [plain(item) for item in value]
    if isinstance(value, list):
        return {"": "list", "items": [plain(item) for item in value]}
    if isinstance(value, dict):
        return {"": "dict", "items": {key: plain(item) for key, item in value.items()}}
    return value


def rebuilt(data: Any) -> Any:
    """The model that was made plain. Raises KeyError for a class that is none of a pack's."""
    kind = type(data)
    if kind is list:
        return tuple([rebuilt(item) for item in data])
    if kind is not dict:
        return data
    name = data[""]
    if name == "list":
        return [rebuilt(item) for item in data["items"]]
    if name == "dict":
        return {key: rebuilt(item) for key, item in data["items"].items()}
    return _constructed(_models()[name], {key: rebuilt(item) for key, item in data.items() if key})


def _constructed(model: type[Model], given: dict[str, Any]) -> Model:
    """What `model_construct` gives, in two thirds of its time: there are thousands."""
    made = model.__new__(model)
    defaults, factories = _open_fields(model)
    values = {**defaults, **given}
    values.update((name, factory()) for name, factory in factories if name not in given)
    _set(made, "__dict__", values)
    _set(made, "__pydantic_fields_set__", set(given))
    _set(made, "__pydantic_extra__", None)
    _set(made, "__pydantic_private__", None)
    return made


@functools.cache
def _open_fields(model: type[Model]) -> tuple[dict[str, Any], list[tuple[str, Any]]]:
    """What each field is where it is not given, in their order, and what makes it anew for each model."""
    fields = model.model_fields.items()
    return (
        {name: field.default for name, field in fields},
        [(name, field.default_factory) for name, field in fields if field.default_factory is not None],
    )


@functools.cache
def _models() -> dict[str, type[Model]]:
    """Models by their names."""
    found = (item for module in MODULES for item in vars(module).values())
    return {item.__name__: item for item in found if isinstance(item, type) and issubclass(item, Model)}
