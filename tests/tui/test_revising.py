"""Revisions in the interface: what ends one, and that nothing is filed under another customer's quote."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import pytest
from textual import events
from textual.pilot import Pilot
from textual.widgets import Input

from recommender.service import Service
from recommender.tui.app import BevelwrightApp
from recommender.tui.state.order_fields import OrderInHand
from recommender.tui.widgets.order_form import ActionRow, OrderBox


@pytest.fixture(autouse=True)
def own_folders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A book and rates of this test's own."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))


def customer(app: BevelwrightApp) -> Input:
    return app.main.query(OrderBox).first()


def saving(app: BevelwrightApp) -> str:
    """What saving is called on the screen."""
    return str(app.main.query(ActionRow).first().render())


def booked(service: Service) -> list[tuple[str, str]]:
    return [(entry.name, entry.customer) for entry in reversed(service.workshop.book().entries())]


async def save(app: BevelwrightApp, pilot: Pilot[None], tui: SimpleNamespace) -> None:
    app.action_save_quote()
    await tui.answered(app, pilot)


async def revise_anns(app: BevelwrightApp, pilot: Pilot[None], tui: SimpleNamespace) -> None:
    """Save a quote for Ann, start afresh, and take it up again from the book."""
    app.action_audience()
    app.action_show_tab("price")
    customer(app).value = "Ann"
    await tui.answered(app, pilot)
    await save(app, pilot, tui)
    app.action_afresh()
    await tui.answered(app, pilot)
    assert customer(app).value == "", "the next order is somebody else's"
    app.action_quote_book()
    await pilot.pause()
    await pilot.press("r")
    await tui.answered(app, pilot)
    assert customer(app).value == "Ann"
    assert "next revision of quote 1" in saving(app)


def test_starting_afresh_ends_a_revision_and_undo_takes_it_up_again(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        await revise_anns(app, pilot, tui)
        app.action_afresh()
        await tui.answered(app, pilot)
        assert customer(app).value == ""
        assert "put it into the quote book" in saving(app)
        app.action_undo()
        await tui.answered(app, pilot)
        assert customer(app).value == "Ann"
        assert "next revision of quote 1" in saving(app)
        app.action_redo()
        await tui.answered(app, pilot)
        await save(app, pilot, tui)
        assert booked(service) == [("1", "Ann"), ("2", "")]

    tui.drive(service, flow)


def test_another_customer_gets_a_new_quote(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        await revise_anns(app, pilot, tui)
        customer(app).value = "Bo"
        await pilot.pause()
        assert "new quote for Bo: quote 1 is for Ann" in saving(app)
        customer(app).value = " ann "
        await pilot.pause()
        assert "next revision of quote 1" in saving(app), "the same one, written otherwise"
        customer(app).value = "Bo"
        await pilot.pause()
        await save(app, pilot, tui)
        assert booked(service) == [("1", "Ann"), ("2", "Bo")]
        assert "put it into the quote book" in saving(app)

    tui.drive(service, flow)


def test_a_brief_out_of_a_file_is_no_revision(tui: SimpleNamespace, service: Service, tmp_path: Path) -> None:
    file = tmp_path / "other.toml"
    file.write_text("[tasks]\nfine-slicing = 1\n")

    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        await revise_anns(app, pilot, tui)
        app.files.open(file)
        await tui.answered(app, pilot)
        assert customer(app).value == ""
        await save(app, pilot, tui)
        assert booked(service) == [("1", "Ann"), ("2", "")]

    tui.drive(service, flow)


def test_a_revision_names_its_own_customer_or_one_where_nobody_was_named() -> None:
    order = OrderInHand({"customer": "Bo"}, 3, frozenset({"Ann", "BO"}))
    assert order.revision_of == 3, "somebody of that quote's revisions"
    assert OrderInHand({"customer": "Bo"}, 3).revision_of == 3, "nobody was named"
    assert OrderInHand({"customer": "Cleo"}, 3, frozenset({"Ann", "Bo"})).revision_of is None
    assert OrderInHand({"customer": "Ann"}).revision_of is None


def test_keys_faster_than_the_screen_lose_nothing_of_the_customer(tui: SimpleNamespace, service: Service) -> None:
    """All at once, as a terminal delivers what is typed while it was busy."""

    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        app.action_audience()
        app.action_show_tab("price")
        await tui.answered(app, pilot)
        customer(app).focus()
        await pilot.pause()
        for key in ("C", "l", "e", "o", "down", "N", "o", "down", "enter"):
            app.post_message(events.Key(key, key if len(key) == 1 else None))
        await tui.answered(app, pilot)
        (entry,) = service.workshop.book().entries()
        assert (entry.customer, entry.reference) == ("Cleo", "No")

    tui.drive(service, flow)
