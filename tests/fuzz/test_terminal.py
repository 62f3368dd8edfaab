"""What the runs over kept states, keys and sizes lean on."""

from __future__ import annotations

import pytest

from tests.fuzz import terminal


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
