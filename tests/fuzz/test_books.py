"""What the runs over damaged books and hostile exports lean on."""

from __future__ import annotations

import pytest

from tests.fuzz import books


def test_sound_ones_are_answered() -> None:
    for data in books.sound_books().values():
        assert books.run(books.Case("sound", "book", data, verified=True)) == "answered"
    for text in books.sound_exports().values():
        assert books.run(books.Case("sound", "export", text.encode())) == "answered"


def test_a_case_that_fails_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """What the runs lean on: a traceback is no answer, and a change that nobody notices is none either."""
    sound = books.sound_books()["new"]
    with monkeypatch.context() as patch:
        patch.setattr(books.Book, "entries", lambda *_, **__: 1 / 0)
        with pytest.raises(AssertionError, match="ZeroDivisionError"):
            books.run(books.Case("sound", "book", sound))
    with monkeypatch.context() as patch:
        patch.setattr(books, "contents", lambda: frozenset())
        with pytest.raises(AssertionError, match="unnoticed"):
            books.run(books.Case("sound", "book", sound, verified=True))
