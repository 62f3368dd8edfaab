"""The quote book as text: its list, one quote, and what a fresh run would change."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from recommender.drawing.text.answer.answer_text import headline
from recommender.drawing.text.text_page import TextPage
from recommender.drawing.text.workshop.price_text import price_part
from recommender.models.answer.proposal import Answer
from recommender.models.workshop.book import Difference, Entry, Event
from recommender.models.workshop.quote import Quote
from recommender.text import clean, plural
from recommender.units import Unit, show

TOLD_REASONS = 5
TOLD_GRINDS = 3


def entries_text(entries: Sequence[Entry], *, width: int = 80, sought: bool = False) -> str:
    """Write the list of quotes."""
    page = TextPage(width)
    if not entries:
        page.line(
            "No quote holds that." if sought else "No quote yet. `bevelwright quote BRIEF.toml --save` puts one in."
        )
        return page.text()
    room = max(10, page.width - 53)
    for name, entry in zip(names_of(entries), entries, strict=True):
        total = f"{Decimal(entry.total):,} {entry.currency}"
        who = ", ".join(part for part in (entry.customer, entry.reference) if part) or "nobody named"
        page.spread(f"{name:<6} {entry.status:<10} {entry.made}  {_clipped(who, room)}", total)
        about = f"{entry.grind}: {entry.title}" if entry.title else entry.grind
        page.line(f"{about} (printed as {entry.printed})" if entry.printed else about, "         ", "         ")
    page.line(f"{plural(len(entries), 'quote')}.")
    return page.text()


def names_of(entries: Sequence[Entry]) -> list[str]:
    """What each is called in a list: with its revision where there are several."""
    several = {entry.number for entry in entries if entry.revision > 1}
    return [f"{e.number}.{e.revision}" if e.number in several else e.name for e in entries]


def _clipped(text: str, room: int) -> str:
    return text if len(text) <= room else text[: room - 1] + "…"


def quote_text(quote: Quote, entry: Entry, history: Sequence[Event], *, width: int = 80) -> str:
    """Write one quote as its maker reads it."""
    page, order, answer = TextPage(width), quote.order, quote.answer
    page.line(f"Quote {entry.name}: {entry.status}, valid until {quote.valid_until.isoformat()}")
    if entry.printed:
        page.line(f"Its documents call it {entry.printed}: it came from another book.")
    page.gap()
    page.row("customer", order.customer or "nobody named")
    if order.reference:
        page.row("reference", order.reference)
    page.row("brief", quote.title)
    if answer.proposal is not None:
        page.row("blade", "; ".join(headline(answer, answer.proposal)))
    versions = ", ".join(f"{name} {version}" for name, version in answer.provenance.packs.items())
    page.row("made with", f"Bevelwright {answer.provenance.version}, rules: {versions}")
    page.row("became", ", ".join(f"{event.status} {event.day}" for event in history))
    page.gap()
    price_part(page, quote.price)
    _weighed(page, answer)
    return page.text()


def _weighed(page: TextPage, answer: Answer) -> None:
    """Add what the customer's document leaves out: rules with their points, other grinds, and the bands of figures."""
    if answer.points is None:
        return
    page.heading(f"Why: {answer.points.total:.1f} of 100 points")
    for reason in answer.reasons[:TOLD_REASONS]:
        page.line(f"{reason.title} ({reason.rule}): {reason.points:+.1f}", "  - ", "    ")
    for other in answer.alternatives[:TOLD_GRINDS]:
        if other.points is not None:
            page.row(other.grind_label, f"{other.points:.1f} points")
    wanted = dict.fromkeys(r.metric for r in answer.reasons[:TOLD_REASONS] if r.metric is not None)
    estimates = [m for m in (answer.metrics[name] for name in wanted if name in answer.metrics) if m.estimate]
    for metric in estimates:
        if metric.value is not None and metric.low is not None and metric.high is not None:
            band = f"{show(metric.low, Unit.NONE)} to {show(metric.high, Unit.NONE)}"
            page.row(metric.label, f"~ {show(metric.value, Unit(metric.unit))} ({band})")


def passed_over_text(keys: Sequence[str]) -> str:
    """Say in one line what a quote of a later version asks that this one does not know; empty where it knows all."""
    if not keys:
        return ""
    return clean(f"A later version made this quote; not asked again here: {' and '.join(keys)}.", one_line=True)


def differences_text(name: str, found: Sequence[Difference], *, width: int = 80) -> str:
    """Write what asking again today would change."""
    page = TextPage(width)
    if not found:
        page.line(f"Asked again today, quote {name} comes out the same.")
        return page.text()
    page.line(f"Asked again today, quote {name} would have other figures (the quote itself stays as it is):")
    for difference in found:
        page.line(f"{difference.label}: {difference.then} then, {difference.now} now", "  - ", "    ")
    return page.text()
