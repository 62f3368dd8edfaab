"""TOML and JSON from outside to plain data, counted before they are parsed: a small file can be made to cost much.

Back to TOML: `toml_scalar`.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable
from decimal import Decimal, DecimalException
from typing import Any, NoReturn

from recommender.errors import InputError
from recommender.text import shorten

MAX_BYTES = 1_000_000
MOST_LEVELS = 24
MOST_VALUES = 50_000
"""Keys with their parts, values and tables of a file; one of Bevelwright's own has some hundreds."""
_LONGEST_WORD = 4_000
"""Of a key or number without quotes: a parser may keep a hundred bytes for each of its characters."""
_HARMLESS_BYTES = 4_000
"""So few cannot be made to cost anything: a parser's work grows with their square at most."""

# Strings and comments are passed over whole; one that is not closed reaches as far as a parser would look.
_TOML_TOKENS = (
    r'"""(?:[^"\\]|\\.|"(?!""))*+(?:"""|\Z)|' + r"'''(?:[^']|'(?!''))*+(?:'''|\Z)|"
    r'"(?:[^"\\\n]|\\.)*+"?|' + r"'[^'\n]*+'?|" + r"\#[^\n]*+|[\[\]{}=,.\n]|[^\s\"'\#\[\]{}=,.]++"
)
_JSON_TOKENS = r'"(?:[^"\\]|\\.)*+"?|[\[\]{},]'


def parse_toml(
    raw: bytes,
    file: str,
    error: type[InputError] = InputError,
    most_bytes: int = MAX_BYTES,
    number: type[float] | type[Decimal] = float,
) -> dict[str, Any]:
    """Parse TOML, refusing what is too large, not UTF-8, malformed, nested too deep or holds NaN or infinity.

    Numbers with a decimal point become `number`.
    """
    import tomllib  # packs are mostly known from before

    text = _text(raw, file, error, most_bytes)
    _count(_TOML_TOKENS, text, file, error)
    try:
        data = tomllib.loads(text, parse_float=number)
    except tomllib.TOMLDecodeError as cause:
        raise error(str(cause), file=file, expected=_meant(text, str(cause))) from None
    except (RecursionError, ValueError, DecimalException) as cause:
        raise error(f"cannot be read ({type(cause).__name__})", file=file, expected="plain TOML tables") from None
    check_values(data, file, error)
    return data


_LINE = re.compile(r"at line (\d+)")
_CURLY = re.compile("[\u2018-\u201f\u00ab\u00bb]")
_DECIMAL_COMMA = re.compile(r"(?:^|[\s=\[,{])[-+]?\d+,\d+(?=\s*(?:$|[,\]}#]))")


def _meant(text: str, problem: str) -> str:
    """What somebody who writes letters, not programs, has to write instead on the line of a problem; else TOML."""
    found = _LINE.search(problem)
    line = text.splitlines()[int(found[1]) - 1 : int(found[1])] if found else text.splitlines()[-1:]
    if line and _CURLY.search(line[0]):
        return 'straight quotes, as in "text"; this line has curly ones'
    if line and _DECIMAL_COMMA.search(line[0]):
        return "a point in numbers, as in 3.5; this line has a comma"
    return "TOML"


def parse_json(
    raw: bytes | str,
    file: str,
    expected: str,
    *,
    most_bytes: int = MAX_BYTES,
    most_values: int = MOST_VALUES,
    pairs: Callable[[list[tuple[str, Any]]], Any] | None = None,
) -> Any:
    """Parse JSON, refusing what is too large, not UTF-8, malformed, nested too deep or holds NaN or infinity.

    `pairs` makes an object of names and values. Raises InputError, with what was expected.
    """
    text = _text(raw, file, InputError, most_bytes) if isinstance(raw, bytes) else raw
    _count(_JSON_TOKENS, text, file, InputError, most_values)

    def refuse(name: str) -> NoReturn:
        raise InputError(f"{name} is not a number to work with", file=file, expected="a finite number")

    try:
        data = json.loads(text, parse_constant=refuse, object_pairs_hook=pairs)
    except json.JSONDecodeError as cause:
        problem = f"cannot be read ({cause.msg} at character {cause.pos + 1})"
        raise InputError(problem, file=file, expected=expected) from None
    except (RecursionError, ValueError) as cause:  # a number of thousands of digits
        raise InputError(f"cannot be read ({type(cause).__name__})", file=file, expected=expected) from None
    check_values(data, file)
    return data


def check_values(value: Any, file: str, error: type[InputError] = InputError, key: str = "", depth: int = 0) -> None:
    """Refuse parsed data that is nested too deep or holds NaN or infinity. Raises the error given."""
    if depth > MOST_LEVELS:
        raise _too_deep(file, error, key)
    if isinstance(value, dict):
        for name, item in value.items():
            check_values(item, file, error, f"{key}.{name}" if key else name, depth + 1)
    elif isinstance(value, list):
        for item in value:
            check_values(item, file, error, key, depth + 1)
    elif isinstance(value, (float, Decimal)) and not math.isfinite(value):
        raise error(f"{value} is not a number to work with", file=file, key=key, expected="a finite number")


def _text(raw: bytes, file: str, error: type[InputError], most_bytes: int) -> str:
    if len(raw) > most_bytes:
        raise error("too long", file=file, expected=f"at most {most_bytes:,} bytes")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as cause:
        raise error(f"byte {cause.start} is not UTF-8", file=file, expected="UTF-8 text") from None


def _count(tokens: str, text: str, file: str, error: type[InputError], most_values: int = MOST_VALUES) -> None:
    """Refuse text with more levels or values than anybody writes, in one pass."""
    if len(text) <= _HARMLESS_BYTES:
        return
    values = brackets = parts = 0
    before = ""
    for token in re.finditer(tokens, text, re.DOTALL):
        mark = token[0]
        if mark in "[{":
            brackets += 1
            values += 1
        elif mark in "]}":
            brackets = max(0, brackets - 1)
        elif mark in "=,.":
            values += 1
        elif mark != "\n" and mark[0] != "#":
            parts = parts + 1 if before == "." else 1
            if len(mark) > _LONGEST_WORD and mark[0] not in "\"'":
                raise error("too long a word", file=file, expected=f"at most {_LONGEST_WORD:,} characters")
        if brackets > MOST_LEVELS or parts > MOST_LEVELS:
            raise _too_deep(file, error)
        if values > most_values:
            raise error("too much in it", file=file, expected=f"at most {most_values:,} values")
        before = mark


def _too_deep(file: str, error: type[InputError], key: str = "") -> InputError:
    where = shorten(key) if key else None
    return error("cannot be read: nested too deep", file=file, key=where, expected=f"at most {MOST_LEVELS} levels")


def toml_scalar(value: str | bool | float) -> str:
    r"""A text, flag or number as TOML; what is not ASCII stays readable.

    >>> toml_scalar('12" slicer \x7f'), toml_scalar(True), toml_scalar(0.5)
    ('"12\\" slicer \\u007f"', 'true', '0.5')
    """
    # JSON writes them as TOML does, but for one character that TOML does not take as it is.
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
