"""From an answer to steel and money: set-up sheet, price, quote, quote book."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from recommender.engine.answer import tried_blade
from recommender.errors import GeometryError, InputError, PluginError
from recommender.models.answer.proposal import Answer
from recommender.models.brief import Brief
from recommender.service.briefs import Briefs
from recommender.service.drawings import Drawings
from recommender.service.loaded import Loaded

if TYPE_CHECKING:  # what only some commands need is imported by them
    from recommender.models.workshop.book import Damaged, Difference, Fitted, Kept
    from recommender.models.workshop.quote import Order, Price, Quote
    from recommender.models.workshop.shop import Shop
    from recommender.models.workshop.worksheet import Worksheet
    from recommender.shop.quotes.quote_book import Book
    from recommender.shop.quotes.quote_exchange import ExportedQuotes


@dataclass(frozen=True)
class WorkshopPapers:
    """Writes what a maker works and charges by."""

    loaded: Loaded
    briefs: Briefs
    drawings: Drawings

    def shop(self, file: str | None = None) -> Shop:
        """The shop of a file, else the maker's own, else as shipped. Raises InputError, located."""
        from recommender.shop.rates.shop_file import read_shop

        return read_shop(file)

    def shop_file(self, file: str | None = None) -> str:
        """What a shop is read from, in words."""
        from recommender.shop.rates.shop_file import shop_file

        return shop_file(file)

    def new_shop(self, file: Path | None = None) -> Path:
        """Write a shop's file to fill in, where the maker's own is looked for unless a place is given; gives its path.

        Raises InputError where there is one already.
        """
        from recommender.shop.rates.shop_file import new_shop, own_file

        path = own_file() if file is None else file
        new_shop(path)
        return path

    def fitted_rates(self, shop: Shop, book: Book, times: str | None = None) -> list[Fitted]:
        """Rates that follow from the times noted in a quote book, and from those of a CSV file. Raises InputError."""
        from recommender.shop.rates.calibration import fits, noted, read_times

        return fits(noted(book) + ([] if times is None else read_times(times, shop)), shop)

    def book(self, file: str | None = None) -> Book:
        """The quote book of a file, else the user's own; it is opened when it is used."""
        from recommender.shop.quotes.quote_book import Book

        return Book(None if file is None else Path(file))

    def listed(self, kept: Kept) -> dict[str, Any]:
        """A quote of a book as it was stored, with its status."""
        from recommender.shop.quotes.quote_exchange import listed

        return listed(kept)

    def whole_book(self, kept: Sequence[Kept], damaged: Sequence[Damaged]) -> dict[str, Any]:
        """Everything that a quote book holds, to be taken into another, and the names of what is damaged."""
        from recommender.shop.quotes.quote_exchange import whole_data

        return whole_data(kept, damaged)

    def exported_quotes(self, file: str) -> ExportedQuotes:
        """The quotes of a file that a quote book was exported to. Raises InputError."""
        from recommender.shop.quotes.quote_exchange import read_quotes

        return read_quotes(file)

    def order(self, given: Mapping[str, object]) -> Order:
        """An order with the values given. Raises InputError."""
        from recommender.models.workshop.quote import Order
        from recommender.packs.located import validated

        order: Order = validated(Order, dict(given), "the order")
        return order

    def worksheet(self, brief: Brief, answer: Answer, shop: Shop, order: Order | None = None) -> Worksheet:
        """The set-up sheet of an answer to a brief, in a shop, with what is ordered besides the blade.

        Raises GeometryError for a blade without a form, InputError for what the shop does not have.
        """
        from recommender.models.workshop.quote import Order
        from recommender.shop.set_up_sheet import worksheet

        return worksheet(self.briefs.case(brief), answer, shop, self.loaded.title(answer), order or Order())

    def price(self, answer: Answer, order: Order, shop: Shop) -> Price:
        """What an answer's proposal costs, and each alternative. Raises InputError for what the shop does not have."""
        from recommender.shop.price.pricing import price

        assert answer.proposal is not None
        blades = [
            (answer.proposal, tried_blade.followed_blade(self.loaded.grinds[answer.proposal.grind], answer.proposal))
        ]
        for other in answer.alternatives:
            if other.proposal is not None:
                with suppress(GeometryError, PluginError):
                    blades.append(
                        (other.proposal, tried_blade.followed_blade(self.loaded.grinds[other.grind], other.proposal))
                    )
        return price(blades, str(answer.brief.steel.grade), order, shop)

    def quote(
        self, brief: Brief, answer: Answer, order: Order, shop: Shop, day: date, *, inches: bool = False
    ) -> Callable[[int, int], Quote]:
        """A quote of an answer to a brief, once it gets its number and revision, with the customer's documents.

        Raises InputError for what the shop does not have.
        """
        from recommender.drawing.documents.picture import picture_of
        from recommender.drawing.documents.quote_document import Names, QuoteHead, care_document, quote_document
        from recommender.models.workshop.quote import Quote, named

        resolved, price, life = (
            self.briefs.resolve(brief),
            self.price(answer, order, shop),
            self.briefs.life_of(answer, brief),
        )
        assert answer.proposal is not None
        grind = self.loaded.grinds[answer.proposal.grind]
        names = Names(
            tasks=tuple(load.task.label for load in resolved.tasks),
            steel=resolved.steel.label,
            gear=tuple(gear.label for gear in resolved.gear),
            ordered=_ordered(order, shop),
            about=grind.about,
            sharpened=grind.sharpened,
        )
        side, heel = self.drawings.sheet(answer, inches=inches).pages[0].views[:2]
        pictures = [picture_of(side, "The blade from its side"), picture_of(heel, "Its section at the heel")]
        valid_until = day + timedelta(days=shop.business.valid_days)

        def numbered(number: int, revision: int) -> Quote:
            head = QuoteHead(named(number, revision), day, valid_until, order, shop.business)
            return Quote(
                number=number,
                revision=revision,
                made=day,
                valid_until=valid_until,
                order=order,
                title=self.loaded.title(answer),
                brief=brief,
                answer=answer,
                shop=shop,
                price=price,
                document=quote_document(head, answer, price, names, pictures, inches=inches),
                care=care_document(head, answer, life, names, inches=inches),
            )

        return numbered

    def papers(self, brief: Brief, answer: Answer) -> dict[str, str]:
        """The words of everything that shows the dimensions of a proposal, in the shop as shipped.

        Answer, drawing, set-up sheet and quote. Raises GeometryError for a blade without a form.
        """
        from recommender.drawing.documents.document_markdown import document_markdown
        from recommender.drawing.text.answer.answer_text import answer_text
        from recommender.drawing.text.workshop.worksheet_text import worksheet_text
        from recommender.models.workshop.quote import UNSAVED, Order
        from recommender.models.workshop.sheet import Label
        from recommender.shop.rates.shop_file import SHIPPED, shipped, shop_of

        shop = shop_of(shipped(), SHIPPED)
        outline = self.drawings.outline_of(answer)
        on_paper = (item for page in self.drawings.sheet(answer).pages for item in page.on_paper())
        quote = self.quote(brief, answer, Order(), shop, date(2000, 1, 1))(UNSAVED, 1)
        return {
            "answer": answer_text(answer, outline, audience="maker"),
            "drawing": "\n".join(item.text for item in on_paper if isinstance(item, Label)),
            "set-up sheet": worksheet_text(self.worksheet(brief, answer, shop)),
            "quote": document_markdown(quote.document),
        }

    def fresh(self, quote: Quote, shop: Shop) -> list[Difference]:
        """What asking a quoted brief again would change, with the rules and plug-ins loaded and a shop's rates."""
        from recommender.models.workshop.book import Difference
        from recommender.shop.quotes.requote import differences

        answer = self.briefs.recommend(quote.brief, f"quote {quote.name}", flips=False)
        try:
            price = None if answer.proposal is None else self.price(answer, quote.order, shop)
        except InputError as cause:
            return [*differences(quote, answer, None), Difference("price", str(quote.price.total), f"none: {cause}")]
        return differences(quote, answer, price)


def _ordered(order: Order, shop: Shop) -> tuple[tuple[str, str], ...]:
    """What an order has besides the blade, as the shop calls it."""
    from recommender.shop.price.pricing import ordered

    kinds = zip(("Finish", "Handle", "Sheath", "Sent"), ordered(order, shop), strict=True)
    return tuple((what, offer.label) for what, offer in kinds if offer is not None)
