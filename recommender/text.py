"""Text from outside, made safe to print; and the nearest valid name for a misspelt one."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, TypeVar

T = TypeVar("T")

# Bidirectional overrides and isolates can make a line read differently from what it says.
_BIDI = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_KEPT = frozenset("\n\t")


def clean(text: str, *, one_line: bool = False) -> str:
    r"""Replace control characters, escape sequences and bidi overrides by U+FFFD.

    With `one_line`, newlines and tabs become spaces.

    >>> clean("a\x1b[31mb")
    'a�[31mb'
    >>> clean("two\nlines", one_line=True)
    'two lines'
    """
    if one_line:
        text = " ".join(text.split("\n")).replace("\t", " ").replace("\r", " ")
    if text.isascii() and text.isprintable():
        return text
    return "".join(
        "\ufffd" if (char in _BIDI or (unicodedata.category(char) in ("Cc", "Cs") and char not in _KEPT)) else char
        for char in text
    )


# Text that starts with one of these is a formula to a spreadsheet; the wide ones are to those of East Asia.
_FORMULA = tuple("=+-@＝＋－＠")


def spreadsheet_cell(text: str) -> str:
    """Text that no spreadsheet takes for a formula: an apostrophe stands before what could start one.

    >>> spreadsheet_cell("=1+1"), spreadsheet_cell("a = 1")
    ("'=1+1", 'a = 1')
    """
    return f"'{text}" if text.lstrip().startswith(_FORMULA) or text.startswith(("\t", "\r")) else text


def shorten(value: object, limit: int = 60) -> str:
    """Show a value from outside in an error message: cleaned, quoted by `repr`, cut to `limit`."""
    try:
        shown = clean(repr(value), one_line=True)
    except ValueError:  # an integer of thousands of digits
        shown = "a number of thousands of digits"
    return shown if len(shown) <= limit else shown[: limit - 1] + "…"


def nearest(name: str, valid: Iterable[str]) -> str | None:
    """Return the valid name most like `name`, or None when nothing is close.

    >>> nearest("full-flta", ["full-flat", "scandi"])
    'full-flat'
    """
    import difflib

    lowered = {candidate.lower(): candidate for candidate in valid}
    close = difflib.get_close_matches(name.lower()[:80], lowered, n=1, cutoff=0.6)
    return lowered[close[0]] if close else None


def says(text: str, word: str) -> bool:
    """Whether some word of a text begins like this one, in whatever case; a plural finds the singular too.

    >>> says("Cuts easily (edge_margin)", "Edge"), says("it chipped", "chips"), says("nothing", "thin")
    (True, True, False)
    """
    sought = word.strip().casefold()
    if len(sought) > 3 and not sought.endswith("ss"):
        sought = re.sub("e?s$", "", sought)
    return re.search(rf"(?<![^\W_]){re.escape(sought)}", text.casefold()) is not None


def found_by(words: Sequence[str], items: Iterable[tuple[T, str, str]]) -> tuple[list[T], list[T]]:
    """Those of some items whose names say every word, and those that say them elsewhere.

    Each item comes with its names and with all else that it says. Without words all are in the first list.

    >>> found_by(["thin"], [(1, "stays-thin", ""), (2, "sticking", "thin blades"), (3, "drift", "sideways")])
    ([1], [2])
    """
    named: list[T] = []
    elsewhere: list[T] = []
    for item, names, more in items:
        if all(says(names, word) for word in words):
            named.append(item)
        elif all(says(f"{names} {more}", word) for word in words):
            elsewhere.append(item)
    return named, elsewhere


def texts(value: Any) -> Iterator[str]:
    """Every text in data, however deep; keys are none."""
    match value:
        case str():
            yield value
        case dict():
            for item in value.values():
                yield from texts(item)
        case list() | tuple():
            for item in value:
                yield from texts(item)


def capital(text: str) -> str:
    """Start a text with a capital, and leave the rest as it is.

    >>> capital("full flat")
    'Full flat'
    """
    return text[:1].upper() + text[1:]


def plural(count: int, noun: str) -> str:
    """Write a count with its noun.

    >>> plural(1, "candidate"), plural(1200, "candidate")
    ('1 candidate', '1,200 candidates')
    """
    return f"{count:,} {noun}{'' if count == 1 else 's'}"
