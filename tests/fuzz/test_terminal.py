"""A small run of kept states, keys and sizes; `terminal.cases` gives more without end."""

from __future__ import annotations

from collections import Counter
from itertools import islice

import pytest

from tests.fuzz import terminal

SEED = 15


def test_the_interface_stands_whatever_it_finds() -> None:
    outcomes = Counter(terminal.run(case) for case in islice(terminal.cases(SEED), 12))
    assert min(outcomes["answered"], outcomes["refused"]) >= 3, "cases of both kinds"


def test_a_case_that_fails_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """What the runs lean on: an exception is no answer, and neither is a file that has gone."""
    case = terminal.Case("nested", "state", {"as-left.json": b"[" * 30_000})
    with monkeypatch.context() as patch:
        patch.setattr(terminal.SessionState, "settle", lambda _: 1 / 0)
        with pytest.raises(AssertionError, match="ZeroDivisionError"):
            terminal.run(case)
    with monkeypatch.context() as patch:
        patch.setattr("recommender.tui.state.kept_file.KeptFile.refuse", lambda file: file._opening.unlink())
        with pytest.raises(AssertionError, match="lost"):
            terminal.run(case)


def test_the_same_seed_gives_the_same_cases() -> None:
    first, again = (list(islice(terminal.cases(SEED), 24)) for _ in range(2))
    assert first == again
