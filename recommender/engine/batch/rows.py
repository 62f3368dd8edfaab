"""Many briefs from a stream of CSV or JSON Lines: read as it comes, a bad row told and passed over."""

from __future__ import annotations

import csv
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from typing import Any, BinaryIO, Literal

from recommender.engine.intake.brief_text import MAX_BRIEF_BYTES, with_settings, with_tables
from recommender.errors import InputError
from recommender.models.brief import Brief
from recommender.parsing import parse_json
from recommender.text import clean, shorten

Kind = Literal["csv", "jsonl"]
_BOM = "\ufeff"


@dataclass(frozen=True)
class SweepRow:
    """One brief of many, or why it is none."""

    number: int
    """Counted from 1; header and blank lines are no rows."""
    line: int
    """Where it starts, counted from 1."""
    end: int
    """Bytes of the stream up to its end."""
    id: str | None
    asked: Brief | InputError

    @property
    def place(self) -> str:
        """Where it is, as an error says it."""
        return f"line {self.line}"


@dataclass(frozen=True)
class InputLine:
    """One line of a stream, as far as it can be read."""

    number: int
    end: int
    text: str
    problem: InputError | None = None
    """Why it cannot be read."""

    @property
    def place(self) -> str:
        """Where it is, as an error says it."""
        return f"line {self.number}"

    @property
    def blank(self) -> bool:
        """Nothing stands in it."""
        return not self.text.strip() and self.problem is None


class Lines:
    """The lines of a byte stream, each with its line end, none longer than a brief may be; they can be put back."""

    def __init__(self, stream: BinaryIO) -> None:
        self._stream = stream
        self._number = self._end = 0
        self._back: list[InputLine] = []

    def __iter__(self) -> Lines:
        return self

    def __next__(self) -> InputLine:
        if self._back:
            return self._back.pop()
        raw = self._stream.readline(MAX_BRIEF_BYTES + 1)
        if not raw:
            raise StopIteration
        self._number += 1
        self._end += len(raw)
        problem = self._pass_over_the_rest(raw) if len(raw) > MAX_BRIEF_BYTES else self._not_utf8(raw)
        text = raw.decode(errors="replace").replace("\r\n", "\n")
        return InputLine(self._number, self._end, text.removeprefix(_BOM) if self._number == 1 else text, problem)

    def put_back(self, lines: Iterable[InputLine]) -> None:
        """Let the next ones be read again, in the order in which they came."""
        self._back.extend(reversed(list(lines)))

    def to_the_first(self) -> InputLine | None:
        """Pass over blank lines; the first that is none, still to be read, or None at the end."""
        for line in self:
            if not line.blank:
                self.put_back([line])
                return line
        return None

    def _pass_over_the_rest(self, raw: bytes) -> InputError:
        while raw and not raw.endswith(b"\n"):
            raw = self._stream.readline(MAX_BRIEF_BYTES)
            self._end += len(raw)
        return _too_long(f"line {self._number}")

    def _not_utf8(self, raw: bytes) -> InputError | None:
        try:
            raw.decode()
        except UnicodeDecodeError as cause:
            problem = f"byte {cause.start + 1} of it is not UTF-8"
            return InputError(problem, file=f"line {self._number}", expected="UTF-8 text")
        return None


def kind_of(lines: Lines) -> Kind:
    """Tell CSV from JSON Lines by the first character that is no blank."""
    first = lines.to_the_first()
    return "jsonl" if first and first.text.lstrip().startswith("{") else "csv"


def read_rows(stream: BinaryIO, tasks: Collection[str], base: Brief, kind: Kind | None = None) -> Iterator[SweepRow]:
    """Read briefs one by one from CSV or JSON Lines, told from the text where not said; a row wins over the base.

    The header of a CSV is read at once and names fields of a brief, tasks among those given. Raises InputError for a
    header that does not; a row that is no brief says so itself, and the others follow.
    """
    lines = Lines(stream)
    if (kind or kind_of(lines)) == "jsonl":
        return _json_rows(lines, base)
    columns = _header(lines, tasks)
    return _csv_rows(lines, columns, base)


def _json_rows(lines: Lines, base: Brief) -> Iterator[SweepRow]:
    kept = (line for line in lines if not line.blank)
    for number, line in enumerate(kept, 1):
        row_id: str | None = None
        asked: Brief | InputError
        try:
            data = _json_object(line)
            row_id = _id(data.pop("id", None), line)
            asked = with_tables(base, data, line.place)
        except InputError as problem:
            asked = problem
        yield SweepRow(number, line.number, line.end, row_id, asked)


def _json_object(line: InputLine) -> dict[str, Any]:
    file, expected = line.place, "a brief as one JSON object"
    if line.problem:
        raise line.problem

    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        data = dict(pairs)
        if len(data) < len(pairs):
            names = [name for name, _ in pairs]
            twice = next(name for name in names if names.count(name) > 1)
            raise InputError(f"{shorten(twice)} is said twice", file=file, expected="each name once")
        return data

    data = parse_json(line.text, file, expected, pairs=once)
    if not isinstance(data, dict):
        raise InputError(f"{shorten(data)} does not fit", file=file, expected=expected)
    return data


def _id(value: object, line: InputLine) -> str | None:
    if isinstance(value, (dict, list, bool)):
        raise InputError(f"{shorten(value)} does not fit", file=line.place, key="id", expected="text or a number")
    return clean(str(value), one_line=True).strip() or None if value is not None else None


class _Record:
    """The lines that the CSV reader takes for one record, which line breaks inside quotes can make several."""

    def __init__(self, lines: Lines) -> None:
        self._lines = lines
        self.taken: list[InputLine] = []
        self._length = 0

    def __iter__(self) -> _Record:
        return self

    def __next__(self) -> str:
        line = next(self._lines)
        self.taken.append(line)
        if line.problem:
            raise line.problem
        self._length += len(line.text)
        if self._length > MAX_BRIEF_BYTES:
            raise _too_long(self.taken[0].place)
        return line.text


def _record(lines: Lines) -> tuple[list[InputLine], list[str] | InputError] | None:
    """The lines of the next record and its cells (RFC 4180), or why it has none; None at the end.

    A record that cannot be read costs its first line alone: a quote left open does not swallow the rows after it.
    """
    if lines.to_the_first() is None:
        return None
    record = _Record(lines)
    try:
        return record.taken, next(csv.reader(record, strict=True))
    except InputError as cause:
        problem = cause
    except csv.Error as cause:
        problem = InputError(f"cannot be read ({cause})", file=record.taken[0].place, expected="CSV cells")
    first, *others = record.taken
    if others:
        problem = InputError("a quote is opened and not closed as it should", file=first.place, expected='"a cell"')
        lines.put_back(others)
    return [first], problem


def _header(lines: Lines, tasks: Collection[str]) -> list[str]:
    """The columns of a CSV. Raises InputError for one that is no field of a brief, has no name or comes twice."""
    read = _record(lines)
    if read is None:
        return []
    taken, cells = read
    if isinstance(cells, InputError):
        raise cells
    file = taken[0].place
    columns = [cell.strip() for cell in cells]
    valid = ["id", *_fields(), *(f"tasks.{task}" for task in tasks)]
    for place, column in enumerate(columns, 1):
        if column not in valid:
            raise InputError(
                f"unknown column {shorten(column)}" if column else f"column {place} has no name",
                file=file,
                expected="fields of a brief with commas between, such as id,title,tasks.food-prep,steel.grade",
                given=column or None,
                valid=valid,
            )
        if column in columns[: place - 1]:
            raise InputError(f"column {column} comes twice", file=file, expected="each column once")
    return columns


def _fields() -> list[str]:
    """Every field of a brief but its tasks, dotted."""
    tables = {name: field.annotation for name, field in Brief.model_fields.items() if name not in ("title", "tasks")}
    return ["title", *(f"{name}.{key}" for name, table in tables.items() for key in getattr(table, "model_fields", ()))]


def _csv_rows(lines: Lines, columns: list[str], base: Brief) -> Iterator[SweepRow]:
    number = 0
    while (read := _record(lines)) is not None:
        number += 1
        taken, cells = read
        row_id: str | None = None
        asked: Brief | InputError
        try:
            values = _cells(cells, columns, taken[0].place)
            row_id = _id(values.pop("id", None), taken[0])
            asked = with_settings(base, [f"{key}={text}" for key, text in values.items()], taken[0].place)
        except InputError as problem:
            asked = problem
        yield SweepRow(number, taken[0].number, taken[-1].end, row_id, asked)


def _cells(cells: list[str] | InputError, columns: list[str], file: str) -> dict[str, str]:
    if isinstance(cells, InputError):
        raise cells
    if len(cells) != len(columns):
        raise InputError(f"{len(cells)} cells", file=file, expected=f"{len(columns)}, as many as the header has")
    return {column: cell for column, cell in zip(columns, cells, strict=True) if cell.strip()}


def _too_long(place: str) -> InputError:
    return InputError("too long", file=place, expected=f"at most {MAX_BRIEF_BYTES:,} bytes")
