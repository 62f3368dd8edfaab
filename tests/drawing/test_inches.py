"""Who asks for inches reads no millimetre in any sentence, on any paper; fields of a brief keep the names they have."""

from __future__ import annotations

import re
from datetime import date

import pytest

from recommender.drawing.documents.document_markdown import document_markdown
from recommender.drawing.lengths import Lengths
from recommender.drawing.text.answer.answer_text import answer_text
from recommender.drawing.text.answer.life_text import life_text
from recommender.drawing.text.workshop.worksheet_text import worksheet_text
from recommender.models.brief import Brief
from recommender.models.workshop.quote import Order
from recommender.service import Service, with_settings

METRIC = re.compile(r"(?<![_\w])mm(?!\w)|mm[²³⁴]|millimet|centimet")
BRIEFS = {
    "hunter": ["tasks.game-dressing=0.7", "tasks.pocket-carry=0.3", "workshop.wheels_mm=50,100"],
    "froe": ["tasks.wood-splitting=1", "blade.length_mm=250", "wishes.grind=saber-hollow"],
    "slicer": ["tasks.fine-slicing=0.6", "tasks.fish-filleting=0.4", "steel.grade=1.4116"],
}


@pytest.mark.parametrize("name", BRIEFS)
def test_no_sentence_speaks_of_millimetres(name: str, service: Service) -> None:
    brief = with_settings(Brief(), BRIEFS[name])
    answer = service.recommend(brief, name)
    assert answer.proposal is not None
    shop = service.workshop.shop(None)
    quote = service.workshop.quote(brief, answer, Order(), shop, date(2026, 1, 1), inches=True)(1, 1)
    outline = service.drawings.outline_of(answer)
    papers = {
        "buyer's answer": answer_text(answer, outline, audience="buyer", inches=True),
        "maker's answer": answer_text(answer, outline, audience="maker", inches=True),
        "life": life_text(service.briefs.life_of(answer, brief), inches=True),
        "set-up sheet": worksheet_text(service.workshop.worksheet(brief, answer, shop), inches=True),
        "quote": document_markdown(quote.document),
        "care": document_markdown(quote.care),
    }
    found = [(paper, line) for paper, text in papers.items() for line in text.splitlines() if METRIC.search(line)]
    assert found == []


def test_every_text_of_a_rule_can_be_said_in_inches(service: Service) -> None:
    """A length in words, such as half a millimetre, could not."""
    for id_, loaded in service.knowledge.rules.items():
        texts = [loaded.rule.title, loaded.rule.because, getattr(loaded.rule.effect, "text", "")]
        assert not METRIC.search(Lengths(inches=True).prose(" ".join(texts))), id_


@pytest.mark.parametrize(
    ("metric", "inches"),
    [
        # 1 in = 25.4 mm exactly (NIST SP 811, B.8); the rest by hand.
        ("25.4 mm", "1 in"),
        ("a 300 mm wheel", "a 11.8 in wheel"),
        ("between 4 and 7.5 mm", "between 0.157 and 0.295 in"),
        ("1 x 2 x 3 mm", "0.0394 x 0.0787 x 0.118 in"),
        ("1,270 mm", "50 in"),
        ("10 N/mm", "254 N/in"),
        ("2 g/mm", "50.8 g/in"),
        ("645.16 mm²", "1 in²"),
        ("16387.064 mm³ of steel", "1 in³ of steel"),
        ("416231.4 mm⁴", "1 in⁴"),
        ("645.16 mm³ per mm of edge", "1 in³ per inch of edge"),
        ("the work rest within 3 mm (1/8 in) of the wheel", "the work rest within 1/8 in of the wheel"),
        ("80 mm²/min", "80 mm²/min"),
        ("blade.height_mm = 30", "blade.height_mm = 30"),
        ("P120 mm", "P120 mm"),
    ],
)
def test_lengths_in_prose(metric: str, inches: str) -> None:
    assert Lengths(inches=True).prose(metric) == inches
    assert Lengths().prose(metric) == metric
