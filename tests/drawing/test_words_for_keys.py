"""No key of a file or a model is printed or drawn where a person reads a price or a document.

Source: `shop.toml` as shipped, whose keys these are; Python's own rule of what an identifier is.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from datetime import date
from decimal import Decimal

import pytest
from pypdf import PdfReader

from recommender.drawing.documents.document_markdown import document_markdown
from recommender.drawing.documents.document_pdf import document_pdf
from recommender.drawing.text.workshop.price_text import price_text
from recommender.drawing.text.workshop.quote_book_text import differences_text, quote_text
from recommender.drawing.text.workshop.worksheet_text import worksheet_text
from recommender.models.workshop.book import Entry, Event
from recommender.models.workshop.quote import Line, Order, Quote
from recommender.models.workshop.rate_words import RATES, in_words, rate_words
from recommender.models.workshop.shop import Shop
from recommender.packs.facts import FACTS
from recommender.shop.quotes import requote
from recommender.shop.rates.calibration import rates_of

KEY = re.compile(r"\w*[a-z0-9]\\?_[a-z0-9]\w*", re.IGNORECASE)
"""As a model or a file spells it; Markdown escapes the line."""
DAY = date(2026, 3, 1)
EVERYTHING = Order(
    pieces=3, finish="hand-rubbed", handle="laminate", sheath="leather", shipping="parcel", customer="Ann Lee"
)


def sheet_words(service, answer) -> str:
    """Every word on a workshop drawing."""
    data = service.drawings.document(answer, "pdf")
    return " ".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages)


def papers(service, scenario, shop: Shop, order: Order) -> Iterator[tuple[str, str]]:
    quote = service.workshop.quote(scenario.brief, scenario.answer, order, shop, DAY)(12, 2)
    entry = Entry(12, 2, "2026-03-01", "2026-03-31", "draft", "Ann Lee", "", quote.title, "convex", "EUR", "1.00")
    yield "price", price_text(quote.price, quote.title)
    yield "book show", quote_text(quote, entry, [Event("2026-03-01", "draft")])
    yield "set-up sheet", worksheet_text(service.workshop.worksheet(scenario.brief, scenario.answer, shop, order))
    yield "drawing", sheet_words(service, scenario.answer)
    for name, document in (("quote", quote.document), ("care sheet", quote.care)):
        yield f"{name}, Markdown", document_markdown(document)
        pages = PdfReader(io.BytesIO(document_pdf(document))).pages
        yield f"{name}, PDF", " ".join(page.extract_text() for page in pages)


def test_no_key_stands_in_any_paper_of_any_scenario(service, answered, shop) -> None:
    one_wheel = shop.model_copy(update={"equipment": shop.equipment.model_copy(update={"wheels_mm": (77.0,)})})
    looked_at = 0
    for place, (name, scenario) in enumerate(answered.items()):
        where, order = ((shop, EVERYTHING), (one_wheel, Order()))[place % 2]
        for paper, text in papers(service, scenario, where, order):
            assert KEY.findall(text) == [], (name, paper)
            looked_at += len(text)
    assert looked_at > 1000 * len(answered)


@pytest.mark.parametrize("key", ["labour_per_hour", "distal\\_taper\\_mm\\_per\\_mm", "business.x_percent"])
def test_a_key_would_be_found(key: str) -> None:
    assert KEY.search(f"by the {key}: 3")


def keys_of(data: object, path: tuple[str, ...] = ()) -> Iterator[str]:
    """Where everything in a shop stands: parts that have an id under it, others of a list by their place."""
    if isinstance(data, dict):
        for name, value in data.items():
            yield from keys_of(value, (*path, name))
    elif isinstance(data, list) and data and isinstance(data[0], dict):
        for place, value in enumerate(data):
            yield from keys_of(value, (*path, value.get("id", str(place))))
    yield ".".join(path)


def test_every_rate_has_words_and_every_word_a_rate(service, answered, shop) -> None:
    there = set(keys_of(shop.model_dump(mode="json")))
    for key in RATES:
        pattern = re.compile(re.escape(key).replace(r"\*", ".+"))
        assert any(pattern.fullmatch(known) for known in there), key
    used = set(rates_of(shop))
    for scenario in answered.values():
        price = service.workshop.price(scenario.answer, EVERYTHING, shop)
        used |= {line.rate_from for line in price.lines} | {work.rate_from for work in price.work}
    for key in used:
        (known,) = [rate for rate in RATES if re.fullmatch(re.escape(rate).replace(r"\*", ".+"), key)]
        assert rate_words(key).startswith(RATES[known].partition("{")[0])
    assert len({rate_words(key) for key in used}) == len(used), "no two are called alike"


def test_quotes_of_earlier_versions_are_told_in_words(service, answered, shop) -> None:
    """As version 0.1 stored them: see tests/fixtures."""
    then = "5 min to set up, 13.4 min a blade: 107 mm of edge, both sides at edge.mm_per_min"
    assert in_words(then).endswith("both sides at rate of sharpening")
    assert in_words("80 min each: handles.oiled-wood.minutes") == "80 min each: time for the handle oiled-wood"
    assert in_words("steel 1.4116, P120.") == "steel 1.4116, P120."
    scenario = answered["left-handed-hunter"]
    price = service.workshop.price(scenario.answer, Order(), shop)
    line: Line = price.lines[0].model_copy(
        update={"rate_from": "business.labour_per_hour", "how": then, "amount": Decimal(1)}
    )
    told = price_text(price.model_copy(update={"lines": (line,)}), "An old one")
    assert "labour per hour: 5 min to set up" in told
    assert KEY.findall(told) == []


def test_a_comparison_is_in_the_words_of_the_facts(service, answered, shop) -> None:
    scenario = answered["left-handed-hunter"]
    quote: Quote = service.workshop.quote(scenario.brief, scenario.answer, Order(), shop, DAY)(1, 1)
    p = scenario.proposal
    other = p.model_copy(
        update={
            "distal_taper": 0.001,
            "edge_thickness_mm": 9.0,
            "blade_length_mm": 1.0,
            "blade_height_mm": 1.0,
            "tip": "clip",
            "wheel_diameter_mm": 10.0,
            "micro_bevel_per_side_deg": 44.0,
            "parameters": {**p.parameters, "odd_knob_mm": next(iter(p.parameters.values()))},
        }
    )
    found = requote.differences(quote, scenario.answer.model_copy(update={"proposal": other}), quote.price)
    labels = {difference.label for difference in found}
    assert {"distal taper, mm/mm", "thickness behind the edge, mm", "blade height, mm", "contact wheel, mm"} <= labels
    assert KEY.findall(differences_text("1", found)) == []
    assert set(requote._DIMENSIONS.values()) <= set(FACTS)
    assert all(hasattr(p, name) for name in requote._DIMENSIONS)
