"""Cautions and advice for a buyer or a maker."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from recommender.drawing.text.text_page import TextPage
from recommender.models.answer.proposal import Words
from recommender.text import clean

Audience = Literal["buyer", "maker"]


def cautions_part(page: TextPage, cautions: Sequence[Words], audience: Audience) -> None:
    """Add all cautions: those of this blade first, the others by topic (the first word of a rule's id)."""
    words = for_audience(cautions, audience)
    specific = [w for w in words if w.specific]
    if specific:
        page.heading("Take care with this one")
        for word in specific:
            page.line(_with_rule(word), "  - ", "    ")
    topics: dict[str, list[str]] = {}
    for word in (w for w in words if not w.specific):
        topics.setdefault(word.id.split("-")[0], []).append(_with_rule(word))
    if topics:
        page.heading("Take care with any such blade")
        for topic, texts in topics.items():
            page.line(topic.capitalize(), "  ")
            for text in texts:
                page.line(text, "  - ", "    ")


def advice_part(page: TextPage, advice: Sequence[Words], audience: Audience) -> None:
    """Add advice."""
    words = for_audience(advice, audience)
    if words:
        page.heading("Worth knowing")
        for word in words:
            page.line(_with_rule(word), "  - ", "    ")


def rule_name(rule: str, pack: str) -> str:
    """What `rules show` finds a rule by, with its pack; answers of earlier versions do not know that."""
    return clean(f"rule {rule} of {pack}" if pack else f"rule {rule}", one_line=True)


def _with_rule(word: Words) -> str:
    return f"{clean(word.text, one_line=True)} [{rule_name(word.id, word.pack)}]"


def for_audience(words: Sequence[Words], audience: Audience) -> list[Words]:
    """Those words that a buyer or a maker gets."""
    return [w for w in words if w.audience in ("everyone", audience)]
