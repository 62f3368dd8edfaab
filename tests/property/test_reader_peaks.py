"""No file within its byte limit takes more than 100 MB to be read or refused, whoever reads it."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from recommender.errors import InputError
from recommender.parsing import MOST_VALUES, parse_json, parse_toml

MOST_MB = 100
ROOT = Path(__file__).parents[2]
SPACE = b"\n" * 5_000
"""Text so short is not counted: this makes it longer."""


@pytest.mark.skipif(sys.platform == "win32", reason="no fork, no peak of a process")
def test_every_reader_stays_within_its_memory() -> None:
    command = [sys.executable, "-m", "tests.property.reader_peaks"]
    ended = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    told = [json.loads(line) for line in ended.stdout.splitlines()]
    assert len({(row["reader"], row["kind"]) for row in told}) == len(told) > 100
    assert [row for row in told if row["mb"] > MOST_MB or row["ended"].startswith("failed")] == []


@pytest.mark.parametrize(
    "text",
    [
        f'text = "{"a." * 3000}"',
        f"text = '''\n{'a.' * 3000}\n'''",
        f'text = """\\""" {"[" * 6000}"""',
        f"# {'a.' * 3000}{'[' * 3000}",
        f'"{"[" * 6000}" = 1',
        f"numbers = [{', '.join(['1.5'] * 3000)}]",
        "\n".join(f"[a{k}.b.c]\nd.e = {{ f = [{k}.5, '='] }}" for k in range(1000)),
    ],
    ids=["string", "lines", "escaped quotes", "comment", "quoted key", "list", "tables"],
)
def test_what_only_looks_deep_is_read(text: str) -> None:
    assert len(text) > 4_000
    assert parse_toml(text.encode(), "file") is not None


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (".".join("a" * 26) + " = 1", "cannot be read: nested too deep"),
        (" . ".join(['"a"'] * 26) + " = 1", "cannot be read: nested too deep"),
        ("x = " + "[" * 26 + "]" * 26, "cannot be read: nested too deep"),
        ("x = [" + "0," * (MOST_VALUES + 1) + "]", "too much in it"),
        ("x = " + "9" * 5_000, "too long a word"),
    ],
)
def test_more_than_anybody_writes_is_refused(text: str, says: str) -> None:
    with pytest.raises(InputError, match=f"^file: {says}; expected at most"):
        parse_toml(SPACE + text.encode(), "file")


def test_json_is_counted_too() -> None:
    with pytest.raises(InputError, match="too deep"):
        parse_json(b"[" * 5_000, "file", "a list")
    with pytest.raises(InputError, match="too much in it"):
        parse_json(b"[" + b"1," * MOST_VALUES + b"1,1]", "file", "a list")
    assert parse_json(b'["' + b"[" * 5_000 + b'\\""]', "file", "a list") == ["[" * 5_000 + '"']
