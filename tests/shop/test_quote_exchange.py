"""Quotes from one book to another: all or none, never over others, whatever bytes come."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from recommender.errors import InputError
from recommender.models.workshop.quote import Order, Quote
from recommender.shop.quotes.quote_book import Book
from recommender.shop.quotes.quote_exchange import listed, quotes_of, read_quotes, whole_data


@pytest.fixture(scope="module")
def quote(service, answered, shop) -> Quote:
    scenario = answered["left-handed-hunter"]
    order = Order(handle="oiled-wood", customer="Ann")
    return service.workshop.quote(scenario.brief, scenario.answer, order, shop, date(2026, 3, 1))(1, 1)


def copies(quote: Quote, customer: str = "Ann"):
    """What `Book.add` asks: the quote for somebody, under a number."""
    changed = quote.model_copy(update={"order": quote.order.model_copy(update={"customer": customer})})
    return lambda number, revision: changed.model_copy(update={"number": number, "revision": revision})


@pytest.fixture
def exported(quote: Quote, tmp_path: Path) -> tuple[Book, Path]:
    """A book of three, one with two revisions, moved on and with times, and what the whole of it was exported to."""
    book = Book(tmp_path / "one.sqlite3")
    for _ in range(3):
        book.add(copies(quote))
    book.add(copies(quote), number=2)
    book.move((1, None), "sent", date(2026, 3, 2))
    book.move((1, None), "accepted", date(2026, 3, 5))
    book.move((2, 2), "declined", date(2026, 3, 2))
    book.took((1, None), {"primary": 31.5, "edge": 12}, date(2026, 3, 6))
    return book, written(book, tmp_path / "export.json")


def written(book: Book, file: Path) -> Path:
    """The whole of a book, as `book export --whole` writes it."""
    file.write_text(json.dumps(whole_data(*book.everything())), encoding="utf-8")
    return file


def as_list(book: Book, file: Path) -> Path:
    """Its quotes alone, as `book export --json` writes them."""
    file.write_text(json.dumps([listed(kept) for kept in book.everything()[0]]), encoding="utf-8")
    return file


def test_a_book_comes_over_whole(exported: tuple[Book, Path], tmp_path: Path) -> None:
    """Identities, days of each status, times, documents: all that `everything` gives."""
    book, file = exported
    other = Book(tmp_path / "other.sqlite3")
    taken = other.take_in(read_quotes(str(file)))
    assert (taken.new, taken.known, taken.renamed, taken.otherwise) == (4, 0, (), ())
    assert other.everything() == book.everything()
    assert [(e.day, e.status) for e in other.quote(1)[2]] == [
        ("2026-03-01", "draft"), ("2026-03-02", "sent"), ("2026-03-05", "accepted"),
    ]  # fmt: skip
    assert [(t.day, t.work, t.minutes) for t in other.times()] == [
        ("2026-03-06", "primary", 31.5), ("2026-03-06", "edge", 12),
    ]  # fmt: skip
    assert other.documents(1) == book.documents(1)
    assert other.check() == []
    again = other.take_in(read_quotes(str(file)))
    assert (again.new, again.known) == (0, 4), "what is there already stays"
    assert other.everything() == book.everything()


def test_a_list_comes_over_and_is_known_by_its_content(exported: tuple[Book, Path], tmp_path: Path) -> None:
    book, _ = exported
    file, other = as_list(book, tmp_path / "list.json"), Book(tmp_path / "other.sqlite3")
    assert other.take_in(read_quotes(str(file))).new == 4
    assert other.entries() == book.entries()
    for there in (book, other):
        assert there.take_in(read_quotes(str(file))).known == 4
    assert book.take_in(read_quotes(str(written(other, tmp_path / "back.json")))).known == 4
    assert other.take_in(read_quotes(str(exported[1]))).known == 4


def test_two_books_merge(exported: tuple[Book, Path], quote: Quote, tmp_path: Path) -> None:
    """A second laptop: numbers 1 to 5 for Bo, and a third revision of what came from the first one."""
    book, file = exported
    other = Book(tmp_path / "other.sqlite3")
    for _ in range(5):
        other.add(copies(quote, "Bo"))
    taken = other.take_in(read_quotes(str(file)))
    assert taken.renamed == (("1", "6"), ("2", "7"), ("2.2", "7.2"), ("3", "8"))
    assert [(e.name, e.customer, e.printed) for e in other.entries()[:5]] == [
        ("8", "Ann", "3"), ("7.2", "Ann", "2.2"), ("7", "Ann", "2"), ("6", "Ann", "1"), ("5", "Bo", ""),
    ]  # fmt: skip
    assert [e.name for e in other.entries(words="2.2")] == ["7.2"], "found by what is printed"
    assert other.documents(7, 2) == book.documents(2, 2), "the documents stay"
    assert other.add(copies(quote), number=7).name == "7.3"
    assert other.check() == []
    assert other.take_in(read_quotes(str(file))).known == 4
    back = book.take_in(read_quotes(str(written(other, tmp_path / "back.json"))))
    # What is under 7 there is known as 2 here, so its new revision belongs to 2.
    assert (back.new, back.known) == (6, 4)
    assert ("7.3", "2.3") in back.renamed
    assert {e.name for e in book.entries()} == {"1", "2", "2.2", "2.3", "3", *"45", "9", "10", "11"}
    assert book.check() == []
    assert book.take_in(read_quotes(str(written(other, tmp_path / "back.json")))).known == 10
    third = Book(tmp_path / "third.sqlite3")
    assert third.take_in(read_quotes(str(as_list(other, tmp_path / "list.json")))).new == 10
    assert [e._replace(printed="") for e in third.entries()] == [e._replace(printed="") for e in other.entries()]
    assert third.documents(7, 2) == book.documents(2, 2)


def test_quotes_that_say_the_same_are_two_where_each_has_an_identity(quote: Quote, tmp_path: Path) -> None:
    books = [Book(tmp_path / f"{name}.sqlite3") for name in "ab"]
    for book in books:
        book.add(copies(quote))
    assert books[0].take_in(read_quotes(str(written(books[1], tmp_path / "b.json")))).renamed == (("1", "2"),)


def test_a_book_is_only_raised_where_earlier_versions_would_get_it_wrong(
    exported: tuple[Book, Path], quote: Quote, tmp_path: Path
) -> None:
    def version(book: Book) -> int:
        with closing(sqlite3.connect(book.file)) as raw:
            return raw.execute("PRAGMA user_version").fetchone()[0]

    other = Book(tmp_path / "other.sqlite3")
    other.take_in(read_quotes(str(exported[1])))
    assert version(other) == version(exported[0]) == 1
    other.add(copies(quote, "Bo"))
    exported[0].take_in(read_quotes(str(written(other, tmp_path / "back.json"))))
    assert version(exported[0]) == 1, "its number was free"
    third = Book(tmp_path / "third.sqlite3")
    third.add(copies(quote, "Cleo"))
    third.take_in(read_quotes(str(exported[1])))
    assert version(third) == 2


def test_a_status_that_is_another_here_is_named_and_stays(exported: tuple[Book, Path], tmp_path: Path) -> None:
    book, file = exported
    book.move((1, None), "done", date(2026, 3, 9))
    assert book.take_in(read_quotes(str(file))).otherwise == (("1", "accepted", "done"),)
    assert book.quote(1)[1].status == "done"


def test_nothing_comes_in_where_one_has_the_identity_of_another(exported: tuple[Book, Path], tmp_path: Path) -> None:
    book, file = exported
    data = json.loads(file.read_text(encoding="utf-8"))
    first = data["quotes"].pop(0)
    data["quotes"][0]["identity"] = "00000000-0000-4000-8000-000000000000"
    data["quotes"][2]["identity"] = first["identity"]
    before = book.everything()
    with pytest.raises(InputError, match="has the identity of another quote"):
        book.take_in(quotes_of(json.dumps(data).encode(), "x"))
    assert book.everything() == before


def price(**changes) -> dict:
    return {"quote": {"price": changes}}


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"status": "drft"}, "status"),
        ({"status": "sent"}, "status"),
        ({"number": 0}, "number"),
        ({"number": 10**9}, "number"),
        ({"number": True}, "number"),
        ({"revision": "2"}, "revision"),
        ({"identity": "1"}, "identity"),
        ({"later": 1}, "later"),
        ({"history": []}, "history"),
        ({"history": [{"day": "2026-02-30", "status": "sent"}]}, "history.0.day"),
        ({"times": [{"day": "2026-03-01", "work": "primary", "minutes": -1}]}, "times.0.minutes"),
        ({"times": [{"day": "2026-03-01", "work": "primry", "minutes": 1}]}, "times.0.work"),
        ({"quote": None}, None),
        ({"quote": {"made": "tomorrow"}}, "made"),
        ({"quote": {"made": "2030-01-01"}}, "valid_until"),
        ({"quote": {"number": 10**30}}, "number"),
        ({"quote": {"price": None}}, "price"),
        ({"quote": {"title": "\x1b[31mred"}}, "title"),
        ({"quote": {"later\u202e": 1}}, None),
        ({"quote": {"later": {"deep": ["\x07"]}}}, "later.deep.0"),
        (price(currency="\x1b[2"), "price.currency"),
        (price(currency="USD"), "price.currency"),
        (price(total="1.00"), "price.total"),
        (price(net="1.00"), "price.net"),
        (price(each="1.00"), "price.each"),
        (price(pieces=2), "price.pieces"),
        (price(deposit="1.00"), "price.deposit"),
        (price(total="1E+999999999"), "price.total"),
        (price(total="1E-999999999"), "price.total"),
        (price(minutes="1"), "price.minutes"),
        (price(shares=[]), "price.shares"),
    ],
)
def test_what_does_not_fit_is_located(exported: tuple[Book, Path], change: dict, key: str | None) -> None:
    """Of the third quote, which is 2.2."""

    def changed(old: object, new: object) -> object:
        if isinstance(old, dict) and isinstance(new, dict):
            return old | {name: changed(old.get(name), value) for name, value in new.items()}
        return new

    data = json.loads(exported[1].read_text(encoding="utf-8"))
    data["quotes"][2] = changed(data["quotes"][2], change)
    with pytest.raises(InputError) as caught:
        quotes_of(json.dumps(data).encode(), "export.json")
    assert caught.value.file == "export.json: quote 3"
    assert caught.value.key == key
    assert "\n" not in str(caught.value)
    assert "\x1b" not in str(caught.value)


@pytest.mark.parametrize("place", range(3))
def test_a_line_that_does_not_follow_from_its_rate_is_located(exported: tuple[Book, Path], place: int) -> None:
    data = json.loads(exported[1].read_text(encoding="utf-8"))
    data["quotes"][0]["quote"]["price"]["lines"][place]["amount"] = "0.01"
    with pytest.raises(InputError) as caught:
        quotes_of(json.dumps(data).encode(), "x")
    assert caught.value.key == f"price.lines.{place}.amount"


def test_revisions_have_no_gap(exported: tuple[Book, Path]) -> None:
    """Unless the export says that what would be there could not be read."""
    data = json.loads(exported[1].read_text(encoding="utf-8"))
    del data["quotes"][1]
    with pytest.raises(InputError, match=r"quote 2\.2 is there without 2; expected revisions from 1 on"):
        quotes_of(json.dumps(data).encode(), "x")
    data["left_out"] = ["quote 2"]
    assert [stored.name for stored in quotes_of(json.dumps(data).encode(), "x")] == ["1", "2.2", "3"]


def test_a_key_that_is_there_twice_is_named(exported: tuple[Book, Path]) -> None:
    """RFC 8259 leaves open which of the two would count."""
    raw = exported[1].read_bytes()
    twice = raw.replace(b'"status": "accepted", "history"', b'"status": "done", "status": "accepted", "history"', 1)
    assert twice != raw
    with pytest.raises(InputError, match="status: there twice"):
        quotes_of(twice, "x")


def outcome(raw: bytes) -> list | str:
    """The quotes, or why there are none."""
    try:
        return list(quotes_of(raw, "x"))
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


@settings(max_examples=50, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_any_change_of_an_export_is_taken_or_refused_in_one_line(exported: tuple[Book, Path], data) -> None:
    """A value somewhere in the export is replaced by anything."""
    whole = json.loads(exported[1].read_text(encoding="utf-8"))
    whole["quotes"] = whole["quotes"][:1]
    if data.draw(st.booleans()):
        whole = [listed(kept) for kept in exported[0].everything()[0][:1]]
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
