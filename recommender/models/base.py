"""The base of all models: frozen, extras forbidden, text cleaned, numbers finite."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from recommender.text import clean

if TYPE_CHECKING:  # what only a schema needs is not imported
    from pydantic import GetJsonSchemaHandler
    from pydantic.json_schema import JsonSchemaValue
    from pydantic_core import CoreSchema


def _clean_text(value: Any) -> Any:
    return clean(value) if isinstance(value, str) else value


Text = Annotated[str, BeforeValidator(_clean_text), Field(max_length=2000)]
Id = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9._-]*$", max_length=60)]
RuleId = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9._-]*(/[a-z0-9][a-z0-9._-]*)?$", max_length=121)]
"""Id of a rule, or `rule/task` for a row of one."""
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
NotNegative = Annotated[float, Field(ge=0, allow_inf_nan=False)]
Finite = Annotated[float, Field(allow_inf_nan=False)]


class Model(BaseModel):
    """Frozen model that refuses unknown keys."""

    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=True, defer_build=True)

    @classmethod
    def __get_pydantic_json_schema__(cls, core_schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        # Defaults are written by the serializers of their classes; pydantic before 2.13 does not build deferred ones.
        for field in cls.model_fields.values():
            if isinstance(field.default, BaseModel):
                type(field.default).model_rebuild()
        return handler(core_schema)


class Basis(Model):
    """Where a value comes from and whether its source was read or remembered."""

    level: Literal["published", "common practice", "estimate"]
    citation: Text = ""
    known: Literal["seen", "memory"] = "memory"


class Quantity(Model):
    """A number with its band and basis; the table key carries the unit."""

    likely: Finite
    low: Finite
    high: Finite
    basis: Basis

    @model_validator(mode="after")
    def _ordered(self) -> Quantity:
        if not self.low <= self.likely <= self.high:
            raise ValueError(f"low <= likely <= high, not {self.low}, {self.likely}, {self.high}")
        return self


class Range(Model):
    """A closed interval."""

    low: Finite
    high: Finite

    @model_validator(mode="after")
    def _ordered(self) -> Range:
        if self.low > self.high:
            raise ValueError(f"low <= high, not {self.low}, {self.high}")
        return self
