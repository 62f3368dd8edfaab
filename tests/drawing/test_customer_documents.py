"""The customer's documents: paper sizes, what they must hold, hostile text shown literally, same bytes twice.

Source: ISO 216 (A4 210 x 297 mm) and ANSI/ASME Y14.1 (Letter 8.5 x 11 in); pypdf reads the PDFs back; markdown-it-py
renders the Markdown as CommonMark with pipe tables does.
"""

from __future__ import annotations

import io
import re
from datetime import date

import pytest
from markdown_it import MarkdownIt
from pypdf import PdfReader

from recommender.drawing.documents.document_markdown import document_markdown
from recommender.drawing.documents.document_pdf import SCALES, document_pdf
from recommender.drawing.text.answer.words_text import for_audience
from recommender.models.workshop.document import Bullets, Document, Heading, Paragraph, Table
from recommender.models.workshop.quote import Order

DAY = date(2026, 3, 1)
HOSTILE = [
    "<script>alert(1)</script>",
    "<b>bold</b> & &amp; &#35;",
    "[click](http://example.org)",
    "![image](http://example.org/x.png)",
    "<http://example.org>",
    "| a | b |",
    "a | b \\| c",
    "**bold** __bold__ *a* _b_ `code` ~~gone~~",
    "# heading",
    "1. one",
    "- two",
    "+ three",
    "> quoted",
    "---",
    "```",
    "    indented",
    "trailing\\",
    "two\nlines\n\n# and a heading",
    "\\[x\\](y)",
    "[ref]: http://example.org",
    "=====",
]


def both_angles(per_side: float, included: float) -> str:
    """As the charter wants an edge said; where one face alone is ground, so much is said too."""
    return f"{per_side:g}° per side{' (one side only)' if per_side == included else ''}, {included:g}° included"


@pytest.fixture(scope="module")
def quoted(service, answered, shop):
    """A quote of a scenario: `quoted("left-handed-hunter", customer=...)`."""

    def build(name: str = "left-handed-hunter", terms: tuple[str, ...] | None = None, **order):
        business = shop.business if terms is None else shop.business.model_copy(update={"terms": terms})
        scenario, where = answered[name], shop.model_copy(update={"business": business})
        return service.workshop.quote(scenario.brief, scenario.answer, Order(**order), where, DAY)(12, 2)

    return build


def test_a_care_sheet_gives_no_advice_on_choosing(quoted, answered) -> None:
    """The blade is there: which side to order, or whether to have two blades instead, is decided."""
    quote = quoted("conservator-lifting-knife")
    advice = for_audience(answered["conservator-lifting-knife"].answer.advice, "buyer")
    assert {word.id for word in advice if word.choosing} == {"two-blades", "one-sided-right"}
    care = pdf_text(quote.care)
    for word in advice:
        assert (squeezed(word.text) in care) is not word.choosing, word.id


def pdf_text(document: Document, paper="a4") -> str:
    pages = PdfReader(io.BytesIO(document_pdf(document, paper))).pages
    return squeezed(" ".join(page.extract_text() for page in pages))


def squeezed(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize(("paper", "size"), [("a4", (210 / 25.4 * 72, 297 / 25.4 * 72)), ("letter", (612, 792))])
def test_paper(quoted, paper: str, size: tuple[float, float]) -> None:
    quote = quoted()
    for document in (quote.document, quote.care):
        for page in PdfReader(io.BytesIO(document_pdf(document, paper))).pages:
            assert float(page.mediabox.width) == pytest.approx(size[0], abs=0.01)
            assert float(page.mediabox.height) == pytest.approx(size[1], abs=0.01)


def test_what_a_quote_must_hold(quoted, answered) -> None:
    for name in ("left-handed-hunter", "left-handed-saddler", "wheels-only-skinner", "guide-prying-tip"):
        quote = quoted(name, customer="Jan Nowák", handle="laminate", shipping="parcel")
        answer, p = answered[name].answer, answered[name].proposal
        told = {"pdf": pdf_text(quote.document), "md": plain(document_markdown(quote.document))}
        for kind, text in told.items():
            wanted = [
                "Quote 12.2",
                p.grind_label,
                both_angles(p.edge_angle_per_side_deg, p.edge_angle_included_deg),
                f"{quote.price.total:,.2f}",
                f"{quote.price.net:,.2f}",
                quote.price.currency,
                "2026-03-01",
                "2026-03-31",
                "Jan Nowák",
                "never licence a load",
                "Local law",
                *quote.shop.business.terms,
                *(word.short for word in for_audience(answer.cautions, "buyer") if word.short),
                "in full",
                "care sheet 12.2",
            ]
            for words in wanted:
                assert squeezed(words) in text, (name, kind, words)
        care = pdf_text(quote.care)
        for word in for_audience(answer.cautions, "buyer"):
            assert squeezed(word.text) in care
        assert both_angles(p.edge_angle_per_side_deg, p.edge_angle_included_deg) in care


@pytest.mark.parametrize(("paper", "every"), [("letter", 1), ("a4", 3), pytest.param("a4", 1, marks=pytest.mark.long)])
def test_a_quote_is_two_pages_at_most(service, answered, shop, paper: str, every: int) -> None:
    """Of every scenario, with everything ordered and with nothing, its words all there and not set below 8 points.

    Letter is the shorter page: on A4 some of them tell.
    """
    assert 10 * min(SCALES) >= 8, "of the 10 that text is set in"
    orders = (
        Order(),
        Order(pieces=3, handle="laminate", sheath="leather", shipping="parcel", customer="Ann Lee", reference="7"),
    )
    most = 0
    for place, (name, scenario) in enumerate(list(answered.items())[::every]):
        make = service.workshop.quote
        quote = make(scenario.brief, scenario.answer, orders[1], shop, DAY, inches=place % 2 == 1)(12, 2)
        least = make(scenario.brief, scenario.answer, orders[0], shop, DAY)(12, 2)
        for document in (quote.document, quote.care, least.document):
            pages = PdfReader(io.BytesIO(document_pdf(document, paper))).pages
            assert len(pages) <= 2, (name, document.title)
        text = pdf_text(quote.document, paper)
        guards = [word for word in for_audience(scenario.answer.cautions, "buyer") if word.short]
        most = max(most, len(guards))
        for word in guards:
            assert squeezed(word.short) in text, (name, word.id)
    assert most >= 10, "some scenario has a long list"


def test_what_is_longer_than_two_pages_is_not_cut(quoted) -> None:
    quote = quoted(terms=("A term of the shop's. " * 60,) * 20)
    text = pdf_text(quote.document)
    assert text.count("term ") == 60 * 20
    assert len(PdfReader(io.BytesIO(document_pdf(quote.document))).pages) > 2


def test_the_customer_reads_no_maker_s_detail(service, answered, shop) -> None:
    """Neither rules nor points nor rates; what is included and what is not, and the deposit, in words."""
    for name, scenario in answered.items():
        quote = service.workshop.quote(scenario.brief, scenario.answer, Order(), shop, DAY)(12, 2)
        text = plain(document_markdown(quote.document))
        for rule in {reason.rule for reason in scenario.answer.reasons} | {w.id for w in scenario.answer.cautions}:
            assert rule not in text, (name, rule)
        assert "of 100" not in text
        assert str(shop.business.labour_per_hour) not in text
        assert "Not included: a handle; a sheath; sending it to you; anything else" in text
        rest = quote.price.total - quote.price.deposit
        assert f"Deposit on order: {quote.price.deposit:,.2f} EUR; then {rest:,.2f} EUR are left to pay." in text


def test_what_is_ordered_is_said_to_be_included(quoted) -> None:
    text = plain(document_markdown(quoted(handle="laminate", sheath="leather", shipping="parcel").document))
    assert (
        "Included: the blade of the steel named, ground, hardened, finished and sharpened; fibre laminate scales; "
        "stitched leather sheath; insured parcel; sales tax." in text
    )
    assert "Not included: anything else that is not named here." in text


def test_shares_on_paper_add_to_the_net_price(quoted) -> None:
    quote = quoted(handle="laminate", sheath="leather", shipping="parcel", pieces=3)
    table = next(b for b in quote.document.blocks if isinstance(b, Table) and b.figures)
    cents = [round(float(row[1].replace(",", "")) * 100) for row in table.rows]
    before = [row[0] for row in table.rows].index("Before tax")
    assert sum(cents[:before]) == cents[before]
    assert cents[before] + cents[before + 1] == cents[before + 2]
    named = {row[0]: amount for row, amount in zip(table.rows, cents, strict=True)}
    assert table.rows[before + 2][0] == "Total in EUR"
    assert named["Deposit on order, 50 %"] + named["Rest"] == named["Total in EUR"]
    assert abs(2 * named["Deposit on order, 50 %"] - named["Total in EUR"]) <= 1


def test_same_bytes_twice(quoted) -> None:
    quote = quoted(customer="A")
    again = type(quote).model_validate_json(quote.model_dump_json())
    for document, other in ((quote.document, again.document), (quote.care, again.care)):
        assert document_pdf(document) == document_pdf(other)
        assert document_markdown(document) == document_markdown(other)


def rendered(markdown: str) -> str:
    return MarkdownIt("commonmark", {"html": True}).enable(["table", "strikethrough"]).render(markdown)


def plain(markdown: str) -> str:
    """What a reader sees of it, on one line."""
    from html import unescape

    return squeezed(unescape(re.sub(r"<[^>]+>", " ", rendered(markdown))))


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_is_shown_literally_in_markdown(text: str) -> None:
    """In every kind of block: nothing but the block's own tags comes out, and the text is all there."""
    document = Document(
        title="t",
        foot=text,
        blocks=(
            Heading(text=text, level=1),
            Paragraph(text=text),
            Bullets(items=(text, "after")),
            Table(rows=(("name", text), (text, "1.00")), totals=1, figures=True),
        ),
    )
    html = rendered(document_markdown(document))
    tags = re.findall(r"</?([a-zA-Z0-9]+)", html)
    allowed = {"h1", "p", "ul", "li", "table", "thead", "tbody", "tr", "th", "td", "strong", "hr"}
    assert set(tags) <= allowed, html
    assert (tags.count("h1"), tags.count("table"), tags.count("li")) == (2, 2, 4)
    assert (html.count("<hr"), html.count("<tr>"), html.count("<td")) == (1, 3, 4)
    assert tags.count("strong") in (2, 4)
    seen = plain(document_markdown(document))
    assert seen.count(squeezed(text)) == 6, seen


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_is_shown_literally_in_pdf(text: str) -> None:
    document = Document(title=text, foot="foot", blocks=(Paragraph(text=text), Table(rows=(("name", text),))))
    seen = pdf_text(document)
    assert seen.replace(" ", "").count(text.replace("\n", "").replace(" ", "")) == 2, seen


def test_hostile_orders_all_the_way(quoted) -> None:
    text = "<img src=x> [a](b) | c \x1b[31m\u202e **d**"
    quote = quoted(customer=text, reference=text, terms=(text, "plain"))
    for document in (quote.document, quote.care):
        html = rendered(document_markdown(document))
        assert "<img" not in html
        assert "<a " not in html
        assert "\x1b" not in document_markdown(document)
        assert "\u202e" not in document_markdown(document)
        assert "\x1b" not in pdf_text(document)
        document_pdf(document)


def test_long_text_and_empty_terms(quoted) -> None:
    long = "word " * 390
    quote = quoted(terms=(long, "Ж" * 1990), customer="N" * 200, reference="R " * 100)
    text = pdf_text(quote.document)
    assert text.replace(" ", "").count("word") >= 390
    assert text.count("Ж") == 1990, "over two pages, with a foot between"
    assert text.replace(" ", "").count("N" * 200) == 1
    empty = quoted(terms=())
    assert "This quote holds until 2026-03-31." in pdf_text(empty.document)
    assert "Terms" in document_markdown(empty.document)


def test_the_foot_does_not_run_into_the_page_number(quoted, service, answered, shop) -> None:
    """A name of 200 letters: the last letter of the foot ends before "page" begins."""
    business = shop.business.model_copy(update={"name": "M" * 200})
    scenario = answered["left-handed-hunter"]
    where = shop.model_copy(update={"business": business})
    quote = service.workshop.quote(scenario.brief, scenario.answer, Order(), where, DAY)(1, 1)
    found: list[tuple[str, float, float]] = []

    def visit(text, cm, tm, font, size) -> None:
        if text.strip():
            found.append((text.strip(), tm[4], size))

    PdfReader(io.BytesIO(document_pdf(quote.document))).pages[0].extract_text(visitor_text=visit)
    from recommender.drawing.pdf_font import text_width_mm

    foot = next(f for f in found if f[0].startswith("MMM") and f[2] == 8)
    number = next(f for f in found if f[0] == "page 1")
    assert foot[1] + text_width_mm(foot[0], 8) < number[1]  # points here: the size was given in points
