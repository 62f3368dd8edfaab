"""Docstrings say what a caller cannot see from the name: shapes, units, errors, and where a formula comes from."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

PACKAGE = Path(__file__).parents[2] / "recommender"
NUMERIC = ("geometry", "mechanics")
RAISING = (*NUMERIC, "plugin", "plugin/api")

ARRAYS = re.compile(r"Array|Outline|Scalars|\bSides\b")
QUANTITIES = re.compile(r"^(Any|Array|Scalars|float|Estimate|tuple\[(Array|Any)\b.*\])$")
UNIT_IN_NAME = re.compile(r"_(mm[234]?|um|rad|deg|g|n|n_m|mpa|n_per_mm)$")

SHAPE = re.compile(r"\((n|k|m|v|n m), ?[^()]*\)|broadcast|[Aa]ny shape|of the same shape|of the shape of")
UNIT = re.compile(
    r"\b(mm[234]?|um|N m|N/mm|N \(|N, |N\.|MPa|rad|degrees|[Hh]ours|[Yy]ears|[Mm]inutes|sharpenings|"
    r"dimensionless|[Rr]atio|[Ss]hare|unit)(?!\w)"
)
SOURCE = re.compile(r"Sources?:|closed form|common practice|[Ee]stimate|definition")


class Documented(NamedTuple):
    """A public function, method or property."""

    name: str
    node: ast.FunctionDef
    is_method: bool

    @property
    def docstring(self) -> str:
        return ast.get_docstring(self.node) or ""

    @property
    def result(self) -> str:
        return "" if self.node.returns is None else ast.unparse(self.node.returns)


def documented(room: str) -> Iterator[Documented]:
    for file in sorted((PACKAGE / room).glob("*.py")):
        module = ".".join(file.relative_to(PACKAGE.parent).with_suffix("").parts)
        for node in ast.parse(file.read_text(encoding="utf-8")).body:
            yield from _public(node, module, is_method=False)
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                for part in node.body:
                    yield from _public(part, f"{module}.{node.name}", is_method=True)


def _public(node: ast.stmt, where: str, *, is_method: bool) -> Iterator[Documented]:
    if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
        yield Documented(f"{where}.{node.name}", node, is_method)


def all_in(rooms: tuple[str, ...]) -> list[Documented]:
    return [function for room in rooms for function in documented(room)]


def raised(node: ast.FunctionDef) -> set[str]:
    """Names of the errors that a function itself raises, by calling their class."""
    return {
        part.exc.func.id
        for part in ast.walk(node)
        if isinstance(part, ast.Raise) and isinstance(part.exc, ast.Call) and isinstance(part.exc.func, ast.Name)
    }


def test_there_is_something_to_read() -> None:
    assert len(all_in(NUMERIC)) > 100


def test_arrays_have_a_shape() -> None:
    takes_or_gives = (f for f in all_in(NUMERIC) if ARRAYS.search(f"{ast.unparse(f.node.args)} {f.result}"))
    assert [f.name for f in takes_or_gives if not SHAPE.search(f.docstring)] == []


def test_quantities_have_a_unit() -> None:
    unnamed = (f for f in all_in(NUMERIC) if QUANTITIES.match(f.result) and not UNIT_IN_NAME.search(f.node.name))
    assert [f.name for f in unnamed if not UNIT.search(f.docstring)] == []


def test_formulas_have_a_source() -> None:
    functions = (f for f in all_in(("mechanics",)) if not f.is_method)
    assert [f.name for f in functions if not SOURCE.search(f.docstring)] == []


def test_errors_are_named() -> None:
    missing = {f.name: sorted(raised(f.node) - set(re.findall(r"\w+", f.docstring))) for f in all_in(RAISING)}
    assert {name: errors for name, errors in missing.items() if errors} == {}


@pytest.mark.parametrize(
    ("pattern", "says", "does_not"),
    [
        (SHAPE, "Thickness at height y, (n, m).", "Thickness at height y (for n sections)."),
        (UNIT, "Sideways load at the tip, N.", "Number of loads at the tip."),
        (SOURCE, "Source: closed form.", "Worked out from its sources."),
    ],
)
def test_words_are_told_apart(pattern: re.Pattern[str], says: str, does_not: str) -> None:
    assert pattern.search(says)
    assert not pattern.search(does_not)
