"""Plain data to models, with errors that say where and what."""

from __future__ import annotations

import functools
from decimal import Decimal
from typing import Any, Literal, TypeVar, get_args

from pydantic import BaseModel, TypeAdapter, ValidationError

from recommender.errors import InputError
from recommender.parsing import MAX_BYTES as MAX_BYTES
from recommender.parsing import check_values as check_values
from recommender.parsing import parse_toml as parse_toml
from recommender.text import plural, shorten

E = TypeVar("E", bound=InputError)


def validated(
    kind: Any,
    data: Any,
    file: str,
    error: type[InputError] = InputError,
    *,
    extra: Literal["ignore", "forbid"] | None = None,
) -> Any:
    """Validate data as a model (or any pydantic type); the first problem becomes a located one-line error.

    `extra`: what becomes of keys that no model here knows; None, what each model says, which is to refuse them.
    """
    try:
        return _adapter(kind).validate_python(data, extra=extra)
    except ValidationError as problems:
        first, *others = located_problems(kind, problems, file, error)
        if others:
            first.args = (f"{first.args[0]} (and {plural(len(others), 'more problem')})",)
        raise first from None


def located_problems(kind: Any, problems: ValidationError, file: str, error: type[E]) -> list[E]:
    """Every problem that validation found, located; unknown keys first, as they explain missing ones."""
    found = problems.errors(include_url=False)
    found.sort(key=lambda e: e["type"] != "extra_forbidden")
    # A list is not too short because what it holds is wrong: that is told.
    found = [e for e in found if e["type"] != "too_short" or not any(_is_inside(other, e) for other in found)]
    return [_located(kind, problem, file, error) for problem in found]


def _is_inside(one: Any, other: Any) -> bool:
    depth = len(other["loc"])
    return len(one["loc"]) > depth and one["loc"][:depth] == other["loc"]


def all_problems(kind: Any, data: Any, file: str, error: type[E]) -> tuple[Any, list[E]]:
    """Data as a model, or None with every problem that there is."""
    try:
        return _adapter(kind).validate_python(data), []
    except ValidationError as problems:
        return None, located_problems(kind, problems, file, error)


@functools.cache
def _adapter(kind: Any) -> TypeAdapter[Any]:
    # Built once a kind: hundreds of rules are validated by the same one.
    return TypeAdapter(kind)


_PLAIN = {
    "float_parsing": "a plain number, such as 3.5",
    "float_type": "a plain number, such as 3.5",
    "decimal_type": "a plain number, such as 3.5",
    "decimal_parsing": "a plain number, such as 3.5",
    "int_parsing": "a whole number",
    "tuple_type": 'a list, such as ["bench-stones", "strop"]',
    "dict_type": "a table: [tasks] on a line of its own, then food-prep = 1",
    "model_type": "a table: its name in brackets on a line of its own, then key = value",
    "bool_parsing": "true or false",
    "string_type": "text in quotes",
    "string_pattern_mismatch": "an id: small letters, digits and hyphens, such as fish-filleting",
}
_TAGS = {"limit", "goal", "lean", "caution", "advice", "all", "any", "not", "comparison"}


def _located(kind: Any, problem: Any, file: str, error: type[E]) -> E:
    loc = [str(part) for part in problem["loc"]]
    # Tags of unions are pydantic's own and no keys of the file.
    path = [part for k, part in enumerate(loc) if not (part in _TAGS and _is_tag(loc, k))]
    key = shorten(".".join(path) or "file", 120).strip("'\"")
    if problem["type"] == "extra_forbidden":
        name = loc[-1]
        valid = sorted(_keys_at(kind, loc[:-1]))
        return error(
            f"unknown key {shorten(name)}",
            file=file,
            key=key,
            expected="one of " + ", ".join(valid) if valid else None,
            given=name,
            valid=valid,
        )
    if problem["type"] == "union_tag_invalid":
        context = problem["ctx"]
        valid = [tag.strip(" '") for tag in context["expected_tags"].split(",")]
        name = context["discriminator"].strip("'")
        return error(
            f"{shorten(context['tag'])} does not fit",
            file=file,
            key=name if key == "file" else f"{key}.{name}",
            expected="one of " + ", ".join(valid),
            given=context["tag"],
            valid=valid,
        )
    if problem["type"] == "union_tag_not_found":
        return error("missing", file=file, key=problem["ctx"]["discriminator"].strip("'"), expected="a value")
    if problem["type"] == "missing":
        return error("missing", file=file, key=key, expected="a value")
    message = problem["msg"]
    expected = _PLAIN.get(problem["type"]) or message.removeprefix("Value error, ").removeprefix("Input should be ")
    given = problem.get("input")
    if problem["type"] == "too_long" and isinstance(given, str):
        expected = f"at most {problem['ctx']['max_length']} characters"
    options = problem.get("ctx", {}).get("expected", "")
    valid = [part.strip(" '") for part in options.replace(" or ", ",").split(",")] if options else []
    shown = str(given) if isinstance(given, Decimal) else shorten(given)
    return error(
        f"{shown} does not fit",
        file=file,
        key=key,
        expected=expected[0].lower() + expected[1:],
        given=given if isinstance(given, str) else None,
        valid=valid,
    )


def _is_tag(loc: list[str], k: int) -> bool:
    # A real key all/any/not is followed by its own tag-free content; a tag repeats the key or opens the path.
    return k == 0 or (k + 1 < len(loc) and loc[k + 1] == loc[k]) or loc[k] == "comparison"


def _keys_at(kind: Any, path: list[str]) -> set[str]:
    """Keys a model accepts at a path, as far as the path can be followed."""
    kinds = models_of(kind)
    for part in path:
        following: list[type[BaseModel]] = []
        for model in kinds:
            for name, field in model.model_fields.items():
                if part in (name, field.alias):
                    following.extend(models_of(field.annotation))
            if model.model_fields.get("kind") and part in get_args(model.model_fields["kind"].annotation):
                following.append(model)
        kinds = following or kinds
    return {field.alias or name for model in kinds for name, field in model.model_fields.items()}


def models_of(annotation: Any) -> list[type[BaseModel]]:
    """The models that an annotation names."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        annotation.model_rebuild()  # one that speaks of itself knows its fields' types only then
        return [annotation]
    return [model for arg in get_args(annotation) for model in models_of(arg)]
