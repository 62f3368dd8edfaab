"""The workshop in the interface: the same figures as the command line, an order from form to accepted quote."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from decimal import Decimal
from pathlib import Path
from types import SimpleNamespace

import pytest
from textual.pilot import Pilot
from textual.widgets import OptionList, TabbedContent

from recommender.drawing.text.workshop.price_text import money, price_text
from recommender.drawing.text.workshop.worksheet_text import worksheet_text
from recommender.models.brief import Brief
from recommender.models.workshop.quote import Order
from recommender.service import Service
from recommender.shop.quotes.quote_book import own_file as book_file
from recommender.shop.rates.shop_file import own_file as shop_file
from recommender.shop.rates.shop_file import shipped
from recommender.tui.app import BevelwrightApp
from recommender.tui.screens.book_screen import BookScreen
from recommender.tui.state.order_fields import as_left
from recommender.tui.themes import LIGHT
from recommender.tui.widgets.order_form import ActionRow, OrderBox
from recommender.tui.widgets.trial_rows import RowMoved
from recommender.worker.parts import PricePart


@pytest.fixture(autouse=True)
def own_folders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A book and rates of this test's own."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))


async def as_maker(app: BevelwrightApp, pilot: Pilot[None], tui: SimpleNamespace) -> None:
    app.action_audience()
    app.action_show_tab("price")
    await tui.answered(app, pilot)


def test_sheet_and_price_are_those_of_the_command_line(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        await as_maker(app, pilot, tui)
        assert app.answer is not None
        width = app.page_width()
        price = service.workshop.price(app.answer, Order(), service.workshop.shop())
        assert price_text(price, service.loaded.title(app.answer), width=width).strip() in tui.text_of(
            app, "#part-price"
        )
        sheet = service.workshop.worksheet(app.brief, app.answer, service.workshop.shop())
        shown = tui.text_of(app, "#part-shop")
        assert shown.startswith(worksheet_text(sheet, width=width, cautions=False))
        assert "In the shop" in shown

    tui.drive(service, flow)


def test_a_buyer_has_neither_page(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        tabs = app.query_one("#tabs", TabbedContent)
        shown = {tab.label_text for tab in tabs.query("Tab") if tab.display}
        assert not shown & {"Shop", "Price"}
        app.action_audience()
        await pilot.pause()
        shown = {tab.label_text for tab in tabs.query("Tab") if tab.display}
        assert shown >= {"Shop", "Price"}

    tui.drive(service, flow)


def test_a_price_that_comes_while_the_interface_closes_is_dropped(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        closed.append(app)

    closed: list[BevelwrightApp] = []
    tui.drive(service, flow)
    (app,) = closed
    late = PricePart(shop=None, sheet=None, price=None, words="late")
    app.deliver(late, app.serial, app.quotes.take)
    assert app.quotes.shop_words != "late"


def test_the_total_runs_with_the_order(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        await as_maker(app, pilot, tui)
        assert app.quotes.price is not None
        plain = app.quotes.price.total
        tui.stepper(app, "order-handle").focus()
        await pilot.press("right")
        await tui.answered(app, pilot)
        shop = service.workshop.shop()
        handle = shop.handles[0]
        assert app.quotes.order["handle"] == handle.id
        # By hand: material and work of the handle, then 12 % and 15 % and 20 % as shop.toml has them, coin by coin.
        own = handle.material + (Decimal(repr(handle.minutes)) * shop.business.labour_per_hour / 60).quantize(
            Decimal("0.01")
        )
        more = own * Decimal("1.12") * Decimal("1.15") * Decimal("1.2")
        assert abs(app.quotes.price.total - plain - more) <= Decimal("0.03")
        assert money(app.quotes.price.total, app.quotes.price) in tui.text_of(app, "#part-price")
        await pilot.press("up", "up", "right")
        await tui.answered(app, pilot)
        assert app.quotes.price.pieces == 2
        await pilot.press("backspace")
        await tui.answered(app, pilot)
        assert app.quotes.price.pieces == 1

    tui.drive(service, flow)


def test_from_brief_to_accepted_quote_without_leaving(tui: SimpleNamespace, service: Service, tmp_path: Path) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        tui.row(app, "tasks.food-prep").focus()
        await pilot.press("right")
        await tui.answered(app, pilot)
        await as_maker(app, pilot, tui)
        app.query(OrderBox).first().focus()
        await pilot.press(*"Ann", "down", *"No 7", "down")
        assert isinstance(app.focused, ActionRow)
        await pilot.press("enter")
        await pilot.pause()
        quote, entry, _ = service.workshop.book().quote(1)
        assert (entry.status, entry.customer, entry.reference) == ("draft", "Ann", "No 7")
        assert quote.price == app.quotes.price
        assert quote.answer == app.answer
        await pilot.press("down", "enter")
        await pilot.pause()
        assert isinstance(app.screen, BookScreen)
        assert "Ann" in tui.text_of(app, "#book-list")
        await pilot.press("s", "a", "w")
        await pilot.pause()
        assert service.workshop.book().entries()[0].status == "accepted"
        assert "accepted" in tui.text_of(app, "#book-text")
        written = {path.name for path in app.files.folder.iterdir()}
        assert {"quote-1.pdf", "quote-1.md", "care-1.pdf"} <= written
        await pilot.press("d", "x")
        await pilot.pause()
        assert "cannot become done" in tui.text_of(app, "#book-state")

    tui.drive(service, flow, folder=tmp_path)


def test_a_quote_is_revised_in_the_form(tui: SimpleNamespace, service: Service, tmp_path: Path) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        await as_maker(app, pilot, tui)
        app.query(OrderBox).first().value = "Bo"
        await pilot.pause()
        app.action_save_quote()
        await tui.answered(app, pilot)
        app.form.fill({"tasks.fine-slicing": "3"})
        app.query(OrderBox).first().value = ""
        await tui.answered(app, pilot)
        app.action_quote_book()
        await pilot.pause()
        await pilot.press("r")
        await tui.answered(app, pilot)
        assert app.screen is app.main
        assert app.values == {}
        assert app.query(OrderBox).first().value == "Bo"
        assert "next revision of quote 1" in str(app.query(ActionRow).first().render())
        app.action_save_quote()
        await tui.answered(app, pilot)
        entries = service.workshop.book().entries()
        assert [(entry.name, entry.customer) for entry in entries] == [("1.2", "Bo"), ("1", "Bo")]
        assert app.quotes.revising is None

    tui.drive(service, flow, folder=tmp_path)


def test_the_book_is_searched_and_filtered(tui: SimpleNamespace, service: Service, tmp_path: Path) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        app.action_quote_book()
        await pilot.pause()
        assert "No quote yet" in tui.text_of(app, "#book-text")
        await pilot.press("escape")
        await as_maker(app, pilot, tui)
        for name in ("Ann", "Bo"):
            app.query(OrderBox).first().value = name
            app.action_save_quote()
            await tui.answered(app, pilot)
        app.action_quote_book()
        await pilot.pause()
        listed = app.screen.query_one("#book-list", OptionList)
        assert listed.option_count == 2
        await pilot.press("slash", *"bo")
        await pilot.pause()
        assert listed.option_count == 1
        assert "Bo" in tui.text_of(app, "#book-text")
        await pilot.press("escape", "s", "f9", "f9")
        await pilot.pause()
        assert app.screen.filter == "sent"
        assert listed.option_count == 1
        await pilot.press("c")
        await tui.answered(app, pilot)
        await pilot.pause()
        assert "comes out the same" in tui.text_of(app, "#book-text")

    tui.drive(service, flow, folder=tmp_path)


def test_doubts_are_said_first_and_damage_is_named(tui: SimpleNamespace, service: Service, tmp_path: Path) -> None:
    def change(statement: str) -> None:
        with closing(sqlite3.connect(book_file())) as raw:
            raw.execute(statement)
            raw.commit()

    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        await as_maker(app, pilot, tui)
        for name in ("Ann", "Bo", "Cleo"):
            app.query(OrderBox).first().value = name
            app.action_save_quote()
            await tui.answered(app, pilot)
        change("UPDATE quotes SET valid_until = '2020-01-01' WHERE number = 3")
        change("UPDATE quotes SET total = 'much' WHERE number = 1")
        change("UPDATE quotes SET quote = 'x' WHERE number = 2")
        app.action_quote_book()
        await pilot.pause()
        assert app.screen.query_one("#book-list", OptionList).option_count == 2
        assert "damaged: quote 1" in tui.text_of(app, "#book-state")
        await pilot.press("a")
        await pilot.pause()
        assert "was valid until 2020-01-01" in tui.text_of(app, "#book-state")
        assert service.workshop.book().entries()[0].status == "draft"
        await pilot.press("a")
        await pilot.pause()
        assert service.workshop.book().entries()[0].status == "accepted"
        await pilot.press("down")
        await pilot.pause()
        assert "quote 2 cannot be read" in tui.text_of(app, "#book-text")

    tui.drive(service, flow, folder=tmp_path)


def test_rates_that_cannot_be_read_are_told_where_they_are_missed(tui: SimpleNamespace, service: Service) -> None:
    service.recommend(Brief(), flips=False)  # what it takes from the shop is read before the file is spoilt
    file = shop_file()
    file.parent.mkdir(parents=True)
    file.write_bytes(shipped().replace(b"labour_per_hour", b"labor_per_hour"))

    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        await as_maker(app, pilot, tui)
        for part in ("#part-price", "#part-shop"):
            assert "business.labor_per_hour: unknown key" in tui.text_of(app, part)
        app.action_save_quote()
        await tui.answered(app, pilot)
        await pilot.pause()
        assert not book_file().exists()

    tui.drive(service, flow)


def test_a_book_that_is_none_is_told_and_left_alone(tui: SimpleNamespace, service: Service) -> None:
    file = book_file()
    file.parent.mkdir(parents=True)
    file.write_bytes(b"shopping list" * 100)

    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        await as_maker(app, pilot, tui)
        app.action_save_quote()
        await tui.answered(app, pilot)
        await pilot.pause()
        assert "quote book cannot be used" in tui.text_of(app, "#state")
        app.action_quote_book()
        await pilot.pause()
        assert "quote book cannot be used" in tui.text_of(app, "#book-state")
        assert file.read_bytes() == b"shopping list" * 100

    tui.drive(service, flow)


def test_a_maker_finds_view_and_order_as_they_were_left(tui: SimpleNamespace, service: Service, tmp_path: Path) -> None:
    async def leave(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        await as_maker(app, pilot, tui)
        app.action_inches()
        app.action_theme_turn()
        app.post_message(RowMoved("order-pieces", 1))
        app.post_message(RowMoved("order-handle", 1))
        app.query(OrderBox).first().value = "Ada"
        await tui.answered(app, pilot)
        left.update(app.quotes.order)

    async def find(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        assert (app.audience, app.inches, app.theme) == ("maker", True, LIGHT.name)
        assert app.quotes.order == left
        assert {"pieces": "2", "customer": "Ada"}.items() <= app.quotes.order.items()
        assert app.query(OrderBox).first().value == "Ada"
        assert app.quotes.price is not None
        assert app.quotes.price.pieces == 2
        app.action_save_quote()
        await tui.answered(app, pilot)
        await pilot.pause()

    async def find_quoted(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        assert app.audience == "maker"
        assert app.quotes.order == {}  # it is in the book

    left: dict[str, str] = {}
    tui.drive(service, leave, folder=tmp_path)
    tui.drive(service, find, folder=tmp_path)
    tui.drive(service, find_quoted, folder=tmp_path)


@pytest.mark.parametrize("pieces", ["0", "-1", "many", "10001", "9" * 100, "²"])
def test_no_number_of_pieces_is_left_out(pieces: str) -> None:
    assert as_left({"pieces": pieces, "customer": "Ada"}) == {"customer": "Ada"}
