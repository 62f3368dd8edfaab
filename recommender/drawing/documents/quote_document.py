"""The quote and the care sheet in plain words, as documents for somebody who knows nothing about grinds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from recommender import __version__
from recommender.drawing.lengths import Lengths, angle
from recommender.drawing.text.answer.form_text import form_words
from recommender.drawing.text.answer.life_text import life_facts
from recommender.drawing.text.answer.parameters_text import parameter_rows
from recommender.drawing.text.answer.words_text import for_audience
from recommender.models.answer.proposal import EQUAL_POINTS, POOR_FIT, Answer, MetricValue, Proposal, Words
from recommender.models.answer.sharpening_life import Life
from recommender.models.workshop.document import Block, Bullets, Document, Heading, Paragraph, Picture, Table
from recommender.models.workshop.quote import Order, Price
from recommender.models.workshop.shop import Business
from recommender.text import capital, clean, plural
from recommender.units import Unit, show

TOLD_REASONS = 5
TOLD_GRINDS = 3


@dataclass(frozen=True)
class Names:
    """What things are called in the answer's knowledge."""

    tasks: tuple[str, ...]
    steel: str
    gear: tuple[str, ...]
    ordered: tuple[tuple[str, str], ...]
    """What is ordered besides the blade: (what, which)."""
    about: str
    """The grind, for somebody who has never seen it."""
    sharpened: str


@dataclass(frozen=True)
class QuoteHead:
    """What stands at the top of a quote."""

    name: str
    made: date
    valid_until: date
    order: Order
    business: Business


Head = QuoteHead  # its name in 0.1


def quote_document(
    head: QuoteHead, answer: Answer, price: Price, names: Names, pictures: Sequence[Picture], *, inches: bool = False
) -> Document:
    """The quote: what is recommended and why, what it costs, how to keep it, what not to do with it, the terms."""
    p = answer.proposal
    assert p is not None
    lengths = Lengths(inches)
    blocks: list[Block] = [
        Heading(text=f"Quote {head.name}", level=1),
        *_head(head, answer, price),
        Heading(text="What we recommend"),
        *_recommended(answer, p, names, lengths),
        Heading(text="What you get, and what it costs"),
        *_ordered(head.order, names),
        *_costs(price),
        *pictures,
        Heading(text="Why this grind"),
        *_why(answer),
        Heading(text="Which figures are estimates"),
        Paragraph(text=_estimates(answer, lengths)),
        Heading(text="Sharpening it with what you have"),
        *_sharpening(answer, p, names),
        *_cautions(answer),
        Heading(text="Terms"),
        Bullets(items=(f"This quote holds until {head.valid_until.isoformat()}.", *map(_plain, head.business.terms))),
    ]
    foot = _foot(head.business, f"quote {head.name}")
    return Document(title=f"Quote {head.name}", foot=foot, blocks=_in_readers_units(blocks, lengths))


def care_document(head: QuoteHead, answer: Answer, life: Life, names: Names, *, inches: bool = False) -> Document:
    """The care sheet: what the blade is, how to sharpen it, when it wants thinning, what not to do with it."""
    p = answer.proposal
    assert p is not None
    lengths = Lengths(inches)
    facts = life_facts(life, life.blades[0], lengths) if life.blades else []
    if p.edge_thickness_mm == 0:
        facts = [(name, text) for name, text in facts if name != "work limit"]  # there is no shoulder to thicken
    blocks: list[Block] = [
        Heading(text=f"Care of your {p.grind_label} blade", level=1),
        Paragraph(text=f"It goes with quote {head.name} of {_plain(head.business.name)}. Keep it with the knife."),
        Heading(text="Your blade"),
        Paragraph(text=_plain(names.about)),
        _figures(answer, p, names, lengths),
        Heading(text="Sharpening"),
        *_sharpening(answer, p, names),
        Heading(text="How it ages (estimates)"),
        Table(rows=tuple((capital(name), text) for name, text in facts)),
        *_cautions(answer),
    ]
    foot = _foot(head.business, "care sheet")
    return Document(title=f"Care sheet {head.name}", foot=foot, blocks=_in_readers_units(blocks, lengths))


def _in_readers_units(blocks: Sequence[Block], lengths: Lengths) -> tuple[Block, ...]:
    """Blocks with the lengths that stand in their sentences in the reader's unit: rules state theirs in mm."""
    return tuple(_in_readers_unit(block, lengths) for block in blocks) if lengths.inches else tuple(blocks)


def _in_readers_unit(block: Block, lengths: Lengths) -> Block:
    match block:
        case Heading() | Paragraph():
            return block.model_copy(update={"text": lengths.prose(block.text)})
        case Bullets():
            return block.model_copy(update={"items": tuple(map(lengths.prose, block.items))})
        case Table():
            return block.model_copy(update={"rows": tuple(tuple(map(lengths.prose, row)) for row in block.rows)})
        case Picture():
            return block


def _plain(text: str) -> str:
    return clean(text, one_line=True)


def _foot(business: Business, what: str) -> str:
    return f"{_plain(business.name)}, {what}; made with Bevelwright {__version__}"


def _head(head: QuoteHead, answer: Answer, price: Price) -> list[Block]:
    business, order = head.business, head.order
    rows = [("From", ", ".join(map(_plain, (business.name, *business.address))))]
    if order.customer:
        rows.append(("For", _plain(order.customer)))
    if order.reference:
        rows.append(("Your reference", _plain(order.reference)))
    if answer.brief.title:
        rows.append(("About", _plain(answer.brief.title)))
    rows += [("Date", head.made.isoformat()), ("Valid until", head.valid_until.isoformat())]
    blocks: list[Block] = [Table(rows=tuple(rows))]
    if price.shop_values == "invented":
        blocks.append(Paragraph(text="An example: shop, rates and terms are invented, so nobody offers this."))
    return blocks


def _recommended(answer: Answer, p: Proposal, names: Names, lengths: Lengths) -> list[Block]:
    work = " and ".join((", ".join(names.tasks[:-1]), names.tasks[-1])) if len(names.tasks) > 1 else names.tasks[0]
    return [
        Paragraph(text=f"For {_plain(work)}: a {p.grind_label} blade in {_plain(names.steel)}. {_plain(names.about)}"),
        *_reservations(answer, names),
        _figures(answer, p, names, lengths),
    ]


def _reservations(answer: Answer, names: Names) -> list[Block]:
    """What the blade does poorly: whoever pays for it has to know before."""
    poor = [_plain(label) for label, fit in zip(names.tasks, answer.task_fit.values(), strict=True) if fit < POOR_FIT]
    if not poor:
        return []
    if len(names.tasks) == 1:
        return [Paragraph(text="Mind: within what was asked for, no blade does this well; this one does it best.")]
    return [
        Paragraph(
            text=f"Mind: no single blade does all of this well, and this one is poor at {' and '.join(poor)}. Two "
            "blades would serve better."
        )
    ]


def _ordered(order: Order, names: Names) -> list[Block]:
    blades = ("Blades", f"{order.pieces}, all alike") if order.pieces > 1 else ("Blade", "one, as above")
    return [Table(rows=(blades, *((what, _plain(which)) for what, which in names.ordered)))]


def _figures(answer: Answer, p: Proposal, names: Names, lengths: Lengths) -> Table:
    line = (
        "at the spine: ground over its full height"
        if p.grind_line_below_spine_mm < 1e-6
        else lengths.grind_line(p.grind_line_mm, p.grind_line_below_spine_mm)
    )
    rows = [
        ("Edge", angle(p.edge_angle_per_side_deg, p.edge_angle_included_deg)),
        ("Thickness behind the edge", lengths(p.edge_thickness_mm) if p.edge_thickness_mm else "ground to zero"),
        ("Grind line", line),
        *((capital(_plain(label)), _plain(value)) for label, value in parameter_rows(p, lengths)),
        ("Ground on", "both sides" if p.side == "both" else f"the {p.side} side, seen edge down and tip forward"),
        (
            "Blade",
            f"{lengths(p.stock_thickness_mm)} thick at the spine, {lengths(p.blade_height_mm, 1)} high, "
            f"{lengths(p.blade_length_mm, 0)} long",
        ),
        ("Tip and spine", form_words(p, lengths)),
        ("Steel", f"{_plain(names.steel)} at {answer.brief.steel.hardness_hrc:g} HRC"),
    ]
    if p.micro_bevel_per_side_deg is not None and p.micro_bevel_included_deg is not None:
        rows.insert(1, ("Micro-bevel", angle(p.micro_bevel_per_side_deg, p.micro_bevel_included_deg)))
    if answer.blade is not None:
        rows.append(("Weight of the blade", f"about {answer.blade.mass_g:.0f} g without tang and handle"))
    return Table(rows=tuple(rows))


def _why(answer: Answer) -> list[Block]:
    telling = [r for r in answer.reasons if r.points > 0][:TOLD_REASONS]
    blocks: list[Block] = [Bullets(items=tuple(f"{_plain(r.title)}: {_plain(r.text)}" for r in telling))]
    near = [a for a in answer.alternatives if a.points is not None and a.proposal is not None][:TOLD_GRINDS]
    if near and answer.points is not None:
        leads = [(_plain(a.grind_label), answer.points.total - a.points) for a in near if a.points is not None]
        behind = [f"{label} {lead:.1f} behind" for label, lead in leads if lead >= EQUAL_POINTS]
        alike = [label for label, lead in leads if abs(lead) < EQUAL_POINTS]
        ahead = [f"{label} by {-lead:.1f}" for label, lead in leads if lead <= -EQUAL_POINTS]
        if ahead:
            # The grind was wished: a customer hears what the wish costs.
            blocks.append(
                Paragraph(text=f"This grind was asked for. Ahead of it, in points of 100: {', '.join(ahead)}.")
            )
        if alike:
            blocks.append(Paragraph(text=f"As good by points: {', '.join(alike)}."))
        if behind:
            blocks.append(Paragraph(text=f"Next best of the other grinds, in points of 100: {', '.join(behind)}."))
    return blocks


def _costs(price: Price) -> list[Block]:
    def amount(value: Decimal) -> str:
        return f"{value:,.{price.minor_digits}f}"

    rows = [(capital(_plain(share.label)), amount(share.amount)) for share in price.shares]
    tax = next((line for line in price.lines if line.group == "tax"), None)
    totals = [(f"Total in {price.currency}", amount(price.total))]
    if tax is not None:
        taxed = (f"{capital(_plain(tax.label))}, {tax.quantity} %", amount(tax.amount))
        totals = [("Before tax", amount(price.net)), taxed, *totals]
    if price.pieces > 1:
        totals.append((f"Each of {plural(price.pieces, 'piece')}", amount(price.each)))
    if price.deposit:
        totals.append((f"Deposit on order, {price.deposit_percent} %", amount(price.deposit)))
        totals.append(("Rest", amount(price.total - price.deposit)))
    return [Table(rows=(*rows, *totals), totals=len(totals), figures=True)]


def _estimates(answer: Answer, lengths: Lengths) -> str:
    shown = [
        f"{metric.label} {lengths.figure(metric.value, Unit(metric.unit))} "
        f"({show(metric.low, Unit.NONE)} to {show(metric.high, Unit.NONE)})"
        for metric in _telling_estimates(answer)
        if metric.value is not None and metric.low is not None and metric.high is not None and metric.low < metric.high
    ]
    details = f" Here: {', '.join(shown)}." if shown else ""
    return (
        "Dimensions and angles are what the blade is ground to, by hand: edge angles within half a degree, the "
        "thickness behind the edge within 0.05 mm, lengths within 0.5 mm. How it cuts, lasts and bears load "
        f"is reckoned with coefficients that are estimates.{details} Strength figures compare shapes and never licence "
        "a load."
    )


def _telling_estimates(answer: Answer) -> list[MetricValue]:
    wanted = [r.metric for r in answer.reasons[:TOLD_REASONS] if r.metric is not None]
    return [answer.metrics[name] for name in dict.fromkeys(wanted) if answer.metrics[name].estimate]


def _sharpening(answer: Answer, p: Proposal, names: Names) -> list[Block]:
    advice = for_audience(answer.advice, "buyer")
    steps = [
        _plain(names.sharpened),
        f"Keep the angle it has: {angle(p.edge_angle_per_side_deg, p.edge_angle_included_deg)}.",
        *(_plain(word.text) for word in advice),
    ]
    return [Paragraph(text=f"You have: {', '.join(map(_plain, names.gear))}."), Bullets(items=tuple(steps))]


def _cautions(answer: Answer) -> list[Block]:
    words = for_audience(answer.cautions, "buyer")
    return [
        *_listed("What not to do with it", [w for w in words if w.specific]),
        *_listed("Take care", [w for w in words if not w.specific]),
        Paragraph(text="Local law and licensed practice come before anything written here."),
    ]


def _listed(heading: str, words: Sequence[Words]) -> list[Block]:
    if not words:
        return []
    return [Heading(text=heading), Bullets(items=tuple(_plain(word.text) for word in words))]
