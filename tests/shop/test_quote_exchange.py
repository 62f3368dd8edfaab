"""Quotes from one book to another: all or none, never over others, whatever bytes come."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from recommender.errors import InputError
from recommender.models.workshop.quote import Order, Quote
from recommender.shop.quotes.quote_book import Book
from recommender.shop.quotes.quote_exchange import quotes_of, read_quotes
from recommender.shop.quotes.stored_quote import Stored


@pytest.fixture(scope="module")
def quote(service, answered, shop) -> Quote:
    scenario = answered["left-handed-hunter"]
    order = Order(handle="oiled-wood", customer="Ann")
    return service.workshop.quote(scenario.brief, scenario.answer, order, shop, date(2026, 3, 1))(1, 1)


@pytest.fixture
def exported(quote: Quote, tmp_path: Path) -> tuple[Book, Path]:
    """A book of three, two of them moved on, and what it was exported to."""
    book = Book(tmp_path / "one.sqlite3")
    for _ in range(3):
        book.add(lambda number, revision: quote.model_copy(update={"number": number, "revision": revision}))
    book.move((1, None), "sent", date(2026, 3, 2))
    book.move((2, None), "declined", date(2026, 3, 2))
    file = tmp_path / "export.json"
    file.write_text(json.dumps([stored for _, stored, _ in book.everything()]), encoding="utf-8")
    return book, file


def test_a_book_comes_over_whole(exported: tuple[Book, Path], tmp_path: Path) -> None:
    book, file = exported
    other = Book(tmp_path / "other.sqlite3")
    assert other.take_in(read_quotes(str(file))) == 3
    assert other.entries() == book.entries()
    assert [other.quote(n)[0] for n in (1, 2, 3)] == [book.quote(n)[0] for n in (1, 2, 3)]
    assert other.take_in(read_quotes(str(file))) == 0, "what is there already stays"
    assert other.entries() == book.entries()


def test_another_quote_of_the_same_number_stops_all_of_it(
    exported: tuple[Book, Path], quote: Quote, tmp_path: Path
) -> None:
    _, file = exported
    other = Book(tmp_path / "other.sqlite3")
    mine = quote.model_copy(update={"order": quote.order.model_copy(update={"customer": "Bo"})})
    mine = mine.model_copy(update={"number": 2})
    other.take_in([Stored(json.loads(mine.model_dump_json()), mine, "draft")])
    with pytest.raises(InputError, match="there is another quote 2 already"):
        other.take_in(read_quotes(str(file)))
    assert [(entry.number, entry.customer) for entry in other.entries()] == [(2, "Bo")]


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"status": "drft"}, "status"),
        ({"number": 0}, None),
        ({"made": "tomorrow"}, "made"),
        ({"number": 10**30}, None),
        ({"price": None}, "price"),
    ],
)
def test_a_quote_that_does_not_fit_is_located(exported: tuple[Book, Path], change: dict, key: str | None) -> None:
    _, file = exported
    data = json.loads(file.read_text(encoding="utf-8"))
    data[1] |= change
    with pytest.raises(InputError) as caught:
        quotes_of(json.dumps(data).encode(), "export.json")
    assert caught.value.file == "export.json: quote 2"
    assert caught.value.key == key
    assert "\n" not in str(caught.value)


def outcome(raw: bytes) -> list | str:
    """The quotes, or why there are none."""
    try:
        return quotes_of(raw, "x")
    except InputError as error:
        return str(error)


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=300))
def test_any_bytes_are_refused_in_one_line(raw: bytes) -> None:
    told = outcome(raw)
    assert told == [] or (isinstance(told, str) and "\n" not in told)


PLACES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=12),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=6,
)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_any_change_of_an_export_is_taken_or_refused_in_one_line(exported: tuple[Book, Path], data) -> None:
    """A value somewhere in the export is replaced by anything."""
    whole = json.loads(exported[1].read_text(encoding="utf-8"))[:1]
    node, path = whole, []
    while isinstance(node, (dict, list)) and node:
        keys = sorted(node) if isinstance(node, dict) else list(range(len(node)))
        path.append((node, data.draw(st.sampled_from(keys))))
        node = path[-1][0][path[-1][1]]
        if data.draw(st.booleans()):
            break
    holder, key = path[-1]
    holder[key] = data.draw(PLACES)
    told = outcome(json.dumps(whole).encode())
    assert isinstance(told, list) or "\n" not in told
