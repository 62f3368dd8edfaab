"""What plug-ins from outside are lent: twins of shared data, which nobody can write into and nobody else reads."""

from __future__ import annotations

import dataclasses
import hashlib
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, Literal, TypeVar

import numpy as np
import numpy.typing as npt
from pydantic import BaseModel

T = TypeVar("T")
_PLAIN = (str, int, float, bool, type(None), np.generic)


def frozen(values: npt.NDArray[Any]) -> npt.NDArray[Any]:
    """An array of any shape as a copy over bytes, in the same layout; itself where it is one already.

    Neither it nor its base can be written into, and its flags cannot be set: bytes never change.
    """
    if _over_bytes(values):
        return values
    if not values.size or values.dtype.hasobject:  # nothing to write into; nothing that bytes could hold
        copy = values.copy()
        copy.flags.writeable = False
        return copy
    order: Literal["F", "C"] = "F" if values.flags.f_contiguous else "C"
    return np.frombuffer(values.tobytes(order), dtype=values.dtype).reshape(values.shape, order=order)


def _over_bytes(values: Any) -> bool:
    while isinstance(values, np.ndarray):
        values = values.base
    return isinstance(values, bytes)


def twin(value: T, known: dict[int, tuple[Any, Any]] | None = None) -> T:
    """A copy of shared data that has no part in it: dataclasses, tuples, mappings, models, arrays.

    Arrays are `frozen`, mappings read-only, and what a dataclass keeps besides its fields stays behind. What is in
    `known`, by identity, is copied once; models are added to it.
    """
    known = {} if known is None else known
    own: T = _twin(value, known, {})
    return own


def _twin(value: Any, known: dict[int, tuple[Any, Any]], arrays: dict[int, Any]) -> Any:
    if isinstance(value, _PLAIN):
        return value
    if isinstance(value, np.ndarray):
        # Once each: that a tip zone is no other section is told by identity.
        return arrays.setdefault(id(value), frozen(value))
    if isinstance(value, tuple):
        return tuple(_twin(part, known, arrays) for part in value)
    if isinstance(value, Mapping):
        return MappingProxyType({key: _twin(part, known, arrays) for key, part in value.items()})
    if isinstance(value, BaseModel):
        if id(value) not in known:
            known[id(value)] = value, value.model_copy(deep=True)  # the first keeps the identity taken
        return known[id(value)][1]
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        copy = object.__new__(type(value))
        for name in _fields(type(value)):
            object.__setattr__(copy, name, _twin(getattr(value, name), known, arrays))
        return copy
    return value


_NAMES: dict[type, tuple[str, ...]] = {}


def _fields(kind: type) -> tuple[str, ...]:
    if kind not in _NAMES:
        _NAMES[kind] = tuple(field.name for field in dataclasses.fields(kind))
    return _NAMES[kind]


def digest(value: object) -> bytes:
    """A digest of what shared data say, down to the bytes of their arrays."""
    hashed = hashlib.blake2b(digest_size=16)
    _feed(value, hashed)
    return hashed.digest()


def _feed(value: Any, hashed: Any) -> None:
    hashed.update(b"{" if isinstance(value, Mapping) else type(value).__name__.encode())
    if isinstance(value, np.ndarray):
        hashed.update(f"{value.dtype}{value.shape}".encode())
        hashed.update(value.tobytes("A"))
    elif isinstance(value, (tuple, list)):
        hashed.update(str(len(value)).encode())
        for part in value:
            _feed(part, hashed)
    elif isinstance(value, Mapping):
        for key, part in value.items():
            _feed(key, hashed)
            _feed(part, hashed)
    elif isinstance(value, BaseModel):
        _feed(vars(value), hashed)
    elif dataclasses.is_dataclass(value) and not isinstance(value, type):
        for name in _fields(type(value)):
            _feed(getattr(value, name, None), hashed)
    elif isinstance(value, _PLAIN):
        hashed.update(repr(value).encode("utf-8", "surrogatepass"))


class Lender:
    """Lends to one plug-in for one question: what is shared by several calls is copied once."""

    def __init__(self) -> None:
        self._models: dict[int, tuple[Any, Any]] = {}

    def twin(self, value: T) -> T:
        """The plug-in's own twin; that of sections and blades stays with them, for the figures that it keeps there."""
        kept = None if not hasattr(value, "_kept") else vars(value).setdefault("_twins", {})
        if kept is None:
            return twin(value, self._models)
        if self not in kept:
            if None not in kept:
                kept[None] = twin(value)  # whose arrays the twins of all plug-ins share
            kept[self] = twin(kept[None])
        own: T = kept[self]
        return own
