"""What the screen draws of a blade, as it travels with the blade: drawing never waits for the engine."""

from __future__ import annotations

import base64
import dataclasses
from typing import Annotated, Any

import numpy as np
import numpy.typing as npt
from pydantic import ConfigDict, PlainSerializer, PlainValidator

from recommender.drawing.blade_view import BladeView, Station
from recommender.models.base import Model


def _write(value: Any) -> Any:
    """Arrays as shape and bytes, which keep NaN and the last digit; dataclasses and tuples part by part."""
    if isinstance(value, np.ndarray):
        raw = np.ascontiguousarray(value, dtype="<f8").tobytes()
        return {"shape": list(value.shape), "data": base64.b64encode(raw).decode()}
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: _write(getattr(value, field.name)) for field in dataclasses.fields(value)}
    return [_write(part) for part in value] if isinstance(value, tuple) else value


def _read(data: Any) -> Any:
    if isinstance(data, dict) and data.keys() == {"shape", "data"}:
        return np.frombuffer(base64.b64decode(data["data"]), dtype="<f8").reshape(data["shape"])
    return data


def _view(data: Any) -> BladeView:
    if isinstance(data, BladeView):
        return data
    fields = {name: _read(value) for name, value in data.items()}
    transition = fields["transition_mm"]
    fields["transition_mm"] = None if transition is None else (float(transition[0]), float(transition[1]))
    stations = [Station(**{name: _read(value) for name, value in each.items()}) for each in fields["stations"]]
    return BladeView(**{**fields, "stations": tuple(stations)})


ArrayField = Annotated[npt.NDArray[np.float64], PlainValidator(_read), PlainSerializer(_write)]
_ViewField = Annotated[BladeView, PlainValidator(_view), PlainSerializer(_write)]


class DrawnBlade(Model):
    """Section and side view of a blade."""

    model_config = ConfigDict(arbitrary_types_allowed=True)

    section: ArrayField | None
    """(v, 3) between plunge line and tip; None where its faces cross."""
    view: _ViewField | None
    """None where it cannot be followed to the tip."""


NOTHING_DRAWN = DrawnBlade(section=None, view=None)
