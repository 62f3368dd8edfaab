"""The quote book: numbers, revisions, search, what it refuses, and what survives kills and a full disk.

Source: SQLite's documentation of atomic commits and of `PRAGMA integrity_check`; the contracts in the charter.
"""

from __future__ import annotations

import itertools
import os
import random
import resource
import signal
import sqlite3
import subprocess
import sys
import time
from datetime import date, timedelta
from multiprocessing import get_context
from pathlib import Path

import pytest

from recommender.drawing.documents.document_markdown import document_markdown
from recommender.drawing.documents.document_pdf import document_pdf
from recommender.errors import InputError
from recommender.models.workshop.quote import NEXT, Order, Quote
from recommender.shop.quotes.book_file import VERSION
from recommender.shop.quotes.quote_book import Book

DAY = date(2026, 3, 1)
KILLS = int(os.environ.get("BEVELWRIGHT_KILLS", "60"))
"""200 and more by command: BEVELWRIGHT_KILLS=200 pytest tests/shop/test_quote_book.py -k kills."""
pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="forks and kills need a POSIX system")


@pytest.fixture(scope="module")
def quote(service, answered, shop) -> Quote:
    """One quote, made once: copies with other numbers save in milliseconds."""
    scenario = answered["left-handed-hunter"]
    order = Order(pieces=2, handle="oiled-wood", shipping="parcel", customer="Ünal Çelik", reference="Heft 7")
    return service.workshop.quote(scenario.brief, scenario.answer, order, shop, DAY)(1, 1)


@pytest.fixture
def book(tmp_path: Path) -> Book:
    return Book(tmp_path / "quotes.sqlite3")


def copies(quote: Quote, **changes):
    """What `Book.add` asks: the quote under a number."""
    changed = quote.model_copy(update=changes)
    return lambda number, revision: changed.model_copy(update={"number": number, "revision": revision})


def for_whom(quote: Quote, customer: str, reference: str = "") -> dict[str, Order]:
    return {"order": quote.order.model_copy(update={"customer": customer, "reference": reference})}


def test_a_quote_written_beforehand_goes_in_under_its_name_or_not_at_all(book: Book, quote: Quote) -> None:
    assert book.next_name() == (1, 1)
    first = copies(quote)(*book.next_name())
    assert book.add_as_named(first)
    assert not book.add_as_named(first), "the name is taken"
    second = copies(quote, title="another")(*book.next_name())
    assert (second.number, second.revision) == (2, 1)
    book.add(copies(quote))  # somebody else's comes first
    assert not book.add_as_named(second)
    assert book.next_name(1) == (1, 2)
    revised = copies(quote, title="changed")(1, 2)
    assert book.add_as_named(revised)
    assert not book.add_as_named(revised)
    assert sorted(entry.name for entry in book.entries()) == ["1", "1.2", "2"]
    assert book.quote(1, 2)[0] == revised
    with pytest.raises(InputError):
        book.next_name(9)


def test_a_quote_comes_back_as_it_went_in(book: Book, quote: Quote) -> None:
    saved = book.add(copies(quote))
    assert (saved.number, saved.revision, saved.name) == (1, 1, "1")
    back, entry, history = book.quote(1)
    assert back == saved
    assert back.model_dump_json() == saved.model_dump_json()
    assert (entry.status, entry.customer, entry.total) == ("draft", "Ünal Çelik", str(quote.price.total))
    assert [(event.day, event.status) for event in history] == [("2026-03-01", "draft")]


def test_documents_come_out_of_the_book_byte_for_byte(book: Book, quote: Quote) -> None:
    book.add(copies(quote))
    back, _, _ = book.quote(1)
    for then, now in ((quote.document, back.document), (quote.care, back.care)):
        assert document_markdown(then) == document_markdown(now)
        assert document_pdf(then) == document_pdf(now)
        assert document_pdf(then, "letter") == document_pdf(now, "letter")


def test_a_revision_is_of_the_same_customer(book: Book, quote: Quote) -> None:
    book.add(copies(quote, **for_whom(quote, "")))
    book.add(copies(quote, **for_whom(quote, "Ann")), number=1)
    book.add(copies(quote, **for_whom(quote, "")), number=1)
    book.add(copies(quote, **for_whom(quote, " ANN ")), number=1)
    assert book.customers(1) == {"Ann", " ANN "}
    other = copies(quote, **for_whom(quote, "Bo"))
    with pytest.raises(InputError, match="not for Bo: nothing is saved"):
        book.add(other, number=1)
    with pytest.raises(InputError, match="not for Bo: nothing is saved"):
        book.add_as_named(other(1, 5))
    assert [e.name for e in book.entries()] == ["1.4", "1.3", "1.2", "1"]
    assert book.add(other).name == "2", "a quote of their own"
    assert book.add(other, number=1, renamed=True).name == "1.5"
    assert book.add(copies(quote, **for_whom(quote, "bo")), number=1).name == "1.6"


def test_revisions_leave_the_earlier_as_they_were(book: Book, quote: Quote) -> None:
    first = book.add(copies(quote))
    book.add(copies(quote, title="another"))
    second = book.add(copies(quote, title="changed"), number=1)
    assert (second.number, second.revision, second.name) == (1, 2, "1.2")
    assert book.quote(1, 1)[0] == first
    assert book.quote(1, 2)[0] == second
    with pytest.raises(InputError, match=r"quote 1 has 2 revisions; expected one of 1\.1, 1\.2"):
        book.quote(1)
    assert [e.name for e in book.entries()] == ["2", "1.2", "1"]
    for number, revision in ((1, 3), (1, 0), (9, None)):
        with pytest.raises(InputError, match=str(number)):
            book.quote(number, revision)
    with pytest.raises(InputError, match="no quote 9"):
        book.add(copies(quote), number=9)
    assert len(book.entries()) == 3


@pytest.mark.parametrize("first", [status for status in NEXT if status != "superseded"])
@pytest.mark.parametrize("then", NEXT)
def test_what_may_become_of_a_quote(book: Book, quote: Quote, first: str, then: str) -> None:
    """draft -> sent -> accepted -> done; draft may be accepted at once; declined from anywhere but done.

    A step that was a mistake can be taken back: sent and declined to draft, accepted to sent, done to accepted.
    Nothing becomes superseded by itself: `test_accepting_one_revision_supersedes_the_others`.
    """
    ways = {"draft": [], "sent": ["sent"], "accepted": ["sent", "accepted"], "declined": ["declined"]}
    ways["done"] = ["accepted", "done"]
    book.add(copies(quote))
    for status in ways[first]:
        book.move((1, None), status, DAY)
    allowed = {("draft", "sent"), ("draft", "accepted"), ("draft", "declined"), ("sent", "accepted")}
    allowed |= {("sent", "declined"), ("accepted", "done"), ("accepted", "declined")}
    allowed |= {("sent", "draft"), ("declined", "draft"), ("accepted", "sent"), ("done", "accepted")}
    if (first, then) in allowed:
        assert book.move((1, None), then, DAY).status == then
        wanted = then
    else:
        with pytest.raises(InputError, match=f"is {first} and cannot become {then}"):
            book.move((1, None), then, DAY)
        wanted = first
    assert book.quote(1)[1].status == wanted
    assert [e.status for e in book.quote(1)[2]] == ["draft", *ways[first], *([then] if wanted != first else [])]


def test_accepting_one_revision_supersedes_the_others(book: Book, quote: Quote) -> None:
    """What the customer has declined stays declined; taking the acceptance back gives the others what they were."""
    book.add(copies(quote))
    for _ in range(3):
        book.add(copies(quote), number=1)
    book.add(copies(quote))
    book.move((1, 1), "sent", DAY)
    book.move((1, 2), "declined", DAY)

    def statuses() -> list[str]:
        return [entry.status for entry in book.entries(newest_first=False)]

    book.move((1, 3), "accepted", date(2026, 3, 2))
    assert statuses() == ["superseded", "declined", "accepted", "superseded", "draft"]
    assert [(e.day, e.status) for e in book.quote(1, 1)[2]][-1] == ("2026-03-02", "superseded")
    for status in ("sent", "declined", "done"):
        with pytest.raises(InputError, match=f"is superseded and cannot become {status}"):
            book.move((1, 1), status, DAY)
    book.move((1, 3), "sent", date(2026, 3, 3))
    assert statuses() == ["sent", "declined", "sent", "draft", "draft"]
    book.move((1, 3), "accepted", date(2026, 3, 4))
    book.move((1, 1), "accepted", date(2026, 3, 5))
    assert statuses() == ["accepted", "declined", "superseded", "superseded", "draft"], "another one instead"
    book.move((1, 1), "done", date(2026, 3, 6))
    book.move((1, 4), "draft", date(2026, 3, 7))
    book.move((1, 4), "accepted", date(2026, 3, 7))
    assert statuses() == ["done", "declined", "superseded", "accepted", "draft"], "what is made stays made"
    assert book.check() == []


def test_what_is_said_before_a_quote_is_accepted(book: Book, quote: Quote) -> None:
    """ISO 8601 days compare as text; a quote is valid on its last day."""
    book.add(copies(quote))
    last = quote.valid_until
    assert book.doubts((1, None), "accepted", last) == []
    (doubt,) = book.doubts((1, None), "accepted", last + timedelta(days=1))
    assert f"was valid until {last.isoformat()}" in doubt.words
    assert not doubt.of_clock
    assert book.doubts((1, None), "declined", last + timedelta(days=1)) == []
    book.move((1, None), "sent", date(2026, 3, 20))
    (doubt,) = book.doubts((1, None), "accepted", date(2026, 3, 19))
    assert "The clock says 2026-03-19, but quote 1 became sent on 2026-03-20" in doubt.words
    assert doubt.of_clock
    with pytest.raises(InputError, match="no quote 7"):
        book.doubts((7, None), "accepted", DAY)


def test_search(book: Book, quote: Quote) -> None:
    book.add(copies(quote, **for_whom(quote, "Ünal Çelik", "Heft 7"), title="Skinner"))
    book.add(copies(quote, **for_whom(quote, "Große Küche", "42"), title="Kitchen knife"))
    book.add(copies(quote, **for_whom(quote, "Ołena", "heft"), title="For carving"))
    book.move((2, None), "sent", DAY)

    def found(words: str, status: str | None = None) -> list[int]:
        return [entry.number for entry in book.entries(words=words, status=status)]

    assert found("") == [3, 2, 1]
    assert found("ÇELIK") == found("ünal") == [1]
    assert found("GROSSE") == [2], "ß is ss where case is folded"
    assert found("heft") == [3, 1]
    assert found("heft ünal") == found("  7   skin ") == [1], "every word counts, parts of words too"
    grind = quote.answer.proposal.grind_label.split()[-1]
    assert found(grind) == [3, 2, 1], "the grind"
    assert found("heft küche") == []
    assert found("", "sent") == [2]
    assert found("%") == found("_") == [], "no pattern language"


def test_times_are_kept_in_order(book: Book, quote: Quote) -> None:
    book.add(copies(quote))
    book.took((1, None), {"primary": 31.5, "edge": 12.0}, DAY)
    assert [(t.work, t.minutes) for t in book.times()] == [("primary", 31.5), ("edge", 12.0)]


def test_no_book_yet(book: Book) -> None:
    assert book.entries() == []
    assert book.times() == []
    with pytest.raises(InputError, match="no quote 1"):
        book.quote(1)
    assert not book.file.exists(), "asking makes no file"


def refused(book: Book, quote: Quote) -> str:
    """Reading and writing are refused in one line, and not a byte of the file changes."""
    before = book.file.read_bytes()
    lines = []
    for attempt in (
        book.entries,
        lambda: book.quote(1),
        lambda: book.add(copies(quote)),
        lambda: book.move((1, None), "sent", DAY),
    ):
        with pytest.raises(InputError) as told:
            attempt()
        lines.append(str(told.value))
        assert "\n" not in lines[-1]
        assert str(book.file) in lines[-1]
    assert book.file.read_bytes() == before
    assert [p.name for p in book.file.parent.iterdir()] == [book.file.name], "nothing is left beside it"
    return lines[0]


def test_a_newer_book(book: Book, quote: Quote) -> None:
    book.add(copies(quote))
    with sqlite3.connect(book.file) as raw:
        raw.execute(f"PRAGMA user_version = {VERSION + 1}")
    raw.close()
    assert "newer Bevelwright" in refused(book, quote)


@pytest.mark.parametrize("content", [b"no book at all, just text\n" * 100, b"\0" * 5000, bytes(range(256)) * 40, b"xy"])
def test_a_file_that_is_no_database(book: Book, quote: Quote, content: bytes) -> None:
    book.file.write_bytes(content)
    refused(book, quote)


def test_a_database_of_somebody_else(book: Book, quote: Quote) -> None:
    raw = sqlite3.connect(book.file)
    raw.execute("CREATE TABLE quotes (mine TEXT)")
    raw.commit()
    raw.close()
    assert "no quote book" in refused(book, quote)


def test_a_corrupted_book(book: Book, quote: Quote) -> None:
    for _ in range(3):
        book.add(copies(quote))
    raw = bytearray(book.file.read_bytes())
    assert raw[16:18] == b"\x10\x00", "pages of 4096 bytes"
    for page in range(1, len(raw) // 4096):
        raw[page * 4096 : page * 4096 + 200] = b"\xff" * 200
    book.file.write_bytes(raw)
    for attempt in (book.entries, lambda: book.quote(1), lambda: book.add(copies(quote))):
        with pytest.raises(InputError, match="cannot be used"):
            attempt()


def test_a_quote_that_no_longer_reads(book: Book, quote: Quote) -> None:
    book.add(copies(quote))
    book.add(copies(quote))
    with sqlite3.connect(book.file) as raw:
        raw.execute("UPDATE quotes SET quote = substr(quote, 1, 1000) WHERE number = 1")
    raw.close()
    with pytest.raises(InputError, match="quote 1 cannot be read"):
        book.quote(1)
    assert book.quote(2)[0].number == 2
    assert len(book.entries()) == 2


def test_places_where_no_book_can_be(tmp_path: Path, quote: Quote) -> None:
    (tmp_path / "file").write_text("x")
    for file in (tmp_path / "file" / "quotes.sqlite3", tmp_path, Path("/proc/no/such/place.sqlite3")):
        with pytest.raises(InputError) as told:
            Book(file).add(copies(quote))
        assert "\n" not in str(told.value)
        assert str(file) in str(told.value)


@pytest.mark.skipif(hasattr(os, "geteuid") and os.geteuid() == 0, reason="root may write everywhere")
def test_a_folder_that_may_only_be_read(book: Book, quote: Quote) -> None:
    book.add(copies(quote))
    book.file.chmod(0o444)
    book.file.parent.chmod(0o555)
    try:
        assert len(book.entries()) == 1, "reading goes on"
        with pytest.raises(InputError, match="cannot be used"):
            book.add(copies(quote))
    finally:
        book.file.parent.chmod(0o755)


def sound(book: Book) -> list[int]:
    """Numbers in a book that SQLite finds whole; every quote reads and no number is there twice."""
    entries = book.entries(newest_first=False)
    raw = sqlite3.connect(book.file)
    try:
        assert raw.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        numbers = [row[0] for row in raw.execute("SELECT number FROM quotes ORDER BY number")]
        assert [row[0] for row in raw.execute("SELECT number FROM history ORDER BY number")] == numbers
    finally:
        raw.close()
    assert [entry.number for entry in entries] == numbers
    assert len(set(numbers)) == len(numbers)
    return numbers


def in_child(work) -> int:
    """Run something in a forked child; gives its process id."""
    child = os.fork()
    if child == 0:
        try:
            work()
        finally:
            os._exit(3)
    return child


def test_a_change_left_half_done_is_undone(book: Book, quote: Quote) -> None:
    """A writer killed after some pages have reached the file: its journal is still there, and reading undoes it."""
    book.add(copies(quote))

    def half() -> None:
        raw = sqlite3.connect(book.file, isolation_level=None)
        raw.execute("PRAGMA cache_size = 1")
        raw.execute("BEGIN IMMEDIATE")
        raw.execute("UPDATE quotes SET title = 'broken', quote = quote || quote || quote")
        raw.execute("CREATE TABLE more AS SELECT * FROM quotes")
        os.kill(os.getpid(), signal.SIGKILL)

    for attempt in (lambda: len(book.entries()), lambda: book.add(copies(quote)).number):
        os.waitpid(in_child(half), 0)
        journal = book.file.with_name(book.file.name + "-journal")
        assert journal.stat().st_size > 0, "the kill came too early to prove anything"
        attempt()
        assert not any(entry.title == "broken" for entry in book.entries())
        sound(book)


def test_kills_at_any_moment(book: Book, quote: Quote) -> None:
    """Children that save quotes are killed at random moments: whatever `add` had returned is there, whole, once."""
    dice = random.Random(20260301)
    acknowledged: list[int] = []
    for kill in range(KILLS):
        ours, theirs = os.pipe()

        def save(theirs: int = theirs) -> None:
            while True:
                os.write(theirs, b"%d\n" % book.add(copies(quote)).number)

        child = in_child(save)
        os.close(theirs)
        with os.fdopen(ours, "rb") as told:
            # Every other one is killed after its first save, so that there is something to lose.
            first = told.readline() if kill % 2 else b""
            time.sleep(dice.uniform(0.0, 0.02))
            os.kill(child, signal.SIGKILL)
            _, ended = os.waitpid(child, 0)
            assert os.WTERMSIG(ended) == signal.SIGKILL
            acknowledged += [int(line) for line in (first + told.read()).split()]
        if book.file.exists():
            assert set(acknowledged) <= {entry.number for entry in book.entries()}
    there = sound(book)
    assert len(acknowledged) >= KILLS / 2, "children got to save something"
    assert len(acknowledged) == len(set(acknowledged))
    assert set(acknowledged) <= set(there)
    assert there == list(range(1, len(there) + 1))
    for number in dice.sample(there, min(20, len(there))):
        assert book.quote(number)[0].model_dump_json() == copies(quote)(number, 1).model_dump_json()


def _several(file: Path, quote: Quote, count: int) -> list[int]:
    return [Book(file).add(copies(quote)).number for _ in range(count)]


@pytest.mark.parametrize("writers", [2, 8])
def test_writers_at_once_get_a_number_each(book: Book, quote: Quote, writers: int) -> None:
    with get_context("fork").Pool(writers) as pool:
        numbers = pool.starmap(_several, [(book.file, quote, 80 // writers)] * writers)
    assert sorted(itertools.chain(*numbers)) == list(range(1, 81))
    assert sound(book) == list(range(1, 81))
    assert book.check() == []


def test_a_full_disk_leaves_what_was_there(book: Book, quote: Quote) -> None:
    book.add(copies(quote))
    before = book.file.read_bytes()
    told, write = os.pipe()

    def full() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (len(before), len(before)))
        try:
            book.add(copies(quote))
        except InputError as error:
            os.write(write, str(error).encode())
            os._exit(error.exit_code)

    child = in_child(full)
    os.close(write)
    _, ended = os.waitpid(child, 0)
    with os.fdopen(told) as said:
        line = said.read()
    assert os.WEXITSTATUS(ended) == 2
    assert "cannot be used" in line
    assert "nothing of this was saved" in line
    assert "\n" not in line
    assert book.file.read_bytes() == before
    assert sound(book) == [1]
    assert book.add(copies(quote)).number == 2, "with room again it goes on"


def test_saving_is_refused_in_one_line_from_the_command_line(tmp_path: Path) -> None:
    file = tmp_path / "quotes.sqlite3"
    file.write_text("a letter\n" * 50)
    arguments = ["quote", "--set", "tasks.food-prep=1", "--save", "--book", str(file)]
    code = "import sys; from recommender.cli import main; sys.exit(main(sys.argv[1:]))"
    done = subprocess.run([sys.executable, "-c", code, *arguments], capture_output=True, text=True)
    assert done.returncode == 2
    assert done.stdout == ""
    assert len(done.stderr.splitlines()) == 1
    assert str(file) in done.stderr
    assert file.read_text() == "a letter\n" * 50
