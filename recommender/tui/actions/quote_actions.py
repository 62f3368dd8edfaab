"""The workshop in the interface: the set-up sheet, the price of the order in the form, and the quote book."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import TYPE_CHECKING

from recommender.drawing.lengths import Lengths
from recommender.drawing.text.answer.shop_figures_text import shop_part
from recommender.drawing.text.text_page import TextPage
from recommender.drawing.text.workshop.price_text import money, price_text, totals
from recommender.drawing.text.workshop.worksheet_text import worksheet_text
from recommender.errors import BevelwrightError
from recommender.files import write_whole
from recommender.models.answer.proposal import Answer
from recommender.models.brief import Brief
from recommender.models.workshop.book import Entry
from recommender.models.workshop.quote import Order, Price, Quote
from recommender.models.workshop.shop import Shop
from recommender.models.workshop.worksheet import Worksheet
from recommender.service import quote_book
from recommender.tui.state.form_fields import values_of
from recommender.tui.state.free_name import free
from recommender.tui.state.order_fields import PIECES, OrderInHand, as_left, offers, order_of, value_after
from recommender.tui.widgets.answer_page import TextPart
from recommender.tui.widgets.order_form import OrderForm
from recommender.worker.client import Reply
from recommender.worker.messages import Refused
from recommender.worker.parts import PricePart, QuotePart
from recommender.worker.questions import PriceQuestion, QuoteQuestion

if TYPE_CHECKING:
    from recommender.tui.app import BevelwrightApp


class QuoteActions:
    """Prices the blade on the screen and keeps quotes of it."""

    def __init__(self, app: BevelwrightApp) -> None:
        self.app = app
        self.in_hand = OrderInHand(as_left(app.session.order()))
        """The order in the quote form."""
        self.is_worked_out = True
        """Nothing of it has been asked for that is not there yet."""
        self.is_being_read = False
        """The order is about to be saved, with what was typed last."""
        self.sheet: Worksheet | None = None
        self.price: Price | None = None
        self.shop: Shop | None = None
        self.shop_words = "Being worked out …"

    @property
    def order(self) -> dict[str, str]:
        """The fields of the order, as text."""
        return self.in_hand.texts

    @property
    def revising(self) -> int | None:
        """Number of the quote whose next revision saving makes."""
        return self.in_hand.revision_of

    # Working out

    def work_out(self) -> None:
        """Have sheet and price of the answer on the screen made anew."""
        app = self.app
        if app.answer is None or app.answer.proposal is None:
            self.is_worked_out = True
            self.sheet, self.price, self.shop_words = None, None, "Nothing fits, so there is nothing to make."
            self.show()
            return
        self.is_worked_out = False
        app.put(PriceQuestion(brief=app.brief, answer=app.answer, order=order_of(self.order)), self.take)

    def take(self, reply: Reply) -> None:
        """Show sheet and price."""
        match reply:
            case PricePart():
                self.is_worked_out = True
                self.shop = reply.shop or self.shop
                self.sheet, self.price, self.shop_words = reply.sheet, reply.price, reply.words
                self.show()
            case Refused():
                self.is_worked_out = True
                self.sheet, self.price, self.shop_words = None, None, reply.words
                self.show()

    # Showing

    def show(self) -> None:
        """Write the set-up sheet and the price."""
        app, width = self.app, self.app.page_width()
        sheet = self.shop_words
        if self.sheet is not None:
            sheet = worksheet_text(self.sheet, width=width, inches=app.inches, cautions=False) + self._besides(width)
        app.main.query_one("#part-shop", TextPart).show(sheet)
        price, total = self.shop_words, ""
        if self.price is not None and app.answer is not None:
            price = price_text(self.price, app.catalogue.title(app.answer), width=width)
            total = totals(self.price)
        app.main.query_one(OrderForm).show(self._rows(), total, "\n" + price, self._saving_is_called())

    def _saving_is_called(self) -> str:
        order = self.in_hand
        if order.revises is None:
            return "put it into the quote book"
        if order.is_of_that_customer:
            return f"save it as the next revision of quote {order.revises}"
        others = " and ".join(sorted(order.customers))
        return f"save it as a new quote for {self.order['customer']}: quote {order.revises} is for {others}"

    def _besides(self, width: int) -> str:
        """What the shop has to know besides the sheet."""
        page = TextPage(width)
        if self.app.answer is not None:
            shop_part(page, self.app.answer, Lengths(self.app.inches))
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

    def step(self, name: str, by: int) -> None:
        """Move a row of the order by steps; 0 puts it back."""
        if self.shop is not None:
            self.app.waits.drop("the order was changed")
            self.order[name] = value_after(self.order, self.shop, name, by)
            self._leave_order()
            self.show()
            self.work_out()

    def write(self, name: str, text: str) -> None:
        """Note what is typed as customer or reference."""
        if self.order.get(name, "") == text:
            return
        self.app.waits.drop("the order was changed")
        self.order[name] = text
        self._leave_order()
        self.app.main.query_one(OrderForm).say_save(self._saving_is_called())

    def _leave_order(self) -> None:
        """A revision belongs to its quote: it is not kept as an order of its own."""
        self.in_hand.is_saved = False
        if self.in_hand.revises is None:
            self.app.session.leave_order(self.order)

    def take_up(self, order: OrderInHand) -> None:
        """Put another order into the form."""
        if order is self.in_hand:
            return
        self.in_hand, self.is_worked_out = order, False
        self.price, self.shop_words = None, "Being worked out …"
        if order.revises is None and not order.is_saved:
            self.app.session.leave_order(order.texts)
        self.app.main.query_one(OrderForm).write(order.texts)
        self.show()

    def end_revision(self) -> None:
        """Say that what is saved from now on is no revision any more."""
        if self.in_hand.revises is not None:
            words = f"Quote {self.in_hand.revises} is not being revised any more; undo (ctrl+z) goes back to it."
            self.app.notify(words, markup=False)

    def for_another_brief(self) -> OrderInHand:
        """The order that a brief out of a file is for: the one in hand, unless that belongs to a quote."""
        if self.in_hand.revises is None:
            return OrderInHand() if self.in_hand.is_saved else self.in_hand
        self.end_revision()
        return OrderInHand(as_left(self.app.session.order()))

    def save(self) -> None:
        """Put the quote of the form into the book, once the answer is there."""

        def save(texts: dict[str, str]) -> None:
            self.is_being_read = False
            for name, text in texts.items():
                self.write(name, text)
            self.app.waits.do("save the quote", self._save, saves=True)

        self.is_being_read = True
        self.app.main.query_one(OrderForm).when_typed(save)

    def _save(self, answer: Answer) -> None:
        app = self.app
        if answer.proposal is None:
            app.notify("Nothing fits, so there is nothing to quote.", markup=False)
            return
        if app.quitting.is_saving("quote"):
            app.notify("The quote before is still being saved.", markup=False)
            return
        self._have_written(app.brief, answer, self.in_hand, order_of(self.order), self.revising)

    def _have_written(
        self, brief: Brief, answer: Answer, in_hand: OrderInHand, order: Order, revising: int | None
    ) -> None:
        """Have the quote written under the name that the book would give it now, then put it in."""
        app = self.app
        try:
            number, revision = quote_book().next_name(revising)
        except BevelwrightError as error:
            app.say(str(error))
            return

        def take(reply: Reply) -> None:
            if isinstance(reply, QuotePart):
                try:
                    saved = quote_book().add_as_named(reply.quote)
                except BevelwrightError as error:
                    app.say(str(error))
                    return
                if saved:
                    self._saved(reply.quote, in_hand)
                else:  # somebody else's has taken its name meanwhile
                    self._have_written(brief, answer, in_hand, order, revising)
            elif isinstance(reply, Refused):
                app.say(reply.words)

        question = QuoteQuestion(
            brief=brief,
            answer=answer,
            order=order,
            made=date.today(),
            inches=app.inches,
            number=number,
            revision=revision,
        )
        app.put(question, take, always=True)

    def _saved(self, quote: Quote, in_hand: OrderInHand) -> None:
        in_hand.revises, in_hand.customers, in_hand.is_saved = None, frozenset(), True
        self.app.session.leave_order({})  # it is in the book now
        self.show()
        words = f"Saved as quote {quote.name}, a draft valid until {quote.valid_until.isoformat()}."
        self.app.notify(words, markup=False)

    # The book

    def open_book(self) -> None:
        """Open the quote book."""
        from recommender.tui.screens.book_screen import BookScreen

        self.app.push_screen(BookScreen(self.app.put, write=self._write_documents, revise=self._revise))

    def _write_documents(self, quote: Quote) -> str:
        """Write a quote's documents beside each other into the folder; tells where. Raises InputError."""
        # Loaded with the first document: most sessions write none.
        from recommender.drawing.documents.document_markdown import document_markdown
        from recommender.drawing.documents.document_pdf import document_pdf

        name, folder = quote.name.replace(".", "-"), self.app.files.folder
        kinds: list[tuple[str, str, Callable[[], bytes]]] = [
            (f"quote-{name}", "pdf", lambda: document_pdf(quote.document)),
            (f"quote-{name}", "md", lambda: document_markdown(quote.document).encode()),
            (f"care-{name}", "pdf", lambda: document_pdf(quote.care)),
        ]
        paths = []
        for stem, ending, write in kinds:
            path = free(folder, stem, ending)
            write_whole(path, write())
            paths.append(path.name)
        return f"Wrote {', '.join(paths)} to {folder}"

    def _revise(self, quote: Quote, entry: Entry) -> None:
        """Fill form and order from a quote; saving makes its next revision."""
        texts = {name: str(value) for name, value in quote.order.model_dump().items() if value not in (None, "")}
        try:
            customers = frozenset(quote_book().customers(entry.number))
        except BevelwrightError as error:
            self.app.say(str(error))
            return
        self.app.form.fill(values_of(quote.brief), OrderInHand(texts, entry.number, customers))
        self.app.action_show_tab("price")
