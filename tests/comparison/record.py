"""record.tsv: what every brief came to when answers last changed on purpose, one line a brief.

A paper stands there as a hash of its fields. Numbers are rounded to nine significant digits before, for the last ones
may hang on the version of numpy and on the processor.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import NamedTuple

from .checkout import ComparisonError
from .figures import Figures, figures_of

FILE = Path(__file__).with_name("record.tsv")
_DIGITS = 9
_HEADER = ("brief", *Figures._fields, "papers")


class Row(NamedTuple):
    """One line: a brief, its figures and the hash of each of its papers."""

    name: str
    figures: Figures
    papers: Mapping[str, str]


def row_of(name: str, papers: Mapping[str, dict[str, object]]) -> Row:
    """The line of a brief, from the fields of its papers."""
    return Row(name, figures_of(dict(papers)), {paper: fingerprint(fields) for paper, fields in papers.items()})


def fingerprint(fields: object) -> str:
    """A short hash of nested data, the same for numbers that agree to nine significant digits."""
    return hashlib.sha256(json.dumps(_rounded(fields), sort_keys=True).encode()).hexdigest()[:10]


def _rounded(value: object) -> object:
    if isinstance(value, float):
        return float(f"{value:.{_DIGITS}g}")
    if isinstance(value, dict):
        return {key: _rounded(item) for key, item in value.items()}
    return [_rounded(item) for item in value] if isinstance(value, list) else value


def written(rows: list[Row]) -> str:
    """The text of a record."""
    lines = [_HEADER]
    for row in rows:
        lines.append((row.name, *row.figures, " ".join(f"{paper}:{hash}" for paper, hash in row.papers.items())))
    return "".join("\t".join(line) + "\n" for line in lines)


def read(text: str) -> dict[str, Row]:
    """The lines of a record by brief. Raises ComparisonError for a text that is none."""
    header, *lines = (tuple(line.split("\t")) for line in text.splitlines())
    if header != _HEADER:
        raise ComparisonError(f"the record's columns are {', '.join(header)}, not {', '.join(_HEADER)}")
    rows = [
        Row(name, Figures(*figures), dict(each.split(":") for each in papers.split()))
        for name, *figures, papers in lines
    ]
    return {row.name: row for row in rows}


def not_reproduced(recorded: Mapping[str, Row], found: list[Row]) -> Iterator[str]:
    """What a record says otherwise than what was found, a line a brief.

    Papers that were not asked for this time, and briefs that were not, count as reproduced.
    """
    for row in found:
        known = recorded.get(row.name)
        if known is None:
            yield f"{row.name}: not in the record"
            continue
        papers = [paper for paper, hash in row.papers.items() if known.papers.get(paper) != hash]
        if papers:
            # Without its quote a brief has no price, and without its answer no figures: the hashes tell.
            blade = f"{known.figures} -> {row.figures}" if _differ(known.figures, row.figures) else str(known.figures)
            yield f"{row.name}: {blade}; {', '.join(papers)}"


def _differ(known: Figures, found: Figures) -> bool:
    return any(one != other for one, other in zip(known, found, strict=True) if other)
