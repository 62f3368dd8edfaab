"""The workshop in the interface: the set-up sheet, the price of the order in the form, and the quote book."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

from textual import work
from textual.message import Message
from textual.worker import get_current_worker

from recommender.drawing.documents.document_markdown import document_markdown
from recommender.drawing.lengths import Lengths
from recommender.drawing.text.answer.shop_figures_text import shop_part
from recommender.drawing.text.text_page import TextPage
from recommender.drawing.text.workshop.price_text import money, price_text, totals
from recommender.drawing.text.workshop.worksheet_text import worksheet_text
from recommender.errors import BevelwrightError
from recommender.models.answer.proposal import Answer
from recommender.models.brief import Brief
from recommender.models.workshop.quote import Order, Price, Quote
from recommender.models.workshop.shop import Shop
from recommender.models.workshop.worksheet import Worksheet
from recommender.service import Service
from recommender.tui.filing import Filing
from recommender.tui.screens.book_screen import BookScreen
from recommender.tui.state.form_fields import values_of
from recommender.tui.state.session_state import SessionState, free
from recommender.tui.widgets.answer_page import TextPart
from recommender.tui.widgets.order_form import NONE, PIECES, ActionChosen, OrderForm, Written, as_left, moved, offers
from recommender.tui.widgets.trial_rows import RowMoved

_ORDER = ("finish", "handle", "sheath", "shipping")


class Priced(Message):
    """Set-up sheet and price of the answer numbered `serial`; words instead where they cannot be had."""

    def __init__(self, serial: int, sheet: Worksheet | None, price: Price | None, words: str) -> None:
        super().__init__()
        self.serial, self.sheet, self.price, self.words = serial, sheet, price, words


class Quoting(Filing):
    """An application that prices the blade on its screen and keeps quotes of it."""

    def __init__(self, service: Service, brief: Brief, session: SessionState, folder: Path) -> None:
        super().__init__(service, brief, session, folder)
        self.serial = 0
        self.brief = Brief()
        """As it was asked when the answer on the screen was given."""
        self.order: dict[str, str] = as_left(session.order())
        """Of the quote form, as text."""
        self.revising: int | None = None
        """Number of the quote whose next revision the form is."""
        self.sheet: Worksheet | None = None
        self.price: Price | None = None
        self.shop: Shop | None = None
        self.shop_words = "Being worked out …"

    def _page_width(self) -> int:
        raise NotImplementedError

    def action_show_tab(self, name: str) -> None:
        """Go to a page of the answer."""
        raise NotImplementedError

    # Working out

    def work_out(self) -> None:
        """Make sheet and price of the answer on the screen anew, in a thread."""
        if self.answer is None or self.answer.proposal is None:
            self.sheet, self.price, self.shop_words = None, None, "Nothing fits, so there is nothing to make."
            self.show_workshop()
            return
        self._work_out(self.serial, self.brief, self.answer, dict(self.order))

    @work(thread=True, exclusive=True, group="price")
    def _work_out(self, serial: int, brief: Brief, answer: Answer, order: dict[str, str]) -> None:
        worker = get_current_worker()
        sheet, price, words = None, None, ""
        try:
            self.shop = shop = self.service.shop()
            sheet = self.service.worksheet(brief, answer, shop)
            price = self.service.price(answer, order_of(order), shop)
        except BevelwrightError as error:
            words = str(error)
        if not worker.is_cancelled:
            self.post_message(Priced(serial, sheet, price, words))

    def on_priced(self, event: Priced) -> None:
        """Show sheet and price, unless another question has been asked since."""
        if event.serial == self.serial:
            self.sheet, self.price, self.shop_words = event.sheet, event.price, event.words
            self.show_workshop()

    def show_workshop(self) -> None:
        """Write the set-up sheet and the price."""
        width = self._page_width()
        sheet = self.shop_words
        if self.sheet is not None:
            sheet = worksheet_text(self.sheet, width=width, inches=self.inches, cautions=False) + self._besides(width)
        self.main.query_one("#part-shop", TextPart).show(sheet)
        price, total = self.shop_words, ""
        if self.price is not None and self.answer is not None:
            price = price_text(self.price, self.service.title(self.answer), width=width)
            total = totals(self.price)
        save = "put it into the quote book"
        if self.revising is not None:
            save = f"save it as the next revision of quote {self.revising}"
        self.main.query_one(OrderForm).show(self._rows(), total, "\n" + price, save)

    def _besides(self, width: int) -> str:
        """What the shop has to know besides the sheet."""
        page = TextPage(width)
        if self.answer is not None:
            shop_part(page, self.answer, Lengths(self.inches))
        return f"\n{page.text()}"

    def _rows(self) -> dict[str, tuple[str, str]]:
        """Value and cost of every row of the order."""
        rows = {PIECES: (self.order.get(PIECES, "1"), "")}
        if self.shop is not None:
            for name, choices in offers(self.shop).items():
                rows[name] = (dict(choices).get(self.order.get(name, ""), choices[0][1]), self._cost(name))
        return rows

    def _cost(self, row: str) -> str:
        if self.price is None:
            return ""
        lines = [line for line in self.price.lines if line.id == row or line.id.startswith(f"{row}-")]
        return f"costs {money(sum(line.amount for line in lines), self.price)}" if lines else ""

    # The order

    def on_row_moved(self, event: RowMoved) -> None:
        """A row of the order has been moved."""
        if event.name.startswith("order-") and self.shop is not None:
            name = event.name.removeprefix("order-")
            self.order[name] = moved(self.order, self.shop, name, event.by)
            self._leave_order()
            self.show_workshop()
            self.work_out()

    def on_written(self, event: Written) -> None:
        """Customer or reference has been typed."""
        self.order[event.name] = event.text
        self._leave_order()

    def _leave_order(self) -> None:
        """A revision belongs to its quote: it is not kept as an order of its own."""
        if self.revising is None:
            self.session.leave_order(self.order)

    def on_action_chosen(self, event: ActionChosen) -> None:
        """Save the quote, or open the book."""
        (self.action_save_quote if event.name == "save" else self.action_quote_book)()

    def action_save_quote(self) -> None:
        """Put the quote on the screen into the book."""
        answer = self.answer
        if answer is None or answer.proposal is None:
            self.notify("Nothing fits, so there is nothing to quote.", markup=False)
            return
        try:
            shop = self.service.shop()
            make = self.service.quote(self.brief, answer, order_of(self.order), shop, date.today(), inches=self.inches)
            quote = self.service.book().add(make, number=self.revising)
        except BevelwrightError as error:
            self.state(str(error))
            return
        self.revising = None
        self.session.leave_order({})  # it is in the book now
        self.show_workshop()
        self.notify(f"Saved as quote {quote.name}, a draft valid until {quote.valid_until.isoformat()}.", markup=False)

    # The book

    def action_quote_book(self) -> None:
        """Open the quote book."""
        self.push_screen(BookScreen(self.service, write=self._write_documents, revise=self._revise))

    def _write_documents(self, quote: Quote) -> str:
        """Write a quote's documents beside each other into the folder; tells where. Raises InputError."""
        from recommender.drawing.documents.document_pdf import document_pdf
        from recommender.files import write_whole

        name = quote.name.replace(".", "-")
        kinds: list[tuple[str, str, Callable[[], bytes]]] = [
            (f"quote-{name}", "pdf", lambda: document_pdf(quote.document)),
            (f"quote-{name}", "md", lambda: document_markdown(quote.document).encode()),
            (f"care-{name}", "pdf", lambda: document_pdf(quote.care)),
        ]
        paths = []
        for stem, ending, write in kinds:
            path = free(self.folder, stem, ending)
            write_whole(path, write())
            paths.append(path.name)
        return f"Wrote {', '.join(paths)} to {self.folder}"

    def _revise(self, quote: Quote) -> None:
        """Fill form and order from a quote; saving makes its next revision."""
        self.revising = quote.number
        order = quote.order.model_dump()
        self.order = {name: str(value) for name, value in order.items() if value not in (None, "")}
        self.main.query_one(OrderForm).write(self.order)
        self._fill(values_of(quote.brief))
        self.action_show_tab("price")


def order_of(values: dict[str, str]) -> Order:
    """The order that the form says."""
    chosen = {name: values[name] for name in _ORDER if values.get(name, NONE) != NONE}
    return Order(
        pieces=int(values.get(PIECES, "1")),
        customer=values.get("customer", ""),
        reference=values.get("reference", ""),
        **chosen,
    )
