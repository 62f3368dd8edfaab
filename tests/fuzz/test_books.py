"""A small run of damaged books and hostile exports; `books.cases` gives more without end."""

from __future__ import annotations

from collections import Counter
from itertools import islice

import pytest

from tests.fuzz import books

SEED = 15


def test_damaged_books_and_hostile_exports_are_answered_or_refused() -> None:
    outcomes = Counter(books.run(case) for case in islice(books.cases(SEED), 32))
    assert min(outcomes["answered"], outcomes["refused"]) >= 3, "cases of both kinds"


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


def test_the_same_seed_gives_the_same_cases() -> None:
    first, again = ([case.name for case in islice(books.cases(SEED), 12)] for _ in range(2))
    assert first == again
